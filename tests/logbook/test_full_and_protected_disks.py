"""A disk that is full or write-protected: what is there stays, is read, and the message says what would help."""

from __future__ import annotations

import os
import resource
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from faults.filled import TEXT, Filled

from littoral.logbook.book import Logbook
from littoral.logbook.database import RefusedByDatabaseError
from littoral.logbook.refused import DATABASE
from littoral.logbook.space import (
    KEEP_FREE_BYTES,
    MB,
    WARN_BELOW_BYTES,
    NoRoomError,
    free_bytes_at,
    need_room,
    space_row,
)
from littoral.logbook.verify import failures, verify
from littoral.logbook.writable import ReadOnlyLogbookError
from littoral.trial.days import instant_of
from littoral.trial.entries import Entry, Note


def note(filled: Filled, name: str, text: str) -> Entry:
    trial = filled.trial
    return Entry(name, instant_of(9, trial), trial.zone, next(iter(trial.tanks)), Note(text), trial=trial.key)


def test_the_room_is_a_row_with_its_limit(tmp_path: Path) -> None:
    assert space_row(tmp_path, WARN_BELOW_BYTES).verdict == "holds"
    low = space_row(tmp_path, WARN_BELOW_BYTES - MB)
    assert (low.verdict, low.value, low.limit, low.unit) == ("warns", 1.999, 2.0, "GB")
    assert "make room" in low.comment
    assert free_bytes_at(tmp_path / "not" / "there") > 0


def test_a_copy_that_would_fill_the_disk_is_not_begun(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("littoral.logbook.space.free_bytes_at", lambda _: KEEP_FREE_BYTES + 5 * MB)
    need_room(tmp_path, 5 * MB)
    need_room(tmp_path, 0)
    with pytest.raises(NoRoomError, match="6 MB are to be written and 105 MB are free, of which 100 MB stay free"):
        need_room(tmp_path, 6 * MB)


@pytest.fixture
def protected(filled: Filled, tmp_path: Path) -> Iterator[Filled]:
    """The logbook on a disk that is mounted write-protected, for real; skips where that cannot be had."""
    enter = ["unshare", "--mount", "--map-root-user"]
    if not shutil.which("unshare") or subprocess.run([*enter, "true"], capture_output=True, check=False).returncode:
        pytest.skip("a write-protected disk cannot be mounted here")
    return filled


SCRIPT = """
import sys
from pathlib import Path
from littoral.logbook.book import Logbook
from littoral.logbook.writable import ReadOnlyLogbookError
with Logbook.open(Path(sys.argv[1])) as book:
    key, = book.trials()
    print(len(book.entries(key)))
    try:
        book.take_in(book.trial(key), book.trial_text(key) + "# more")
    except ReadOnlyLogbookError as error:
        print(error)
"""


def test_a_logbook_on_a_write_protected_disk_is_read_and_not_written(protected: Filled) -> None:
    folder = str(protected.folder)
    mount = 'mount --bind "$1" "$1" && mount -o remount,ro,bind "$1" && exec "$2" -c "$3" "$1"'
    command = ["unshare", "--mount", "--map-root-user", "sh", "-c", mount, "sh", folder, sys.executable, SCRIPT]
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(one for one in sys.path if one)}
    done = subprocess.run(command, capture_output=True, text=True, check=False, env=environment)
    assert done.returncode == 0, done.stderr
    count, said = done.stdout.strip().split("\n")
    assert count == "8"
    assert "can be read and not written: logbook.sqlite3 is write-protected, or the disk is." in said
    assert "copy the whole folder to a disk that can be written" in said


def test_what_may_not_be_written_says_so_before_anything_happens(
    filled: Filled, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "access", lambda path, mode: Path(path) != filled.folder)
    before = (filled.folder / DATABASE).read_bytes()
    with Logbook.open(filled.folder) as book:
        assert len(book.entries(filled.trial.key)) == 8
        assert book.read_only is not None
        for write in (
            lambda: book.add([note(filled, "n", "x")]),
            lambda: book.take_in(filled.trial, TEXT),
            lambda: book.keep_originals({}),
        ):
            with pytest.raises(ReadOnlyLogbookError, match="its folder is write-protected"):
                write()
    assert (filled.folder / DATABASE).read_bytes() == before


def test_a_database_that_finds_no_room_says_so_and_keeps_what_it_has(filled: Filled) -> None:
    with Logbook.open(filled.folder) as book:
        from sqlalchemy import event

        @event.listens_for(book._engine, "connect")
        def _small(driver, _record) -> None:  # type: ignore[no-untyped-def]
            driver.execute("PRAGMA max_page_count=12").close()

        with pytest.raises(RefusedByDatabaseError, match="Make room on the disk"):
            book.add([note(filled, "n", "x" * 200_000)])
        assert len(book.entries(filled.trial.key)) == 8
    assert failures(verify(filled.folder, database=DATABASE)) == ()


def test_files_that_may_not_grow_lose_nothing(filled: Filled, tmp_path: Path) -> None:
    """Every write beyond so many bytes fails, as on a full disk; in a process of its own, which the limit is for."""
    script = """
import resource, signal, sys
from pathlib import Path
from littoral.errors import LittoralError
from littoral.logbook import originals
from littoral.logbook.book import Logbook
folder = Path(sys.argv[1])
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
with Logbook.open(folder) as book:
    key, = book.trials()
    entry = book.entries(key)[-1]
    from dataclasses import replace
    from littoral.trial.entries import Note
    kept = refused = 0
    for size in range(1_000, 120_000, 7_000):
        resource.setrlimit(resource.RLIMIT_FSIZE, (size, resource.RLIM_INFINITY))
        try:
            book.add([replace(entry, id=f"m{size}", payload=Note("x" * 30_000))])
            originals.keep(folder, b"p" * size * 2, ".jpg")
            print(f"m{size}")
        except LittoralError:
            refused += 1
    resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
    print("refused", refused)
"""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(one for one in sys.path if one)}
    done = subprocess.run(
        [sys.executable, "-c", script, str(filled.folder)], capture_output=True, text=True, check=False, env=environment
    )
    assert done.returncode == 0, done.stderr
    *names, refused = done.stdout.strip().split("\n")
    assert int(refused.split()[1]) > 3
    with Logbook.open(filled.folder) as book:
        there = {entry.id for entry in book.entries(filled.trial.key)}
    assert set(names) <= there
    assert len(there) >= 8
    assert failures(verify(filled.folder, database=DATABASE)) == ()
    assert not list(filled.folder.rglob("*.part"))
    assert resource.getrlimit(resource.RLIMIT_FSIZE)[0] == resource.RLIM_INFINITY
