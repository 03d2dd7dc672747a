"""Corrections and undoing: what was there before stays, and comes back."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from tests.acts import record_tried
from tests.acts.record_tried import NOW, rows, stored

from littoral.acts import record_entry as acts
from littoral.acts.change_entry import NotCorrectableError, correct_entry, undo_entry
from littoral.acts.see_today import see_today
from littoral.acts.told import Told
from littoral.logbook.book import Logbook
from littoral.logbook.changed_entries import NoEntryError, SupersededError
from littoral.trial.entries import (
    Care,
    Dose,
    Note,
)

folder = record_tried.folder


def test_a_correction_takes_the_place_and_both_stay(folder):
    (old,) = acts.record_dose(folder, "left", "macro", "2 strokes", told=Told(who="A"), now=NOW).entries
    later = NOW + timedelta(hours=1)
    new = correct_entry(folder, old.id, amount="3 strokes", who="B", now=later)
    assert (new.new, rows(folder)) == (1, 2)
    (entry,) = stored(folder)
    assert (entry.payload.ml, entry.at, entry.who, entry.supersedes) == (pytest.approx(3.3), NOW, "B", old.id)
    assert correct_entry(folder, old.id, amount="3 strokes", who="B", now=later).new == 0
    with pytest.raises(SupersededError, match="was changed already, by B"):
        correct_entry(folder, old.id, amount="4 strokes", now=later)
    again = correct_entry(folder, entry.id, when="18:05", note="by daylight", tank="right", now=later)
    (entry,) = stored(folder)
    assert again.entries == (entry,)
    assert (entry.at, entry.tank, entry.note) == (datetime(2026, 3, 8, 17, 5, tzinfo=UTC), "right", "by daylight")
    assert entry.payload.written == "3 strokes"


def test_a_bottle_is_known_by_the_name_that_pages_show(folder):
    (old,) = acts.record_dose(folder, "left", "macro", "2 strokes", now=NOW).entries
    with Logbook.open(folder) as book:
        name = book.trial(old.trial).bottles["macro"].name
    assert name != "macro"
    (new,) = correct_entry(folder, old.id, what=name.upper(), amount="3 strokes", now=NOW).entries
    assert isinstance(new.payload, Dose)
    assert new.payload.of == "macro"


def test_undoing_brings_back_what_was_before(folder):
    (old,) = acts.record_care(folder, "left", "120 min", now=NOW).entries
    (mended,) = correct_entry(folder, old.id, amount="12 min", now=NOW).entries
    (back,) = undo_entry(folder, mended.id, now=NOW).entries
    assert [one.payload for one in stored(folder)] == [Care(120)]
    (gone,) = undo_entry(folder, back.id, now=NOW).entries
    assert [one.payload for one in stored(folder)] == [Care(12)]  # what `back` had taken the place of holds again
    assert stored(folder) == (gone,)
    with pytest.raises(SupersededError):
        undo_entry(folder, old.id, now=NOW)


def test_undoing_twice_is_once_and_an_undone_undo_is_seen(folder):
    (old,) = acts.record_note(folder, "left", "wrong tank", now=NOW).entries
    assert undo_entry(folder, old.id, now=NOW).new == 1
    (gone,) = undo_entry(folder, old.id, now=NOW).entries
    assert (stored(folder), rows(folder)) == ((), 2)
    with pytest.raises(NotCorrectableError, match="undo it to bring that one back"):
        correct_entry(folder, gone.id, note="x", now=NOW)
    undo_entry(folder, gone.id, now=NOW)
    assert [one.payload for one in stored(folder)] == [Note("wrong tank")]
    with pytest.raises(SupersededError):
        undo_entry(folder, old.id, now=NOW)
    with pytest.raises(NoEntryError, match="no entry 'x'"):
        undo_entry(folder, "x", now=NOW)


def test_a_note_is_corrected_by_its_text(folder):
    (old,) = acts.record_note(folder, "left", "leafs", now=NOW).entries
    correct_entry(folder, old.id, note="leaves", now=NOW)
    assert [one.payload for one in stored(folder)] == [Note("leaves")]


def test_a_clock_that_was_put_back_is_remarked_on(folder):
    acts.record_care(folder, "left", "1 min", now=NOW)
    assert acts.record_care(folder, "left", "2 min", now=NOW - timedelta(minutes=4)).remarks == ()
    remarks = acts.record_care(folder, "left", "3 min", now=NOW - timedelta(hours=3)).remarks
    assert remarks == ("Entries here were written down as late as 2026-03-08 18:30: is this computer's clock slow?",)
    assert len(stored(folder)) == 3  # nothing is lost for it
    assert see_today(folder, now=NOW - timedelta(hours=3)).remarks != ()
