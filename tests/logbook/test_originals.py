"""Originals are kept whole, once, under their hash, and no user's string reaches a path."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from littoral.logbook import originals


def test_an_original_lies_under_its_hash(tmp_path: Path) -> None:
    sha256 = originals.keep(tmp_path, b"a photo", ".jpg")
    assert sha256 == hashlib.sha256(b"a photo").hexdigest()
    assert originals.path_of(tmp_path, sha256, ".jpg").read_bytes() == b"a photo"


def test_keeping_it_again_does_not_touch_the_file(tmp_path: Path) -> None:
    sha256 = originals.keep(tmp_path, b"a photo", ".jpg")
    path = originals.path_of(tmp_path, sha256, ".jpg")
    before = path.stat()
    originals.keep(tmp_path, b"a photo", ".jpg")
    assert (path.stat().st_ino, path.stat().st_mtime_ns) == (before.st_ino, before.st_mtime_ns)


@pytest.mark.parametrize(
    ("sha256", "suffix"),
    [
        ("../../etc/passwd", ".jpg"),
        ("a" * 63, ".jpg"),
        ("A" * 64, ".jpg"),
        ("a" * 64, ".sh"),
        ("a" * 64 + "\n", ".jpg"),
    ],
)
def test_what_is_no_hash_names_no_path(tmp_path: Path, sha256: str, suffix: str) -> None:
    with pytest.raises(ValueError, match="names no original"):
        originals.path_of(tmp_path, sha256, suffix)
