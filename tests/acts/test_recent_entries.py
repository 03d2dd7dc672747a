"""The entries that are kept and added to, against reading them all, through every way that entries come."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from littoral.acts.recent_entries import merged, recent_entries
from littoral.logbook.book import Logbook
from littoral.logbook.rows import in_force
from littoral.trial.entries import Entry, Note, Withdrawn

AT = datetime(2026, 3, 8, tzinfo=UTC)
FIRST, UNTIL = AT - timedelta(hours=5), AT + timedelta(hours=5)


def test_what_is_kept_is_what_is_read(filled):
    with Logbook.open(filled.folder) as book:
        key = book.trials()[0]
        entry = next(one for one in book.entries(key) if one.tank is not None)
        first, until = entry.at - timedelta(days=3), entry.at + timedelta(days=3)

        def hold() -> None:
            assert recent_entries(book, key, first, until) == book.entries_within(key, first, until)

        hold()
        made = replace(entry, payload=Note("x"), origin="", supersedes=None)
        for step in (
            replace(made, id="r1"),
            replace(made, id="r2", at=entry.at + timedelta(days=9)),
            replace(made, id="r3", supersedes="r1", at=entry.at + timedelta(hours=1)),
            replace(made, id="r4", supersedes="r3", payload=Withdrawn("gone")),
            replace(made, id="r5", supersedes="r4"),
            replace(made, id="r6", supersedes="r5", at=entry.at + timedelta(days=10)),
            replace(made, id="r7", supersedes=entry.id),
        ):
            book.add((step,))
            hold()
            hold()


@given(
    steps=st.lists(st.tuples(st.integers(-8, 8), st.none() | st.integers(0, 30), st.booleans()), max_size=25),
    cut=st.integers(0, 25), seen_more=st.integers(0, 5),
)  # fmt: skip
@settings(deadline=None)
def test_any_stream_cut_anywhere_comes_to_the_same(steps, cut, seen_more):
    stream: list[Entry] = []
    for number, (hours, of, withdrawn) in enumerate(steps):
        open_ones = [one.id for one in stream if one.id not in {other.supersedes for other in stream}]
        supersedes = open_ones[of % len(open_ones)] if of is not None and open_ones else None
        payload = Withdrawn("gone") if withdrawn and supersedes else Note(str(number))
        stream.append(Entry(str(number), AT + timedelta(hours=hours), "UTC", "left", payload, supersedes=supersedes))

    def within(entries: list[Entry]) -> tuple[Entry, ...]:
        found = (one for one in in_force(tuple(entries)) if FIRST <= one.at < UNTIL)
        return tuple(sorted(found, key=lambda one: (one.at, one.id)))

    # what was read first may hold some that came after the row that was noted
    kept = within(stream[: cut + seen_more])
    assert merged(kept, stream[cut:], first=FIRST, until=UNTIL) == within(stream)


def test_another_logbook_in_the_same_place_is_read_anew(tmp_path: Path, filled):
    with Logbook.open(filled.folder) as book:
        key = book.trials()[0]
        entry = next(one for one in book.entries(key) if one.tank is not None)
        span = entry.at - timedelta(days=1), entry.at + timedelta(days=1)
        assert entry in recent_entries(book, key, *span)
        text, trial = book.trial_text(key), book.trial(key)
    filled.folder.rename(tmp_path / "away")
    with Logbook.create(filled.folder) as book:
        book.take_in(trial, text)
        assert recent_entries(book, key, *span) == ()
