"""A day of a long logbook is found by index and date, and read through a fresh connection as it was written."""

from __future__ import annotations

import dataclasses
import threading
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import event

from littoral.errors import FaultsError
from littoral.logbook.book import Logbook
from littoral.logbook.changed_entries import AlreadyRecordedError, NoEntryError, SupersededError
from littoral.logbook.refused import NoTrialError
from littoral.trial.days import instant_of
from littoral.trial.entries import Care, Dose, Entry, Note, Payload, Withdrawn
from littoral.trial.written.reader import read_trial
from littoral.trial.written.starting import starting_text

TEXT = starting_text(title="Two ways of feeding", start="2026-03-02")
PARSED, _FAULTS = read_trial(TEXT, where="trial.toml")
assert PARSED is not None
TRIAL = PARSED
TANK = next(iter(TRIAL.tanks))
ALWAYS = datetime(2026, 1, 1, tzinfo=UTC), datetime(2027, 1, 1, tzinfo=UTC)


def made(identity: str, day: float, payload: Payload, **more: object) -> Entry:
    entry = Entry(id=identity, at=instant_of(day, TRIAL), zone=TRIAL.zone, tank=TANK, payload=payload, trial=TRIAL.key)
    return dataclasses.replace(entry, **more)


@pytest.fixture
def book(tmp_path: Path) -> Logbook:
    with Logbook.create(tmp_path / "logbook") as book:
        book.take_in(TRIAL, TEXT)
        yield book


def test_a_range_is_half_open_and_holds_only_what_is_in_force(book: Logbook) -> None:
    entries = [made(str(day), float(day), Care(float(day))) for day in range(1, 6)]
    book.add(entries)
    book.add([made("c", 3.0, Care(33.0), supersedes="3"), made("w", 4.0, Withdrawn("undone"), supersedes="4")])
    with Logbook.open(book.folder) as fresh:
        found = fresh.entries_within(TRIAL.key, instant_of(2.0, TRIAL), instant_of(5.0, TRIAL))
        assert [entry.id for entry in found] == ["2", "c"]
        assert fresh.entries_within(TRIAL.key, *ALWAYS) == fresh.entries(TRIAL.key)
        with pytest.raises(NoTrialError):
            fresh.entries_within("x", *ALWAYS)


def test_no_table_is_read_whole_for_a_day(book: Logbook) -> None:
    statements: list[tuple[str, tuple[object, ...]]] = []

    @event.listens_for(book._engine, "before_cursor_execute")
    def note(_c: object, _cursor: object, statement: str, parameters: tuple[object, ...], *_: object) -> None:
        statements.append((statement, parameters))

    book.entries_within(TRIAL.key, *ALWAYS)
    book.clock_behind(TRIAL.key)
    book.add([made("a", 1.0, Care(1.0))])
    book.add([made("b", 1.0, Care(2.0), supersedes="a")])
    asked = [(sql, parameters) for sql, parameters in statements if "FROM entry" in sql]
    assert len(asked) >= 5
    with book._engine.connect() as connection:
        for sql, parameters in asked:
            plan = [row[-1] for row in connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {sql}", parameters)]
            assert not [line for line in plan if line.startswith("SCAN")], (sql, plan)


def test_adding_is_all_or_nothing_and_never_over_another(book: Logbook) -> None:
    one = made("a", 1.0, Care(1.0))
    assert book.add([one]) == (one,)
    assert book.add([dataclasses.replace(one, at=one.at + timedelta(minutes=1))]) == ()  # sent again a minute later
    with pytest.raises(AlreadyRecordedError, match="the id a belongs to another entry") as caught:
        book.add([made("b", 1.0, Note("good")), made("a", 1.0, Care(2.0))])
    assert caught.value.there == one
    with pytest.raises(FaultsError, match="nowhere"):
        book.add([made("b", 1.0, Note("good")), made("c", 1.0, Dose("nowhere", ml=1.0))])
    with pytest.raises(NoEntryError, match="no entry 'x'"):
        book.add([made("b", 1.0, Care(2.0), supersedes="x")])
    with pytest.raises(NoEntryError):
        book.entry("b")
    assert book.entry("a") == (one, None)
    newer = made("b", 1.0, Care(2.0), supersedes="a")
    book.add([newer])
    assert book.entry("a") == (one, newer)
    with pytest.raises(SupersededError, match="changed already, by somebody with b") as late:
        book.add([made("c", 1.0, Care(3.0), supersedes="a")])
    assert late.value.ahead == newer


def test_of_two_corrections_at_once_one_is_kept_and_the_other_told(book: Logbook) -> None:
    book.add([made("a", 1.0, Care(1.0))])
    barrier = threading.Barrier(2)
    refused: list[str] = []

    def correct(name: str) -> None:
        with Logbook.open(book.folder) as own:
            barrier.wait()
            try:
                own.add([made(name, 1.0, Care(2.0), supersedes="a")])
            except SupersededError as error:
                refused.append(error.ahead.id)

    threads = [threading.Thread(target=correct, args=(name,)) for name in ("b", "c")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    (kept,) = book.entries(TRIAL.key)
    assert refused == [kept.id]


@settings(deadline=None, max_examples=25)
@given(days=st.lists(st.floats(0, 55), max_size=12), low=st.floats(0, 55), length=st.floats(0, 20))
def test_what_is_found_is_what_reading_everything_finds(tmp_path_factory, days, low, length) -> None:
    folder = tmp_path_factory.mktemp("book")
    first, until = instant_of(low, TRIAL), instant_of(min(low + length, 56.0), TRIAL)
    with Logbook.create(folder) as book:
        book.take_in(TRIAL, TEXT, [made(str(place), day, Care(1.0)) for place, day in enumerate(days)])
        slow = tuple(entry for entry in book.entries(TRIAL.key) if first <= entry.at < until)
        assert book.entries_within(TRIAL.key, first, until) == slow
