"""Backup and restore: wipe, restore, and nothing is different; what goes wrong changes nothing."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections import namedtuple
from collections.abc import Callable
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest
from faults.filled import NOW, Filled, all_rows

from littoral.errors import LittoralError
from littoral.logbook import backup as backups
from littoral.logbook.archive import write_archive
from littoral.logbook.backup import BackupRunningError, DamagedLogbookError, back_up, backups_in
from littoral.logbook.backup_keeping import Keeping
from littoral.logbook.book import Logbook
from littoral.logbook.refused import DATABASE
from littoral.logbook.restore import DamagedBackupError, NoBackupError, NotNewError, restore
from littoral.logbook.space import KEEP_FREE_BYTES, NoRoomError
from littoral.logbook.verify import failures, verify
from littoral.logbook.whole_files import UnwrittenFileError

Usage = namedtuple("Usage", "total used free")


def made(filled: Filled, to: Path, **more: object) -> Path:
    values = {"database": DATABASE, "now": NOW, "keeping": Keeping(), **more}
    return back_up(filled.folder, to, **values)[0].path  # type: ignore[arg-type]


def exported(filled: Filled, to: Path) -> Path:
    write_archive(filled.folder, to, now=NOW)
    return to


def picture(folder: Path) -> dict[str, bytes]:
    """Return every file under a folder with its bytes."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


@pytest.mark.parametrize("make", [made, exported])
def test_wiped_and_restored_nothing_is_different(
    filled: Filled, tmp_path: Path, make: Callable[[Filled, Path], Path]
) -> None:
    before, photos = filled.rows(), picture(filled.folder / "originals")
    path = make(filled, tmp_path / "elsewhere" / "kept")
    shutil.rmtree(filled.folder)
    restored = restore(path, tmp_path / "new" / "logbook", database=DATABASE)
    assert (restored.originals, restored.lost) == (3, ())
    assert all_rows(restored.folder / DATABASE) == before
    assert picture(restored.folder / "originals") == photos
    assert failures(verify(restored.folder, database=DATABASE)) == ()
    assert sorted(path.name for path in restored.folder.iterdir()) == [DATABASE, "originals"]
    with Logbook.open(restored.folder) as book:
        assert len(book.entries(filled.trial.key)) == len(filled.entries) - 1


def test_photos_are_copied_once_and_are_no_links(filled: Filled, tmp_path: Path) -> None:
    to = tmp_path / "kept"
    made(filled, to)
    copies = sorted((to / "originals").rglob("*.jpg"))
    assert len(copies) == 3
    stats = [path.stat() for path in copies]
    assert all(stat.st_nlink == 1 for stat in stats)
    made(filled, to, now=NOW + timedelta(days=1))
    again = [path.stat() for path in copies]
    assert [(one.st_ino, one.st_mtime_ns) for one in again] == [(one.st_ino, one.st_mtime_ns) for one in stats]
    assert len(backups_in(to)) == 2


def test_old_ones_go_and_the_photos_of_those_that_stay_remain(filled: Filled, tmp_path: Path) -> None:
    to = tmp_path / "kept"
    for day in range(5):
        made(filled, to, now=NOW + timedelta(days=day), keeping=Keeping(days=2, weeks=0, months=0))
    assert list(backups_in(to)) == ["2026-03-23T080000Z", "2026-03-24T080000Z"]
    assert restore(to / "2026-03-23T080000Z", tmp_path / "new", database=DATABASE).originals == 3


def test_two_in_one_second_have_two_names(filled: Filled, tmp_path: Path) -> None:
    assert [made(filled, tmp_path / "kept").name for _ in range(2)] == ["2026-03-20T080000Z", "2026-03-20T080000Z-2"]


