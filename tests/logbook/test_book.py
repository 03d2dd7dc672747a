"""A logbook keeps what it was given, once, and reads it back through a fresh connection."""

from __future__ import annotations

import dataclasses
import sqlite3
import threading
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy.exc import IntegrityError

from littoral.errors import FaultsError
from littoral.logbook import database, originals
from littoral.logbook.book import Logbook
from littoral.logbook.database import RefusedByDatabaseError
from littoral.logbook.refused import (
    DATABASE,
    NoLogbookError,
    NoOriginalError,
    NoTrialError,
    UnkeptFileError,
    UnusableFolderError,
)
from littoral.logbook.schema import HEAD, KNOWN, NewerLogbookError
from littoral.logbook.space import NoRoomError
from littoral.logbook.sync import Changes
from littoral.logbook.tables import metadata
from littoral.trial.days import instant_of
from littoral.trial.entries import Care, Dose, Entry, Note, Payload, Photo, Trim
from littoral.trial.written.reader import read_trial
from littoral.trial.written.starting import starting_text

TEXT = starting_text(title="Two ways of feeding", start="2026-03-02")
PARSED, _FAULTS = read_trial(TEXT, where="trial.toml")
assert PARSED is not None
TRIAL = PARSED
TANK = next(iter(TRIAL.tanks))


def made(identity: str, day: float, payload: Payload, **more: object) -> Entry:
    entry = Entry(id=identity, at=instant_of(day, TRIAL), zone=TRIAL.zone, tank=TANK, payload=payload, trial=TRIAL.key)
    return dataclasses.replace(entry, **more)


@pytest.fixture
def book(tmp_path: Path) -> Logbook:
    with Logbook.create(tmp_path / "logbook") as book:
        book.take_in(TRIAL, TEXT)
        yield book


def reopened(book: Logbook) -> tuple[Entry, ...]:
    with Logbook.open(book.folder) as fresh:
        return fresh.entries(TRIAL.key)


def test_entries_come_back_by_time_with_zone_and_instant(book: Logbook) -> None:
    late, early = made("b", 2.5, Note("later")), made("a", 1.25, Dose("macro", ml=2.0), who="J", note="wet hands")
    assert book.take_in(TRIAL, TEXT, [late, early]).new == (late, early)
    assert reopened(book) == (early, late)
    assert reopened(book)[0].at.utcoffset() == timedelta(0)


def test_importing_twice_changes_nothing(book: Logbook) -> None:
    entries = [made("a", 1.0, Note("one")), made("b", 2.0, Note("two"))]
    assert book.take_in(TRIAL, TEXT, entries).new == tuple(entries)
    before = (book.folder / DATABASE).read_bytes()
    assert book.take_in(TRIAL, TEXT, entries) == Changes()
    assert reopened(book) == tuple(entries)
    with sqlite3.connect(book.folder / DATABASE) as plain:
        assert plain.execute("SELECT count(*) FROM trial_text").fetchone() == (1,)
    plain.close()
    assert len(before) == len((book.folder / DATABASE).read_bytes())


def test_a_correction_supersedes_and_both_stay(book: Logbook) -> None:
    book.take_in(TRIAL, TEXT, [made("a", 1.0, Care(120))])
    book.take_in(TRIAL, TEXT, [made("b", 1.0, Care(12), supersedes="a")])
    assert [entry.id for entry in reopened(book)] == ["b"]
    with sqlite3.connect(book.folder / DATABASE) as plain:
        assert plain.execute("SELECT id FROM entry ORDER BY id").fetchall() == [("a",), ("b",)]
    plain.close()


def test_a_failure_in_the_middle_writes_nothing(book: Logbook) -> None:
    orphan = made("b", 1.0, Note("corrects what is not there"), supersedes="nowhere")
    with pytest.raises(IntegrityError):
        book.take_in(TRIAL, TEXT + "# mended", [made("a", 1.0, Note("good")), orphan])
    assert reopened(book) == ()
    assert book.trial_text(TRIAL.key) == TEXT


def test_naive_times_are_refused(book: Logbook) -> None:
    naive = dataclasses.replace(made("a", 1.0, Note("when?")), at=datetime(2026, 3, 3, 12, 0))
    with pytest.raises(Exception, match="has no time zone") as caught:
        book.take_in(TRIAL, TEXT, [naive])
    assert isinstance(caught.value.__cause__, ValueError)
    assert reopened(book) == ()


