"""Commands that start: a first trial from three answers, a further one from a trial that is there."""

from __future__ import annotations

import shlex
from typing import Annotated

import typer

from littoral.cli.choosing import AsJson, LogbookFolder, OwnOrFolder, TrialKey
from littoral.cli.saying import aside, print_json, refusals, say


def start(
    logbook: OwnOrFolder = None,
    know: Annotated[
        str, typer.Option(help="1. What you want to know: feed, light, CO2, or a question in your own words.")
    ] = "feed",
    tanks: Annotated[str, typer.Option(help="2. Which tanks: two names or more, alike in all else.")] = "left, right",
    glass: Annotated[str, typer.Option(help="2. How big: inside of the glass.")] = "60 x 30 x 30 cm",
    feed: Annotated[str, typer.Option(help="3. What you feed: the bottle's name.")] = "",
    holds: Annotated[str, typer.Option(help='3. What it holds: "NO3 6 %, K2O 3 %", or "KNO3 33 g in 500 mL".')] = "",
    dose: Annotated[str, typer.Option(help='3. One dose for one tank: "2 mL", "8 drops".')] = "",
    often: Annotated[
        str, typer.Option(help="3. How often: every day, three times a week, twice a week, once a week, or nothing.")
    ] = "three times a week",
    as_json: AsJson = False,
) -> None:
    """Start a trial today from three answers; everything else gets a default that you can change later."""
    from datetime import UTC, datetime

    from littoral.acts.first_trial import start_first
    from littoral.acts.own_logbook import own_logbook

    folder = logbook or own_logbook()
    answers = {"know": know, "tanks": tanks, "glass": glass, "feed": feed, "holds": holds, "dose": dose, "often": often}
    with refusals():
        begun = start_first(folder, answers, now=datetime.now(UTC))
    if as_json:
        plain = {"logbook": str(folder), "trial": begun.key, "title": begun.title, "arms": dict(begun.arms)}
        print_json({**plain, "baseline_days": begun.baseline_days})
        return
    say(f"{begun.title}: begun today, in {folder}")
    say(f"For {begun.baseline_days} days all tanks get the same. Then, by lot:")
    for tank, arm in begun.arms.items():
        say(f"  {tank}: {arm}")
    place = "" if logbook is None else f" {shlex.quote(str(folder))}"
    say(f"Next: littoral open{place}  shows today's list; press Done when the first dose is given.")


def again(
    logbook: LogbookFolder,
    trial: TrialKey = None,
    title: Annotated[str, typer.Option(help="What the new trial is about, in one line.")] = "",
    factor: Annotated[str, typer.Option(help='What differs now: "hours of light".')] = "",
    first: Annotated[str, typer.Option(help='The first arm: "8 hours".')] = "",
    second: Annotated[str, typer.Option(help='The second arm: "10 hours".')] = "",
    regime: Annotated[
        str, typer.Option(help="The one regime that all tanks get; each arm keeps its own unless given.")
    ] = "",
    start: Annotated[str, typer.Option(help="Its first day, YYYY-MM-DD; the day after the last one's end.")] = "",
    as_json: AsJson = False,
) -> None:
    """Start a further trial on the same tanks with another thing changed; without --title only say what comes along."""
    from datetime import date

    from littoral.acts.copy_trial import carried_json, copy_trial, only_trial, what_carries

    with refusals():
        key, today = only_trial(logbook, trial), date.today()
        if not title:
            carried = what_carries(logbook, key, today=today)
            if as_json:
                print_json(carried_json(carried))
                return
            for head, lines in (
                ("Comes along", carried.carried),
                ("Does not", carried.not_carried),
                ("What the last treatment still does", carried.wash_out.words),
                ("Its regimes, one of which --regime may name", tuple(carried.regimes)),
            ):
                say(head)
                for line in lines:
                    say(f"  {line}")
            aside("Start it with --title, --factor, --first and --second.")
            return
        values = {"title": title, "factor": factor, "first": first, "second": second, "regime": regime, "start": start}
        made = copy_trial(logbook, key, values, today=today)
    if as_json:
        print_json(made.as_json())
        return
    say(f"{made.title} ({made.key}): from {made.start}. By lot:")
    for tank, arm in made.arms.items():
        say(f"  {tank}: {arm}")
    for line in made.no_longer_held:
        say(f"No longer held the same: {line}")
    for line in made.wash_out.words:
        say(line)
