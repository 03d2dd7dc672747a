"""Room on the disk: said before it runs out, and asked for before something large is copied."""

from __future__ import annotations

import shutil
from pathlib import Path

from littoral.errors import LittoralError
from littoral.quantities.check_row import CheckRow

MB = 1_000_000
GB = 1_000 * MB
WARN_BELOW_BYTES = 2 * GB
"""Some hundred photos of a phone; common practice, no source."""
KEEP_FREE_BYTES = 100 * MB
"""What a copy leaves free, so that an entry can still be written after it; common practice, no source."""


class NoRoomError(LittoralError):
    """A copy would not fit on the disk; it was not begun."""

    def __init__(self, folder: Path, *, needed_bytes: int, free_bytes: int) -> None:
        self.folder, self.needed_bytes, self.free_bytes = folder, needed_bytes, free_bytes
        super().__init__(
            f"{folder}: {_mb(needed_bytes)} are to be written and {_mb(free_bytes)} are free, of which "
            f"{_mb(KEEP_FREE_BYTES)} stay free for entries. Nothing was written. Make room, or name another disk."
        )


def free_bytes_at(folder: Path) -> int:
    """Return the bytes that are free where a folder lies or would lie."""
    while not folder.exists():
        folder = folder.parent
    return shutil.disk_usage(folder).free


def need_room(folder: Path, needed_bytes: int) -> None:
    """Raise NoRoomError where `needed_bytes` more would leave the disk at `folder` nearly full."""
    free_bytes = free_bytes_at(folder)
    if needed_bytes and free_bytes < needed_bytes + KEEP_FREE_BYTES:
        raise NoRoomError(folder, needed_bytes=needed_bytes, free_bytes=free_bytes)


def space_row(folder: Path, free_bytes: int) -> CheckRow:
    """Return whether the disk at `folder` has room for the weeks to come."""
    low = free_bytes < WARN_BELOW_BYTES
    return CheckRow(
        what="room on the disk",
        value=free_bytes / GB,
        operator=">=",
        limit=WARN_BELOW_BYTES / GB,
        unit="GB",
        verdict="warns" if low else "holds",
        comment=f"The disk with “{folder.name}” is nearly full: make room before the next photos." if low else "",
        source="common practice, no source",
    )


def _mb(size_bytes: int) -> str:
    return f"{size_bytes / MB:.0f} MB"
