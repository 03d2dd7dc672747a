"""Originals: files kept by the SHA-256 of their content, written once and never again."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Mapping
from pathlib import Path

from littoral.logbook.refused import UnkeptFileError
from littoral.logbook.space import need_room
from littoral.logbook.whole_files import UnwrittenFileError, sync_folder, write_whole

SUFFIXES = (".jpg", ".jpeg", ".png", ".tif", ".tiff", ".webp", ".heic", ".heif")
_SHA256 = re.compile(r"[0-9a-f]{64}\Z")


def sha256_of(data: bytes) -> str:
    """Return the SHA-256 of some bytes, 64 hexadecimal digits."""
    return hashlib.sha256(data).hexdigest()


def path_of(folder: Path, sha256: str, suffix: str) -> Path:
    """Return where an original lies; ValueError for a text that is no SHA-256, so no user's string reaches a path."""
    if not _SHA256.match(sha256) or suffix not in ("", *SUFFIXES):
        raise ValueError(f"{sha256!r} with suffix {suffix!r} names no original")
    return folder / "originals" / sha256[:2] / f"{sha256}{suffix}"


def make_sure(folder: Path, path: Path) -> None:
    """Bring the names that lead to an original of the logbook at `folder` to the disk. Raises UnwrittenFileError.

    For one that is there without a row: what put it there was cut off, perhaps before it could do this itself.
    """
    try:
        for around in path.relative_to(folder).parents:
            sync_folder(folder / around)
    except OSError as error:
        raise UnwrittenFileError(path, error) from error


def keep(folder: Path, data: bytes, suffix: str) -> str:
    """Write an original so that a crash leaves it whole or absent, and return its SHA-256.

    One that is there already is left alone. Raises UnwrittenFileError.
    """
    sha256 = sha256_of(data)
    path = path_of(folder, sha256, suffix)
    if path.exists():
        return sha256
    write_whole(path, data)
    return sha256


def keep_files(folder: Path, files: Mapping[str, tuple[Path, str]], *, has_row: Callable[[str], bool]) -> None:
    """Copy files into the originals of the logbook at `folder`: {sha256: (path, suffix)}, hashed by the caller.

    `has_row` says whether the database knows an original. NoRoomError before anything is copied; UnkeptFileError where
    a file is gone or no longer has the hash it had; UnwrittenFileError.
    """
    missing = {}
    for sha256, (path, suffix) in files.items():
        kept = path_of(folder, sha256, suffix)
        if not kept.exists():
            missing[sha256] = path, suffix
        elif not has_row(sha256):
            make_sure(folder, kept)
    need_room(folder, sum(path.stat().st_size for path, _ in missing.values() if path.is_file()))
    for sha256, (path, suffix) in missing.items():
        try:
            data = path.read_bytes()
        except OSError as error:
            raise UnkeptFileError(path, f"cannot be read ({error.strerror or error})") from None
        if sha256_of(data) != sha256:
            raise UnkeptFileError(path, "changed while it was read")
        keep(folder, data, suffix)


def keep_bytes(folder: Path, data: bytes, suffix: str, *, has_row: Callable[[str], bool]) -> str:
    """Keep an original that came in as bytes and return its SHA-256. NoRoomError, UnwrittenFileError."""
    sha256 = sha256_of(data)
    path = path_of(folder, sha256, suffix)
    if path.exists() and not has_row(sha256):
        make_sure(folder, path)
    need_room(folder, 0 if path.exists() else len(data))
    return keep(folder, data, suffix)
