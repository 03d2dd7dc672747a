"""Commands that look across trials and ahead: the history of a bench, the next trial, next week."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import Annotated

import typer

from littoral.cli.choosing import AsJson, LogbookFolder, TrialKey
from littoral.cli.saying import aside, print_json, progress_bar, refusals, say


def history(logbook: LogbookFolder, as_json: AsJson = False) -> None:
    """Set all trials of a logbook side by side, tell the tanks apart from the regimes, and propose the next trial."""
    from littoral.acts.bench_history import bench_history, history_json
    from littoral.cli.tables import history_table

    with refusals(), progress_bar(quiet=as_json) as progress:
        found = bench_history(logbook, progress=progress)
    if as_json:
        print_json(history_json(found))
        return
    if found.trials:
        say(history_table(found))
    for line in (*found.tank_words, *(one.wording for one in found.baselines), *found.spreads):
        say(line)
    say(found.proposal)
    if found.next_key:
        say(f"littoral next {shlex.quote(str(logbook))} --out NEW-FOLDER/trial.toml  writes its trial file.")


def next_(
    logbook: LogbookFolder,
    out: Annotated[Path | None, typer.Option(help="Write the trial file there; printed unless given.")] = None,
    start: Annotated[str, typer.Option(help="Its first day, YYYY-MM-DD; the day after the last trial's end.")] = "",
    trial: Annotated[str | None, typer.Option("--trial", help="The trial to swap; the last one unless given.")] = None,
) -> None:
    """Write the next trial file: the last trial with its arms swapped between the tanks."""
    from datetime import date

    from littoral.acts.bench_history import next_trial, write_next

    with refusals():
        made = next_trial(logbook, trial, start=start, today=date.today())
        if out is None:
            say(made.text.rstrip("\n"))
            return
        for path in write_next(made, out):
            say(f"wrote {path}")
        say(f"{made.title}: {made.of} with its arms swapped, from {made.start}. Its draw is no draw by lot.")
        aside("Read it through before you import it: start levels, bottles and held-equal lines are those of before.")


def decide(
    logbook: LogbookFolder,
    trial: TrialKey = None,
    want: Annotated[
        list[str] | None, typer.Option(help='Which way you want a measure: "redness=lower". Repeatable.')
    ] = None,
    without_levels: Annotated[
        bool, typer.Option("--without-levels", help="Go by the findings alone: quicker where no level was fitted yet.")
    ] = False,
    svg: Annotated[Path | None, typer.Option(help="Write the picture there as SVG.", metavar="FILE")] = None,
    png: Annotated[Path | None, typer.Option(help="Write the picture there as PNG.", metavar="FILE")] = None,
    as_json: AsJson = False,
) -> None:
    """Several aims, levels and leaves at once: which regime none beats, and small steps for next week with reasons."""
    from datetime import UTC, datetime

    from littoral.acts.decide_next import aims_chart, decision_json, wanted_of
    from littoral.acts.decide_next import decide as decide_trial
    from littoral.acts.drawn_files import write_drawn
    from littoral.cli.tables import decision_table

    with refusals(), progress_bar(quiet=as_json) as progress:
        about, decision = decide_trial(
            logbook,
            trial,
            now=datetime.now(UTC),
            wanted=wanted_of(want or ()),
            with_levels=not without_levels,
            progress=progress,
        )
        written = write_drawn(aims_chart(about, decision), svg=svg, png=png)
    if as_json:
        print_json(decision_json(about, decision))
        return
    ahead = decision.ahead
    for line in (*(ahead.animals if ahead is not None else ()), decision.hold, decision.wording):
        if line:
            say(line)
    if decision.reached.aims:
        say(decision_table(decision))
    for step in decision.steps:
        say(f"If this matters most to you: {', '.join(step.aims)}. {step.do}")
        say(f"  Why: {step.because}")
        say(f"  Watch: {' '.join(step.watch)}")
    if ahead is not None:
        for one in ahead.steps:
            say(one.do)
            say(f"  Why: {' '.join(one.because)}")
            say(f"  Watch: {' '.join(one.watch)}")
        for conflict in ahead.conflicts:
            say(f"{conflict.name}, {conflict.about}: no step, the reasons do not agree.")
            both = bool(conflict.more and conflict.less)
            for head, lines in (("For more", conflict.more), ("For less", conflict.less)):
                if lines:
                    say(f"  {head if both else 'Said'}: {' '.join(lines)}")
        for line in (*ahead.held_back, *ahead.watch):
            say(line)
    for line in (*decision.held_back, *([decision.levels_said] if decision.levels_said else [])):
        say(line)
    for line in (*decision.open_questions, *decision.reached.left_out, *decision.limits):
        say(line)
    for path in written:
        aside(f"wrote {path}")
