"""Back a logbook up: when asked, or when a day has gone by."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from littoral.logbook.backup import FOLDER, back_up, backups_in
from littoral.logbook.backup_keeping import Keeping, is_due
from littoral.logbook.refused import DATABASE, NoLogbookError
from littoral.logbook.where_kept import is_logbook
from littoral.progress import Progress
from littoral.quantities.counting import counted


@dataclass(frozen=True, slots=True)
class BackedUp:
    """A backup that was made: where, how many photos it holds, which it could not have, which older ones went."""

    path: Path
    photos: int
    lost: tuple[str, ...]
    pruned: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """Return it as plain data."""
        return {"path": str(self.path), "photos": self.photos, "lost": list(self.lost), "pruned": list(self.pruned)}

    def words(self) -> str:
        """Return one line."""
        return f"backed up to {self.path}, with {counted(self.photos, 'photo')}"


def backups_folder(folder: Path, to: Path | None = None) -> Path:
    """Return where a logbook's backups lie: `to`, or a folder within the logbook."""
    return to if to is not None else folder / FOLDER


def back_up_logbook(
    folder: Path,
    *,
    now: datetime,
    to: Path | None = None,
    keeping: Keeping | None = None,
    progress: Progress | None = None,
) -> BackedUp:
    """Back the logbook at `folder` up and let old backups go; entries may be written meanwhile.

    `to` is best a folder on another disk: a backup beside the logbook helps against mistakes and not against a broken
    disk. NoLogbookError, NoRoomError, DamagedLogbookError, BackupRunningError, UnwrittenFileError; no earlier backup is
    touched then.
    """
    if not is_logbook(folder):
        raise NoLogbookError(folder)
    made, pruned = back_up(
        folder,
        backups_folder(folder, to),
        database=DATABASE,
        now=now,
        keeping=keeping or Keeping(),
        progress=progress,
    )
    return BackedUp(made.path, len(made.originals) - len(made.lost), made.lost, pruned)


def back_up_if_due(folder: Path, *, now: datetime, to: Path | None = None) -> BackedUp | None:
    """Back the logbook at `folder` up unless that was done within a day before `now`.

    Raises what `back_up_logbook` does. To be called when a logbook is opened, and again every hour while it stays open.
    """
    if not is_due(backups_in(backups_folder(folder, to)), now=now):
        return None
    return back_up_logbook(folder, now=now, to=to)