def test_entries_that_do_not_fit_the_trial_are_refused_together_and_nothing_is_written(book: Logbook) -> None:
    inside = made("a", TRIAL.length_days - 0.01, Note("last evening"))
    wrong = [
        made("b", -0.01, Note("before")),
        made("c", TRIAL.length_days, Photo("ab" * 32, "left", "exif", "late.jpg"), tank=None),
        made("d", 1.0, Note("another tank"), tank="kitchen"),
        made("e", 1.0, Dose("nowhere", ml=1.0)),
        made("f", 2.0, Dose("nowhere", ml=1.0)),
        made("g", 1.0, Trim("fern")),
        made("h", 1.0, Photo("cd" * 32, "above", "exif", "a.jpg"), tank=None),
    ]
    with pytest.raises(FaultsError) as caught:
        book.take_in(TRIAL, TEXT, [inside, *wrong])
    assert [fault.what for fault in caught.value.faults] == [
        "1 entry and 1 photo (2026-03-01 to 2026-04-27) lie outside: "
        "the trial's days are 2026-03-02 to 2026-04-26 (day 0 to 55).",
        '1 entry (2026-03-03) name the tank "kitchen", which the trial file does not have.',
        '2 entries (2026-03-03 to 2026-03-04) name the bottle "nowhere", which the trial file does not have.',
        '1 entry (2026-03-03) name the stand "fern", which the trial file does not have.',
        '1 photo (2026-03-03) name the view "above", which the trial file does not have.',
    ]
    assert reopened(book) == ()
    book.take_in(TRIAL, TEXT, [inside])
    assert reopened(book) == (inside,)


def test_entries_are_of_one_trial(book: Logbook) -> None:
    other = dataclasses.replace(TRIAL, key="other")
    mine, theirs = made("a", 1.0, Note("mine")), made("b", 1.0, Note("theirs"), trial="other")
    with pytest.raises(ValueError, match="another trial than"):
        book.take_in(TRIAL, TEXT, [theirs])
    book.take_in(TRIAL, TEXT, [mine])
    book.take_in(other, TEXT, [theirs])
    assert (book.entries(TRIAL.key), book.entries("other")) == ((mine,), (theirs,))


def test_the_latest_text_of_a_trial_is_in_force(book: Logbook) -> None:
    changed = TEXT.replace("Two ways of feeding", "Three ways of feeding")
    book.take_in(TRIAL, changed)
    assert book.trial(TRIAL.key).title == "Three ways of feeding"
    book.take_in(TRIAL, TEXT)
    assert book.trial(TRIAL.key).title == "Two ways of feeding"


def test_originals_are_found_by_hash_only(book: Logbook, tmp_path: Path) -> None:
    file = tmp_path / "a.jpg"
    file.write_bytes(b"pixels")
    sha256 = "eaf7f6e88a5f9ccd2ddc4f7e8e4a0f4b5f5b5e2e0d5b5cbb6b0e0d1b9a3f3e11"
    with pytest.raises(UnkeptFileError, match=r"a\.jpg changed while it was read"):
        book.keep_originals({sha256: (file, ".jpg")})
    file.unlink()
    with pytest.raises(UnkeptFileError, match=r"a\.jpg cannot be read"):
        book.keep_originals({sha256: (file, ".jpg")})
    assert not (book.folder / "originals").exists()
    with pytest.raises(NoOriginalError):
        book.original(sha256)


