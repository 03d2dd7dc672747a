"""Check that a logbook, a backup or a restored logbook holds all it says."""

from __future__ import annotations

from pathlib import Path

from littoral.logbook.backup import MANIFEST
from littoral.logbook.refused import DATABASE, NoLogbookError
from littoral.logbook.space import free_bytes_at, space_row
from littoral.logbook.verify import failures, verify
from littoral.logbook.verify_backup import verify_backup
from littoral.logbook.where_kept import is_logbook
from littoral.progress import Progress
from littoral.quantities.check_row import CheckRow


def verify_logbook(folder: Path, *, progress: Progress | None = None) -> tuple[CheckRow, ...]:
    """Check every row, link and original of the logbook, or of the one backup, at `folder`; nothing is changed.

    NoLogbookError.
    """
    if not is_logbook(folder):
        raise NoLogbookError(folder)
    if not (folder / MANIFEST).is_file():
        return verify(folder, database=DATABASE, progress=progress)
    return verify_backup(folder, database=DATABASE, progress=progress)


def space_warning(folder: Path) -> str:
    """Return a sentence where the logbook's disk is nearly full, else ""."""
    return space_row(folder, free_bytes_at(folder)).comment


def is_whole(rows: tuple[CheckRow, ...]) -> bool:
    """Return whether nothing that was acknowledged is lost or wrong; a warning harms nothing."""
    return not failures(rows)
