"""Publish a trial's results: sheet, charts, film, findings.json."""

from __future__ import annotations

from pathlib import Path

from littoral.acts.bench_spread import spreads_before
from littoral.acts.choosing import chosen_trial
from littoral.errors import extras_needed
from littoral.findings.answers import answer
from littoral.findings.costs import costs_of
from littoral.findings.feeding import feeding_of
from littoral.findings.levels import levels_of
from littoral.findings.measuring import measure_photos
from littoral.logbook.book import Logbook
from littoral.progress import Progress
from littoral.publish.pdf.papers import paper_named
from littoral.publish.publish import publish


@extras_needed()
def publish_results(
    folder: Path,
    trial_key: str | None,
    out: Path,
    *,
    paper: str = "a4",
    film: bool = True,
    progress: Progress | None = None,
) -> dict[str, Path]:
    """Answer the questions of a trial and write what can be shown to `out`; return each file by what it is.

    `paper` is what the printable sheet is set for: a4 or letter; FaultsError for another. The film, which takes
    longest, only where `film`.
    """
    size = paper_named(paper)
    with Logbook.open(folder) as book:
        trial = book.trial(chosen_trial(book, trial_key))
        measured = measure_photos(book, trial, progress=progress)
        return publish(
            book,
            trial,
            out,
            measured=measured,
            findings=answer(book, trial, measured=measured, seen=spreads_before(book, trial)),
            levels=levels_of(book, trial),
            feeding=feeding_of(book, trial),
            costs=costs_of(book, trial),
            paper=size,
            film=film,
            progress=progress,
        )