def test_a_photo_that_a_crash_left_without_its_row_is_made_sure_of(
    book: Logbook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    data = b"pixels"
    sha256 = originals.keep(book.folder, data, ".jpg")
    synced: list[str] = []
    monkeypatch.setattr(originals, "sync_folder", lambda folder: synced.append(folder.name))
    book.keep_originals({sha256: (tmp_path / "a.jpg", ".jpg")})
    assert synced == [sha256[:2], "originals", "logbook"]
    book.take_in(TRIAL, TEXT, kept={sha256: (".jpg", len(data))})
    book.keep_originals({sha256: (tmp_path / "a.jpg", ".jpg")})
    assert len(synced) == 3


def test_photos_for_which_there_is_no_room_are_not_begun(
    book: Logbook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "a.jpg").write_bytes(b"pixels")
    monkeypatch.setattr("littoral.logbook.space.free_bytes_at", lambda _: 1000)
    with pytest.raises(NoRoomError, match="Nothing was written"):
        book.keep_originals({originals.sha256_of(b"pixels"): (tmp_path / "a.jpg", ".jpg")})
    assert not (book.folder / "originals").exists()


@pytest.mark.parametrize(("kind", "name"), [("..", "a"), ("a", "../b"), ("a", ".hidden"), ("a/b", "c"), ("a", "")])
def test_cache_names_cannot_leave_the_cache(book: Logbook, kind: str, name: str) -> None:
    with pytest.raises(ValueError, match="cannot name a cached file"):
        book.cache_path(kind, name)


def test_what_is_not_there_is_said(tmp_path: Path, book: Logbook) -> None:
    with pytest.raises(NoLogbookError, match="holds no logbook"):
        Logbook.open(tmp_path / "nowhere")
    assert not (tmp_path / "nowhere").exists()
    with pytest.raises(NoTrialError):
        book.entries("x")
    with pytest.raises(NoTrialError, match=f"no trial 'x' in this logbook; it holds {TRIAL.key}"):
        book.trial_text("x")


@pytest.mark.parametrize("name", ["a?b", "a%20b", "a#b", "a;b=c", "\u00fc"])
def test_a_folder_may_have_any_name(tmp_path: Path, name: str) -> None:
    with Logbook.create(tmp_path / name) as book:
        book.take_in(TRIAL, TEXT)
    assert [path.name for path in tmp_path.iterdir()] == [name]
    assert (tmp_path / name / DATABASE).stat().st_size > 0
    with Logbook.open(tmp_path / name) as book:
        assert book.trials() == (TRIAL.key,)


def test_the_folder_one_stands_in_has_its_name(book: Logbook, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(book.folder)
    with Logbook.open(Path()) as here:
        assert here.folder == book.folder.resolve()
        monkeypatch.chdir("/")
        assert here.trials() == (TRIAL.key,)


@pytest.mark.parametrize("spoil", [lambda data: b"dear diary" * 100, lambda data: data[: len(data) // 2]])
def test_a_broken_database_is_named(book: Logbook, spoil: Callable[[bytes], bytes]) -> None:
    file = book.folder / DATABASE
    broken = spoil(file.read_bytes())
    file.write_bytes(broken)
    with pytest.raises(RefusedByDatabaseError, match=r"logbook\.sqlite3 cannot be used .*put a copy of it back"):
        Logbook.open(book.folder).entries(TRIAL.key)
    assert file.read_bytes() == broken


def test_a_folder_that_is_a_file_is_named(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("mine")
    for folder in (tmp_path / "taken", tmp_path / "taken" / "logbook"):
        with pytest.raises(UnusableFolderError, match="cannot hold a logbook"):
            Logbook.create(folder)
        with pytest.raises(NoLogbookError):
            Logbook.open(folder)


def test_a_folder_that_may_not_be_used_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "mkdir", refuse)
    with pytest.raises(UnusableFolderError, match="Permission denied"):
        Logbook.create(tmp_path / "logbook")


def test_a_database_that_another_program_writes_is_named(book: Logbook, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(database, "BUSY_TIMEOUT_MS", 0)
    with sqlite3.connect(book.folder / DATABASE, isolation_level=None) as other:
        other.execute("BEGIN EXCLUSIVE")
        with pytest.raises(RefusedByDatabaseError, match="try again when that is done"):
            book.take_in(TRIAL, TEXT)
        other.execute("ROLLBACK")
    other.close()


def test_two_writers_at_once_both_land(book: Logbook) -> None:
    def write(name: str) -> None:
        with Logbook.open(book.folder) as own:
            for number in range(5):
                own.take_in(TRIAL, TEXT, [made(f"{name}{number}", 1.0, Note(name))])

    threads = [threading.Thread(target=write, args=(name,)) for name in "abcd"]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(reopened(book)) == 20


def test_durable_settings_are_on(book: Logbook) -> None:
    with book._engine.connect() as connection:
        for pragma, value in (("foreign_keys", 1), ("journal_mode", "delete"), ("synchronous", 3)):
            assert connection.exec_driver_sql(f"PRAGMA {pragma}").scalar() == value


def test_the_migrations_make_the_tables_that_the_code_uses(book: Logbook) -> None:
    from alembic.autogenerate import compare_metadata
    from alembic.migration import MigrationContext

    with book._engine.connect() as connection:
        context = MigrationContext.configure(connection)
        assert compare_metadata(context, metadata) == []
        assert context.get_current_revision() == HEAD == KNOWN[-1]


def test_a_logbook_of_a_newer_version_is_read_and_not_written(book: Logbook) -> None:
    entry = made("a", 1.0, Note("kept"))
    book.take_in(TRIAL, TEXT, [entry])
    file = book.folder / DATABASE
    with sqlite3.connect(file) as plain:
        plain.execute("UPDATE alembic_version SET version_num = '9999'")
        plain.execute("ALTER TABLE entry ADD COLUMN weather TEXT")
    plain.close()
    before = file.read_bytes()
    with Logbook.open(book.folder) as newer:
        assert newer.entries(TRIAL.key) == (entry,)
        for write in (
            lambda: newer.add([made("b", 1.0, Note("x"))]),
            lambda: newer.take_in(TRIAL, TEXT),
            lambda: newer.keep_originals({}),
        ):
            with pytest.raises(NewerLogbookError, match=r"schema 9999, which is newer .* Install the newer version"):
                write()
    assert file.read_bytes() == before


def test_a_logbook_of_a_newer_version_without_what_is_read_is_refused_unchanged(book: Logbook) -> None:
    file = book.folder / DATABASE
    with sqlite3.connect(file) as plain:
        plain.execute("UPDATE alembic_version SET version_num = '9999'")
        plain.execute("ALTER TABLE entry RENAME COLUMN note TO remark")
    plain.close()
    before = file.read_bytes()
    with pytest.raises(NewerLogbookError, match=r"schema 9999, which is newer .* to open it"):
        Logbook.open(book.folder)
    assert file.read_bytes() == before


def test_the_clock_is_handed_in(tmp_path: Path) -> None:
    moment = datetime(2026, 3, 3, tzinfo=UTC)
    with Logbook.create(tmp_path / "logbook", clock=lambda: moment) as book:
        book.take_in(TRIAL, TEXT, [made("a", 1.0, Note("x"))])
    with sqlite3.connect(tmp_path / "logbook" / DATABASE) as plain:
        assert plain.execute("SELECT recorded_at FROM entry").fetchone() == ("2026-03-03T00:00:00.000000+00:00",)
    plain.close()
