"""Where a package is written: a zip file or a folder, whole or not at all, with the hash of each file that went in.

A zip of the same files is the same bytes: names in the order they were added, one fixed date, one compression.
"""

from __future__ import annotations

import hashlib
import secrets
import shutil
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from littoral.errors import LittoralError
from littoral.logbook.whole_files import UnwrittenFileError, make_folders, sync_folder, write_whole

_DATE = (1980, 1, 1, 0, 0, 0)
_STORED = (".jpg", ".jpeg", ".png", ".webp")


class PackageThereError(LittoralError):
    """Where a package was to be written there is something already."""

    def __init__(self, path: Path) -> None:
        self.path = path
        super().__init__(f"{path} is there already; nothing was changed. Name a new file (.zip) or a new folder.")


@dataclass(frozen=True, slots=True)
class Written:
    """One file of a package: its path within it, SHA-256 and bytes."""

    path: str
    sha256: str
    size_bytes: int


@dataclass(slots=True)
class PackageWriter:
    """Takes the files of a package; `written` are those that it has."""

    _zip: zipfile.ZipFile | None
    _folder: Path | None
    written: list[Written] = field(default_factory=list)

    def add(self, path: str, data: bytes) -> Written:
        """Add one file; `path` is ours, never a user's words."""
        if self._zip is not None:
            info = zipfile.ZipInfo(path, _DATE)
            info.external_attr = 0o644 << 16
            stored = path.endswith(_STORED)
            info.compress_type = zipfile.ZIP_STORED if stored else zipfile.ZIP_DEFLATED
            self._zip.writestr(info, data)
        else:
            assert self._folder is not None
            write_whole(self._folder / path, data)
        one = Written(path, hashlib.sha256(data).hexdigest(), len(data))
        self.written.append(one)
        return one


@contextmanager
def package_at(target: Path) -> Iterator[PackageWriter]:
    """Give a writer for a package at `target`, a zip where it ends in .zip, else a folder; it gets its name at the end.

    PackageThereError, UnwrittenFileError; whatever goes wrong within, nothing is left behind.
    """
    if target.exists():
        raise PackageThereError(target)
    part = target.absolute().parent / f".{secrets.token_hex(8)}.part"
    try:
        make_folders(part.parent)
        try:
            if target.suffix.lower() == ".zip":
                with zipfile.ZipFile(part, "x", compression=zipfile.ZIP_DEFLATED, compresslevel=6) as archive:
                    yield PackageWriter(archive, None)
            else:
                make_folders(part)
                yield PackageWriter(None, part)
            if target.exists():
                raise PackageThereError(target)
            part.rename(target)
            sync_folder(target.absolute().parent)
        except BaseException:
            if part.is_dir():
                shutil.rmtree(part, ignore_errors=True)
            else:
                part.unlink(missing_ok=True)
            raise
    except OSError as error:
        raise UnwrittenFileError(target, error) from error
