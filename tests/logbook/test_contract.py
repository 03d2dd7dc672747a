"""What a logbook promises, the same with its entries in a file and on a PostgreSQL server."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from faults.filled import TEXT, Filled, entries, fill, trial
from faults.server import PASSWORD, Server
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import inspect, text

from littoral.acts.back_up import back_up_logbook
from littoral.acts.export_logbook import export_logbook
from littoral.acts.list_trials import fingerprint
from littoral.acts.restore_logbook import restore_logbook
from littoral.acts.verify_logbook import is_whole, verify_logbook
from littoral.logbook.book import Logbook
from littoral.logbook.changed_entries import AlreadyRecordedError, NoEntryError, SupersededError
from littoral.logbook.database import reading
from littoral.logbook.elsewhere import ElsewhereView
from littoral.logbook.every_row import digest_of
from littoral.logbook.refused import DATABASE, NoLogbookError, NoTrialError
from littoral.logbook.rows import in_force
from littoral.logbook.schema import HEAD, revision_of
from littoral.logbook.tables import metadata
from littoral.logbook.where_kept import NOTE, VARIABLE
from littoral.trial.entries import Care, Entry, Note, Withdrawn

NOW = datetime(2026, 3, 20, 8, tzinfo=UTC)


@dataclass
class Kept:
    """Where logbooks are made: each a folder, on a server with a database of its own."""

    folder: Path
    server: Server | None
    made: int = 0

    def new(self) -> Path:
        self.made += 1
        return self.folder / f"logbook{self.made}"

    def filled(self) -> Filled:
        folder = self.new()
        Logbook.create(folder, shared=True).close()
        return fill(folder)


@pytest.fixture(params=["file", "server"])
def kept(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Kept:
    monkeypatch.delenv(VARIABLE, raising=False)
    if request.param == "file":
        return Kept(tmp_path, None)
    server = request.getfixturevalue("postgres")
    monkeypatch.setenv(VARIABLE, server.ready())
    return Kept(tmp_path, server)


@pytest.fixture
def filled(kept: Kept) -> Filled:
    return kept.filled()


def digest(folder: Path) -> str:
    with Logbook.open(folder) as book, reading(book._engine) as connection:
        return digest_of(connection)


def care(identity: str, minutes: float, **more: object) -> Entry:
    of = trial()
    plain = Entry(identity, NOW, of.zone, next(iter(of.tanks)), Care(minutes), trial=of.key)
    return replace(plain, **more)


def test_the_entries_are_where_they_were_asked_to_be(kept: Kept, filled: Filled) -> None:
    assert (filled.folder / DATABASE).is_file() == (kept.server is None)
    assert (filled.folder / NOTE).is_file() == (kept.server is not None)
    with Logbook.open(filled.folder) as book, book._engine.connect() as connection:
        assert revision_of(connection) == HEAD
        seen = inspect(connection)
        for table in metadata.sorted_tables:
            there = {column["name"] for column in seen.get_columns(table.name)}
            assert {column.name for column in table.columns} <= there
            indexes = {index["name"] for index in seen.get_indexes(table.name)}
            assert {index.name for index in table.indexes} <= indexes
    if kept.server is not None:
        said = (filled.folder / NOTE).read_text()
        assert PASSWORD not in said
        assert "word" not in said


def test_everything_comes_back_as_it_was(filled: Filled) -> None:
    with Logbook.open(filled.folder) as book:
        assert book.trials() == (filled.trial.key,)
        assert [text for _, text in book.texts(filled.trial.key)] == [TEXT, TEXT + "# mended\n"]
        assert book.entries(filled.trial.key) == tuple(sorted(in_force(entries()), key=lambda one: (one.at, one.id)))
        assert set(book.all_entries(filled.trial.key)) == set(entries())
        assert [book.original(sha256).read_bytes() for sha256 in filled.hashes] == [
            b"left of the bench",
            b"right of the bench",
            b"both",
        ]
        assert book.counts(filled.trial.key)["care"] == 1
        assert book.entry("c")[1] == next(one for one in entries() if one.id == "d")
        assert book.versions_within(filled.trial.key, NOW - timedelta(365), NOW + timedelta(365))
        assert book.ids_among(["a", "c", "none"]) == {"a", "c"}
    assert is_whole(verify_logbook(filled.folder))


def test_what_is_not_there_is_said(kept: Kept, filled: Filled) -> None:
    with Logbook.open(filled.folder) as book:
        with pytest.raises(NoTrialError):
            book.entries("none")
        with pytest.raises(NoEntryError):
            book.entry("none")
        assert not book.has_original("0" * 64)
    with pytest.raises(NoLogbookError):
        Logbook.open(kept.new())


def test_adding_is_all_or_nothing_and_never_over_another(filled: Filled) -> None:
    with Logbook.open(filled.folder) as book:
        before = digest(filled.folder)
        with pytest.raises(AlreadyRecordedError):
            book.add((care("new", 3), care("a", 4)))
        with pytest.raises(SupersededError):
            book.add((care("new", 3), care("e2", 4, supersedes="c")))
        with pytest.raises(NoEntryError):
            book.add((care("new", 3), care("e2", 4, supersedes="none")))
        assert digest(filled.folder) == before
        assert book.add((care("new", 3),)) == (care("new", 3),)
        assert book.add((care("new", 3, at=NOW + timedelta(1)),)) == ()
        row = book.last_row_of(filled.trial.key)
        assert book.add((care("newer", 3, supersedes="new"),))
        assert [one.id for one in book.entries_since(filled.trial.key, after=row)] == ["newer"]
        assert book.counts(filled.trial.key, after=row) == {}


def test_texts_of_any_length_and_sign_come_back(filled: Filled) -> None:
    strange = "ß\u2028\U0001f33f 'quoted' \"too\" \\ % :name %s ; --\n" * 300
    with Logbook.open(filled.folder) as book:
        book.add((care("x" * 300, 1, note=strange, who=strange), care("y", 1, payload=Note(strange))))
        assert book.entry("x" * 300)[0].note == strange
        assert book.entry("y")[0].payload == Note(strange)


def test_texts_are_in_the_order_of_their_bytes(filled: Filled) -> None:
    ids = ["Z-1", "a1", "B", "_", "Ä", "y-", "y", "~"]
    with Logbook.open(filled.folder) as book:
        book.add([care(one, 1) for one in ids])
        mine = [one.id for one in book.all_entries(filled.trial.key) if one.id in ids]
    assert mine == sorted(ids, key=str.encode)


def test_a_refusal_before_writing_writes_nothing(filled: Filled) -> None:
    def refuse() -> None:
        with Logbook.open(filled.folder) as other:  # it may read
            assert other.counts(filled.trial.key)
        raise KeyError("no")

    before = digest(filled.folder)
    with Logbook.open(filled.folder) as book, pytest.raises(KeyError):
        book.add((care("new", 1),), kept={"0" * 64: (".jpg", 1)}, sure=refuse)
    assert digest(filled.folder) == before


def test_measures_taken_elsewhere_are_kept(filled: Filled) -> None:
    view = ElsewhereView(filled.trial.key, "p", "front", "0" * 64, "1", ({"sha256": "1" * 64, "cover": 0.5},))
    with Logbook.open(filled.folder) as book:
        taken = book.take_over(filled.trial, book.texts(filled.trial.key), (), kept={}, elsewhere=(view,))
        assert taken.views == 1
        assert book.measured_elsewhere(filled.trial.key) == (view,)


def test_the_fingerprint_changes_with_each_entry(filled: Filled) -> None:
    seen = {fingerprint(filled.folder, filled.trial.key)}
    with Logbook.open(filled.folder) as book:
        book.add((care("new", 1),))
        seen.add(fingerprint(filled.folder, filled.trial.key))
        book.add((care("newer", 1, supersedes="new", payload=Withdrawn("undone")),))
        seen.add(fingerprint(filled.folder, filled.trial.key))
    assert len(seen) == 3


def test_a_backup_and_an_export_make_the_same_logbook_again(
    filled: Filled, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = digest(filled.folder)
    made = back_up_logbook(filled.folder, now=NOW)
    export_logbook(filled.folder, tmp_path / "plain", now=NOW)
    monkeypatch.delenv(VARIABLE, raising=False)
    for number, source in enumerate((made.path, tmp_path / "plain")):
        restored = tmp_path / f"again{number}"
        restore_logbook(source, restored)
        assert digest(restored) == before
    lines = (tmp_path / "plain" / "entries.jsonl").read_text().split("\n")
    assert [json.loads(line)["id"] for line in lines if line] == [one.id for one in entries()]


STEPS = st.lists(
    st.tuples(st.sampled_from(["add", "again", "correct", "undo", "take in"]), st.integers(0, 9), st.integers(0, 3)),
    max_size=8,
)


@pytest.mark.slow
@settings(max_examples=8)
@given(STEPS)
def test_a_file_and_a_server_are_twins(postgres: Server, tmp_path_factory: pytest.TempPathFactory, steps: list) -> None:
    """Whatever is done, both hold the same rows and give the same answers."""
    folder = tmp_path_factory.mktemp("twins")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv(VARIABLE, postgres.ready())
        Logbook.create(folder / "server", shared=True).close()
        found = []
        for name in ("file", "server"):
            said: list[object] = []
            with Logbook.create(folder / name, clock=lambda: NOW) as book:
                book.take_in(trial(), TEXT)
                for step in steps:
                    said.append(_do(book, *step))
                    row = book.last_row_of(trial().key)
                    said.append((book.counts(trial().key), row, book.entries_since(trial().key, after=row // 2)))
                    said.append(book.last_entry(trial().key))
            said.append(digest(folder / name))
            found.append(said)
    assert found[0] == found[1]


def _do(book: Logbook, what: str, number: int, other: int) -> object:
    made: dict[str, Callable[[], object]] = {
        "add": lambda: book.add((care(f"n{number}", number), care(f"m{other}", other))),
        "again": lambda: book.add((care(f"n{number}", number + other),)),
        "correct": lambda: book.add((care(f"c{number}{other}", other, supersedes=f"n{number}"),)),
        "undo": lambda: book.add((care(f"u{number}", 1, supersedes=f"n{number}", payload=Withdrawn("undone")),)),
        "take in": lambda: book.take_in(
            trial(), TEXT + "#" * other, [care(f"t{number}", other, origin="a.csv")], file="a.csv"
        ),
    }
    try:
        return made[what]()
    except (AlreadyRecordedError, SupersededError, NoEntryError) as error:
        return str(error)


def test_the_server_keeps_the_settings_that_durability_needs(
    kept: Kept, filled: Filled, monkeypatch: pytest.MonkeyPatch
) -> None:
    if kept.server is None:
        pytest.skip("a file's settings are checked in test_book.py")
    with Logbook.open(filled.folder) as book, book._engine.connect() as connection:
        assert connection.execute(text("SHOW synchronous_commit")).scalar() == "on"
        assert connection.execute(text("SHOW lock_timeout")).scalar() == "10s"
    rows = {row.what: row for row in verify_logbook(filled.folder)}
    assert rows["database: the server writes to its disk"].verdict == "warns"  # this test's server does not
