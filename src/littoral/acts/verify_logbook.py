"""Check that a logbook, a backup or a restored logbook holds all it says."""

from __future__ import annotations

from pathlib import Path

from littoral.logbook.book import DATABASE, NoLogbookError
from littoral.logbook.verify import failures, verify
from littoral.progress import Progress
from littoral.quantities.check_row import CheckRow


def verify_logbook(folder: Path, *, progress: Progress | None = None) -> tuple[CheckRow, ...]:
    """Check every row, link and original of the logbook at `folder`; nothing is changed. NoLogbookError."""
    if not (folder / DATABASE).is_file():
        raise NoLogbookError(folder)
    return verify(folder, database=DATABASE, progress=progress)


def is_whole(rows: tuple[CheckRow, ...]) -> bool:
    """Return whether nothing that was acknowledged is lost or wrong; a warning harms nothing."""
    return not failures(rows)
