"""Writing a file whole: a reader, or a crash, sees the old one or the new one, never a part."""

from __future__ import annotations

import os
import secrets
from pathlib import Path

from littoral.errors import LittoralError


class UnwrittenFileError(LittoralError):
    """A file could not be written; what was there before is unchanged."""

    def __init__(self, path: Path, error: OSError) -> None:
        self.path = path
        super().__init__(
            f"{path} could not be written ({error.strerror or error}). "
            "Make room on the disk, or let this user write in its folder."
        )


def write_whole(path: Path, data: bytes) -> None:
    """Write a file, making its folder where it is missing. Raises UnwrittenFileError; no part is left behind then.

    Temporary file in the same folder, fsync, rename, fsync of the folder. The file gets the rights that any new file
    gets, so that what is published can be read by others.
    """
    part = path.with_name(f".{secrets.token_hex(8)}.part")
    try:
        make_folders(path.parent)
        try:
            with part.open("xb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            part.replace(path)
        except BaseException:
            part.unlink(missing_ok=True)
            raise
        sync_folder(path.parent)
    except OSError as error:
        raise UnwrittenFileError(path, error) from error


def make_folders(folder: Path) -> None:
    """Make a folder and those around it so that a power cut afterwards leaves them there. Raises OSError."""
    missing = []
    around = folder
    while not around.exists() and around != around.parent:
        missing.append(around)
        around = around.parent
    folder.mkdir(parents=True, exist_ok=True)
    for made in missing:  # a new folder is a name in the folder around it, which is what has to reach the disk
        sync_folder(made.parent)


def sync_folder(folder: Path) -> None:
    """Bring the names in a folder to the disk. Raises OSError."""
    opened = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)
