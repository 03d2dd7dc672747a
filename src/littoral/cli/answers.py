"""Commands that compute: measure the photos, answer the questions."""

from __future__ import annotations

from typing import Annotated

import typer

from littoral.cli.choosing import AsJson, LogbookFolder, TrialKey
from littoral.cli.saying import print_json, progress_bar, refusals, say


def measure(
    logbook: LogbookFolder,
    trial: TrialKey = None,
    on: Annotated[
        str,
        typer.Option(
            help="How many photos at a time (else one per core), or a Dask scheduler: tcp://127.0.0.1:8786.",
            metavar="PLACE",
        ),
    ] = "",
    photos_at: Annotated[
        str,
        typer.Option(help="Read the originals there: a folder, s3://..., what fsspec reads.", metavar="ADDRESS"),
    ] = "",
    unprotected: Annotated[
        bool, typer.Option("--unprotected", help="Allow a scheduler on another computer without TLS.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Measure every photo of a trial: cover, height, colour and greening of each region."""
    from littoral.acts.measure_photos import measure_photos
    from littoral.cli.tables import measures_table

    with refusals(), progress_bar(quiet=as_json) as progress:
        measured = measure_photos(
            logbook, trial, on=on, photos_at=photos_at, unprotected=unprotected, progress=progress
        )
    if as_json:
        print_json(measured.as_json())
    else:
        say(measures_table(measured))


def answer(
    logbook: LogbookFolder,
    trial: TrialKey = None,
    explain: Annotated[
        bool, typer.Option("--explain", help="Say of each finding what it rests on and how it was found out.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Answer the trial's questions: effect, interval, and the words that the design allows."""
    from littoral.acts.answer_questions import answer_questions
    from littoral.cli.explaining import explained
    from littoral.cli.tables import findings_table
    from littoral.publish.findings_json import findings_json

    with refusals(), progress_bar(quiet=as_json) as progress:
        answered = answer_questions(logbook, trial, progress=progress)
    if as_json:
        print_json(findings_json(answered.trial, answered.findings))
    else:
        say(findings_table(answered.trial, answered.findings))
        for line in explained(answered.findings) if explain else ():
            say(line)
