"""A file is there whole or not at all, and a failure says which file and why."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from littoral.logbook.whole_files import UnwrittenFileError, write_whole


def test_a_file_is_written_with_its_folder_and_the_rights_of_any_new_file(tmp_path: Path) -> None:
    path, plain = tmp_path / "new" / "a.txt", tmp_path / "plain"
    plain.touch()
    write_whole(path, b"one")
    write_whole(path, b"two")
    assert path.read_bytes() == b"two"
    assert path.stat().st_mode == plain.stat().st_mode
    assert [one.name for one in path.parent.iterdir()] == ["a.txt"]


def test_a_full_disk_leaves_the_old_file_and_no_part(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    path = tmp_path / "a.txt"
    write_whole(path, b"old")
    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(UnwrittenFileError, match=r"a\.txt could not be written \(No space left on device\)"):
        write_whole(path, b"new")
    assert path.read_bytes() == b"old"
    assert [one.name for one in tmp_path.iterdir()] == ["a.txt"]


def test_a_folder_that_is_a_file_is_said(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("mine")
    with pytest.raises(UnwrittenFileError, match="could not be written"):
        write_whole(tmp_path / "taken" / "a.txt", b"new")
