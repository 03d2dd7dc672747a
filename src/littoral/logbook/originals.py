"""Originals: files kept by the SHA-256 of their content, written once and never again."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

from littoral.logbook.whole_files import write_whole

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
