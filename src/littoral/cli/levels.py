"""The command on levels: what is in the water now, in the days to come, and how sure that is."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer

from littoral.cli.choosing import AsJson, TrialKey
from littoral.cli.saying import aside, hand_out, print_json, progress_bar, refusals, say

Logbook = Annotated[Path | None, typer.Argument(help="The logbook's folder.", metavar="[LOGBOOK]")]
Otherwise = Annotated[
    list[str],
    typer.Option(
        "--if",
        help='Fed otherwise from now on: "left: macro 10 mL", "right: change 30 %".',
    ),
]
Standard = Annotated[
    str | None,
    typer.Option(
        "--standard",
        help='How to make a known standard to check a test with: "nitrate", or "nitrate 10 mg/L".',
    ),
]
Kinds = Annotated[
    bool,
    typer.Option("--methods", help="List the kinds of tests that a trial file can name."),
]
Sensitivity = Annotated[
    bool,
    typer.Option(
        "--priors",
        help="Fit again with priors half and twice as wide, and show what moves.",
    ),
]


def levels(
    logbook: Logbook = None,
    trial: TrialKey = None,
    otherwise: Otherwise = [],  # noqa: B006  typer copies it
    priors: Sensitivity = False,
    standard: Standard = None,
    methods: Kinds = False,
    as_json: AsJson = False,
) -> None:
    """Estimate every level between tests: now, before the next water change, and for two weeks ahead."""
    from littoral.cli import level_words as words  # late: it brings SciPy

    with refusals():
        if methods:
            say(words.methods_table())
            return
        if standard is not None:
            made = words.standard_written(standard)
            if as_json:
                print_json(made.as_json)
            else:
                hand_out(made.text)
            return
        if logbook is None:
            aside("Name the logbook's folder: littoral levels LOGBOOK.")
            raise typer.Exit(2)
        from littoral.acts.see_levels import prior_shifts, see_levels, try_regimes
        from littoral.publish.levels_json import levels_json

        with progress_bar(quiet=as_json) as progress:
            seen = see_levels(logbook, trial, now=datetime.now(UTC), progress=progress)
            other = try_regimes(seen, otherwise)
            shifts = prior_shifts(seen) if priors else ()
        if as_json:
            print_json(
                levels_json(seen.trial, seen.estimates)
                | ({"what_if": words.what_if_json(other)} if otherwise else {})
                | ({"prior_sensitivity": words.shifts_json(shifts)} if priors else {})
            )
            return
        say(words.levels_text(seen.trial, seen.estimates))
        if other:
            say(words.what_if_text(seen.trial, seen.estimates, other))
        if priors:
            say(words.shifts_table(seen.trial, shifts))
