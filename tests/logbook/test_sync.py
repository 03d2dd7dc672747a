"""Reading a file again: what is new, corrected, withdrawn, and back; nothing twice, nothing lost."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from hypothesis import given
from hypothesis import strategies as st

from littoral.logbook.rows import in_force
from littoral.logbook.sync import Changes, changes
from littoral.trial.entries import Care, Dose, Entry, Note, Payload, Photo, Withdrawn

AT = datetime(2026, 3, 8, 12, tzinfo=UTC)
FILE = "entries.csv"


def row(identity: str, payload: Payload, **more: object) -> Entry:
    entry = Entry(identity, AT, "UTC", "left", payload, trial="small", origin=FILE)
    return replace(entry, **more)  # type: ignore[arg-type]


class Kept:
    """A logbook's entries of one trial, and the reading of its files."""

    def __init__(self) -> None:
        self.stored: tuple[Entry, ...] = ()

    def read(self, *read: Entry, file: str | None = FILE) -> Changes:
        found = changes(self.stored, read, file=file)
        self.stored += found.added()
        assert len({entry.id for entry in self.stored}) == len(self.stored)
        assert changes(self.stored, read, file=file) == Changes()
        return found

    def holds(self) -> list[Payload]:
        return [entry.payload for entry in in_force(self.stored)]


def counts(found: Changes) -> tuple[int, int, int]:
    return len(found.new), len(found.corrected), len(found.withdrawn)


def test_a_new_calibration_corrects_and_can_be_taken_back_and_forth() -> None:
    kept = Kept()
    assert counts(kept.read(row("a", Dose("macro", ml=2.0)))) == (1, 0, 0)
    for ml in (2.2, 2.0, 2.2, 2.0):
        found = kept.read(row("a", Dose("macro", ml=ml)))
        assert counts(found) == (0, 1, 0)
        assert kept.holds() == [Dose("macro", ml=ml)]
    assert len(kept.stored) == 5


def test_a_row_that_is_gone_is_withdrawn_and_comes_back_when_it_does() -> None:
    kept = Kept()
    kept.read(row("a", Care(12)), row("b", Care(5)))
    for _ in range(2):
        found = kept.read(row("b", Care(5)))
        assert counts(found) == (0, 0, 1)
        assert found.withdrawn[0].payload == Withdrawn("no longer in entries.csv")
        assert kept.holds() == [Care(5)]
        assert counts(kept.read(row("a", Care(12)), row("b", Care(5)))) == (1, 0, 0)
        assert sorted(kept.holds(), key=str) == [Care(12), Care(5)]


def test_a_corrected_row_that_is_gone_is_withdrawn_once() -> None:
    kept = Kept()
    kept.read(row("a", Dose("macro", ml=2.0)))
    kept.read(row("a", Dose("macro", ml=2.2)))
    assert counts(kept.read()) == (0, 0, 1)
    assert kept.holds() == []


def test_another_file_withdraws_nothing_of_this_one_and_doubles_nothing() -> None:
    kept = Kept()
    kept.read(row("a", Care(12)))
    other = row("b", Care(5), origin="more.csv")
    assert counts(kept.read(other, row("a", Care(12), origin="more.csv"), file="more.csv")) == (1, 0, 0)
    assert counts(kept.read(file=None)) == (0, 0, 0)
    assert counts(kept.read(file="more.csv")) == (0, 0, 1)
    assert kept.holds() == [Care(12)]


def test_photos_are_never_withdrawn_and_a_better_date_corrects() -> None:
    kept = Kept()
    photo = row("p", Photo("ab" * 32, "left", "file name", "2026-03-08.jpg"), origin="")
    twin = replace(photo, payload=Photo("ab" * 32, "left", "file name", "copy of 2026-03-08.jpg"))
    assert counts(kept.read(photo, twin)) == (1, 0, 0)
    assert counts(kept.read(twin)) == (0, 0, 0)
    assert counts(kept.read()) == (0, 0, 0)
    assert counts(kept.read(replace(photo, at=AT + timedelta(days=1)))) == (0, 1, 0)
    assert [entry.at for entry in in_force(kept.stored)] == [AT + timedelta(days=1)]


def test_what_was_corrected_by_hand_in_the_logbook_stands() -> None:
    kept = Kept()
    kept.read(row("a", Care(120)))
    kept.stored += (row("hand", Care(12), origin="", supersedes="a"),)
    assert counts(kept.read(row("a", Care(120)))) == (0, 0, 0)
    assert counts(kept.read()) == (0, 0, 0)
    assert kept.holds() == [Care(12)]


@given(st.lists(st.dictionaries(st.sampled_from("abcd"), st.integers(1, 3)), max_size=6))
def test_after_every_reading_the_logbook_holds_what_the_file_says(readings: list[dict[str, int]]) -> None:
    kept = Kept()
    for said in readings:
        before = kept.stored
        kept.read(*(row(key, Note(f"{key}{amount}")) for key, amount in said.items()))
        assert sorted(payload.text for payload in kept.holds() if isinstance(payload, Note)) == sorted(
            f"{key}{amount}" for key, amount in said.items()
        )
        assert kept.stored[: len(before)] == before
