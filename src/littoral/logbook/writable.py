"""Whether a logbook may be written: one that may not is opened for reading, and says what would allow it."""

from __future__ import annotations

import os
from pathlib import Path

from littoral.errors import LittoralError


class ReadOnlyLogbookError(LittoralError):
    """The logbook can be read and not written; `folder` is where it lies."""

    def __init__(self, folder: Path, why: str, right: str) -> None:
        self.folder = folder
        super().__init__(f"{folder} can be read and not written: {why}. Nothing was changed. {right}")


def refusal_of_the_disk(file: Path) -> ReadOnlyLogbookError | None:
    """Return why the database `file` cannot be written, None where it can; SQLite writes in its folder, too."""
    for path, what in ((file, f"{file.name} is write-protected"), (file.parent, "its folder is write-protected")):
        if path.exists() and not os.access(path, os.W_OK):
            right = "Let this user write to it, or copy the whole folder to a disk that can be written."
            return ReadOnlyLogbookError(file.parent, f"{what}, or the disk is", right)
    return None