def test_a_backup_takes_in_what_is_committed_and_not_what_is_half_done(filled: Filled, tmp_path: Path) -> None:
    before = filled.rows()
    with closing(sqlite3.connect(filled.folder / DATABASE, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        other.execute("DELETE FROM entry")
        path = made(filled, tmp_path / "kept")
        other.execute("ROLLBACK")
    assert all_rows(path / DATABASE) == before


def test_only_one_is_made_at_a_time(filled: Filled, tmp_path: Path) -> None:
    to = tmp_path / "kept"
    made(filled, to)
    with closing(sqlite3.connect(to / backups.LOCK, isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        with pytest.raises(BackupRunningError, match="Try again"):
            made(filled, to)
    made(filled, to)


def test_a_damaged_logbook_is_not_backed_up_and_no_older_backup_goes(filled: Filled, tmp_path: Path) -> None:
    to = tmp_path / "kept"
    made(filled, to)
    before = picture(to)
    file = filled.folder / DATABASE
    with file.open("rb+") as opened:
        opened.seek(os.path.getsize(file) // 4096 // 2 * 4096)
        opened.write(b"\xff" * 4096)
    with pytest.raises(DamagedLogbookError, match="no backup was made"):
        made(filled, to, now=NOW + timedelta(days=1), keeping=Keeping(0, 0, 0))
    assert picture(to) == before


def test_a_photo_that_is_gone_is_named_and_does_not_stop_the_rest(filled: Filled, tmp_path: Path) -> None:
    filled.original(0).unlink()
    filled.original(1).write_bytes(b"rotten")
    kept, _ = back_up(filled.folder, tmp_path / "kept", database=DATABASE, now=NOW, keeping=Keeping())
    assert kept.lost == tuple(sorted(filled.hashes[:2]))
    assert restore(kept.path, tmp_path / "new", database=DATABASE).lost == kept.lost
    write_archive(filled.folder, tmp_path / "plain", now=NOW)
    assert restore(tmp_path / "plain", tmp_path / "newer", database=DATABASE).lost == kept.lost


def test_a_photo_that_the_logbook_lost_comes_back_from_an_earlier_backup(filled: Filled, tmp_path: Path) -> None:
    made(filled, tmp_path / "kept")
    shutil.rmtree(filled.folder / "originals")
    path = made(filled, tmp_path / "kept", now=NOW + timedelta(days=1))
    assert restore(path, tmp_path / "new", database=DATABASE).lost == ()


def test_too_little_room_is_said_before_anything_is_copied(
    filled: Filled, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shutil, "disk_usage", lambda _: Usage(0, 0, KEEP_FREE_BYTES + 1000))
    with pytest.raises(NoRoomError, match="Make room, or name another disk"):
        made(filled, tmp_path / "kept")
    assert list((tmp_path / "kept").iterdir()) == [tmp_path / "kept" / backups.LOCK]


def test_a_disk_that_fills_meanwhile_leaves_the_earlier_backup(
    filled: Filled, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    to = tmp_path / "kept"
    path = made(filled, to)
    before = picture(to)
    sync, calls = os.fsync, 0

    def full(opened: int) -> None:
        nonlocal calls
        calls += 1
        if calls == fails_at:
            raise OSError(28, "No space left on device")
        sync(opened)

    fails_at = 0
    monkeypatch.setattr(os, "fsync", full)
    while True:
        fails_at, calls = fails_at + 1, 0
        try:
            made(filled, to, now=NOW + timedelta(days=1))
        except UnwrittenFileError as error:
            assert "No space left" in str(error)  # noqa: PT017 - it may also go well
            assert picture(to).keys() - before.keys() in (
                set(),
                {"2026-03-21T080000Z/" + n for n in (DATABASE, "manifest.json")},
            )
            shutil.rmtree(to / "2026-03-21T080000Z", ignore_errors=True)
        else:
            break
    assert fails_at > 3
    assert picture(path) == {
        name[len(path.name) + 1 :]: data for name, data in before.items() if name.startswith(path.name)
    }


def spoil_database(path: Path) -> None:
    data = bytearray((path / DATABASE).read_bytes())
    data[-1] ^= 1
    (path / DATABASE).write_bytes(data)


def spoil_photo(path: Path) -> None:
    next((path.parent / "originals").rglob("*.jpg")).write_bytes(b"rotten")


def climb(path: Path) -> None:
    said = (path / "manifest.json").read_text()
    (path / "manifest.json").write_text(said.replace('"suffix": ".jpg"', '"suffix": "/../../../../taken"'))


@pytest.mark.parametrize(
    ("spoil", "error"),
    [
        (spoil_database, DamagedBackupError),
        (spoil_photo, DamagedBackupError),
        (lambda path: (path / DATABASE).unlink(), DamagedBackupError),
        (lambda path: next((path.parent / "originals").rglob("*.jpg")).unlink(), DamagedBackupError),
        (lambda path: (path / "manifest.json").write_text("{"), DamagedBackupError),
        (lambda path: (path / "manifest.json").write_text('{"format": "littoral backup 1"}'), DamagedBackupError),
        (lambda path: (path / "manifest.json").write_text('{"format": "other"}'), NoBackupError),
        (climb, DamagedBackupError),
        (lambda path: (path / "manifest.json").unlink(), NoBackupError),
    ],
)
def test_a_damaged_backup_is_refused_and_leaves_nothing(
    filled: Filled, tmp_path: Path, spoil: Callable[[Path], object], error: type[LittoralError]
) -> None:
    path = made(filled, tmp_path / "kept")
    spoil(path)
    with pytest.raises(error):
        restore(path, tmp_path / "there" / "new", database=DATABASE)
    assert not (tmp_path / "there").exists() or list((tmp_path / "there").iterdir()) == []


@pytest.mark.parametrize("name", ["entries.jsonl", "trials.jsonl", "originals.jsonl"])
def test_a_damaged_export_is_refused_and_leaves_nothing(filled: Filled, tmp_path: Path, name: str) -> None:
    path = exported(filled, tmp_path / "plain")
    (path / name).write_text((path / name).read_text("utf-8").replace("2026", "2027"), "utf-8")
    with pytest.raises(DamagedBackupError, match=f"{name} has not the hash"):
        restore(path, tmp_path / "there" / "new", database=DATABASE)
    assert list((tmp_path / "there").iterdir()) == []


def test_nothing_is_ever_restored_over_something(filled: Filled, tmp_path: Path) -> None:
    path = made(filled, tmp_path / "kept")
    before = picture(filled.folder)
    with pytest.raises(NotNewError, match="Name a folder that is new"):
        restore(path, filled.folder, database=DATABASE)
    assert picture(filled.folder) == before


def test_what_a_crash_left_is_cleared_and_what_is_whole_stays(filled: Filled, tmp_path: Path) -> None:
    to = tmp_path / "kept"
    path = made(filled, to)
    (to / ".0123456789abcdef.part").mkdir()
    (to / "2026-03-01T080000Z").mkdir()  # one that was being removed
    (to / "my own folder").mkdir()
    made(filled, to, now=NOW + timedelta(days=1))
    names = {one.name for one in to.iterdir()}
    assert names == {path.name, "2026-03-21T080000Z", "originals", "my own folder", backups.LOCK}


def test_a_folder_of_backups_is_answered_with_the_newest_in_it(filled: Filled, tmp_path: Path) -> None:
    path = made(filled, tmp_path / "kept")
    with pytest.raises(NoBackupError, match=path.name):
        restore(path.parent, tmp_path / "new", database=DATABASE)
