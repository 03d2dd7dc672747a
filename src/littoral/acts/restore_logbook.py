"""Make a logbook anew, from a backup or an export."""

from __future__ import annotations

from pathlib import Path

from littoral.logbook.refused import DATABASE
from littoral.logbook.restore import Restored, restore
from littoral.progress import Progress


def restore_logbook(path: Path, folder: Path, *, progress: Progress | None = None) -> Restored:
    """Make a logbook at `folder`, a new place, from the backup or export at `path`, and verify it.

    NoBackupError, NotNewError, DamagedBackupError, NoRoomError, UnwrittenFileError; nothing is left behind then.
    """
    return restore(path, folder, database=DATABASE, progress=progress)
