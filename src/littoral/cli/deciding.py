"""Commands that look across trials and ahead: the history of a bench, the next trial, next week."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import Annotated

import typer

from littoral.cli.choosing import AsJson, LogbookFolder, TrialKey
from littoral.cli.saying import aside, hand_out, print_json, progress_bar, refusals, say


def history(
    logbook: LogbookFolder,
    svg: Annotated[Path | None, typer.Option(help="Write the year by weeks there as SVG.", metavar="FILE")] = None,
    png: Annotated[Path | None, typer.Option(help="Write the year by weeks there as PNG.", metavar="FILE")] = None,
    as_json: AsJson = False,
) -> None:
    """Set all trials of a bench side by side: weeks, answers, what was learnt, tanks against regimes, what to try."""
    from datetime import date

    from littoral.acts.bench_year import bench_json, bench_year
    from littoral.acts.drawn_files import write_drawn
    from littoral.cli.lines import wrapped
    from littoral.cli.tables import history_table

    with refusals(), progress_bar(quiet=as_json) as progress:
        bench = bench_year(logbook, today=date.today(), progress=progress)
        written = write_drawn(bench.chart(760), svg=svg, png=png)
    found = bench.history
    if as_json:
        print_json(bench_json(bench))
        return
    for path in written:
        aside(f"wrote {path}")
    if found.trials:
        say(history_table(found))
        say("Each number is the second arm minus the first; in brackets its 95 % interval.")
    baselines = [one.wording for one in found.baselines]
    answers = [
        f"{one.title}. {one.question} {one.answer or 'No answer yet.'} {one.interval} ({one.strength})"
        for one in bench.answered
    ]
    for head, lines in (
        ("Every question", answers),
        ("What was learnt", bench.learnt),
        ("What to try next", bench.to_try),
        ("Is one tank always ahead?", found.tank_words),
        ("Before the regimes began", baselines),
        ("How far equal tanks differ", found.spreads),
        ("What comes next", [found.proposal]),
    ):
        if lines:
            say(f"\n{head}")
        for line in lines:
            say(wrapped(line, indent=""))
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
            hand_out(made.text.rstrip("\n"))
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
    from littoral.cli.decided import decided

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
    for line in decided(decision):
        say(line)
    for path in written:
        aside(f"wrote {path}")
