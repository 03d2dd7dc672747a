"""Write a trial's sheet alone: one self-contained page, or a PDF to print."""

from __future__ import annotations

from pathlib import Path

from littoral.acts.choosing import chosen_trial
from littoral.errors import Fault, FaultsError, extras_needed
from littoral.findings.answers import answer
from littoral.findings.costs import costs_of
from littoral.findings.feeding import feeding_of
from littoral.findings.levels import levels_of
from littoral.findings.measuring import measure_photos
from littoral.logbook.book import Logbook
from littoral.logbook.whole_files import write_whole
from littoral.progress import Progress
from littoral.publish.charts import WIDE_PX
from littoral.publish.pdf.papers import paper_named
from littoral.publish.pdf.sheet import sheet_pdf
from littoral.publish.publish import gathered_sheet, sheet_page


@extras_needed()
def write_sheet(
    folder: Path, trial_key: str | None, to: Path, *, paper: str = "a4", progress: Progress | None = None
) -> Path:
    """Write a trial's sheet to `to`, whose ending says as what (.pdf or .html), and return it.

    Raises FaultsError for another ending or paper, NoLogbookError, NoTrialError, DrawError.
    """
    if to.suffix.lower() not in (".pdf", ".html"):
        raise FaultsError([Fault(f'is "{to.name}".', "The sheet is written as .pdf or .html.", "to")])
    size = paper_named(paper)
    with Logbook.open(folder) as book:
        trial = book.trial(chosen_trial(book, trial_key))
        measured = measure_photos(book, trial, progress=progress)
        sheet, charts = gathered_sheet(
            book,
            trial,
            measured=measured,
            findings=answer(book, trial, measured=measured),
            levels=levels_of(book, trial),
            feeding=feeding_of(book, trial),
            costs=costs_of(book, trial),
        )
    if to.suffix.lower() == ".pdf":
        write_whole(to, sheet_pdf(sheet, charts[WIDE_PX], paper=size))
    else:
        write_whole(to, sheet_page(sheet, charts, progress=progress).encode())
    return to
