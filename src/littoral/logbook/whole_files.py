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
        path.parent.mkdir(parents=True, exist_ok=True)
        try:
            with part.open("xb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            part.replace(path)
        except BaseException:
            part.unlink(missing_ok=True)
            raise
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
    except OSError as error:
        raise UnwrittenFileError(path, error) from error
