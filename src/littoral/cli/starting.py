"""Commands that start: a first trial from three answers, a further one from a trial that is there."""

from __future__ import annotations

import shlex
from typing import Annotated

import typer

from littoral.cli.choosing import AsJson, OwnOrFolder
from littoral.cli.saying import print_json, refusals, say


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
