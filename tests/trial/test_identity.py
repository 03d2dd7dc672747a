from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest

from littoral.trial.days import NaiveTimeError
from littoral.trial.entries import Care, Dose, Note, Trim, Withdrawn
from littoral.trial.identity import entry_id, next_id, photo_id

AT = datetime(2026, 3, 2, 12, tzinfo=UTC)


def test_an_id_is_of_what_happened():
    same = entry_id(trial="small", at=AT, tank="left", payload=Care(12))
    assert same == entry_id(
        trial="small", at=AT.astimezone(timezone(timedelta(hours=2))), tank="left", payload=Care(12)
    )
    others = {
        entry_id(trial="other", at=AT, tank="left", payload=Care(12)),
        entry_id(trial="small", at=AT + timedelta(seconds=1), tank="left", payload=Care(12)),
        entry_id(trial="small", at=AT, tank="right", payload=Care(12)),
        entry_id(trial="small", at=AT, tank=None, payload=Care(12)),
        entry_id(trial="small", at=AT, tank="left", payload=Care(13)),
        entry_id(trial="small", at=AT, tank="left", payload=Note("12")),
        entry_id(trial="small", at=AT, tank="left", payload=Care(12), occurrence=1),
        entry_id(trial="small", at=AT, tank="left", payload=Dose("macro", ml=1)),
        entry_id(trial="small", at=AT, tank="left", payload=Dose("macro", ml=1, given=False)),
        entry_id(trial="small", at=AT, tank="left", payload=Dose("macro", ml=1), written=("1.0", "stroke")),
        entry_id(
            trial="small", at=AT, tank="left", payload=Dose("macro", ml=1, given=False), written=("1.0", "stroke")
        ),
    }
    assert len(others | {same}) == 12


def test_ids_stay_what_they_are_from_release_to_release():
    """Ids stand in logbooks: a change here would import every old row a second time."""
    assert entry_id(trial="small", at=AT, tank="left", payload=Care(12)) == "78126b83e1f9e9c1b59800621042fb59"
    assert photo_id("ab" * 32, "front", trial="small") == "dc3b7f436a159c384d0ac08de0591ee7"


def test_what_takes_the_place_of_another_has_an_id_of_both():
    ids = {next_id("a", Care(12)), next_id("b", Care(12)), next_id("a", Care(13)), next_id("a", Withdrawn("x"))}
    assert len(ids) == 4


def test_a_photo_is_the_same_in_the_same_view_of_the_same_trial_only():
    assert photo_id("ab" * 32, "front", trial="small") != photo_id("ab" * 32, "front", trial="other")
    assert photo_id("ab" * 32, "front", trial="small") != photo_id("ab" * 32, "side", trial="small")
    assert photo_id("ab" * 32, "front", trial="small") != photo_id("ac" * 32, "front", trial="small")


def test_a_moment_without_a_zone_has_no_id():
    with pytest.raises(NaiveTimeError, match="has no zone"):
        entry_id(trial="small", at=datetime(2026, 3, 2), tank="left", payload=Care(12))


def test_fields_that_came_later_do_not_change_ids_while_they_say_nothing():
    """The ids are those that the version before these fields made."""
    trim = Trim("red", left_cm=9.0)
    assert entry_id(trial="small", at=AT, tank="left", payload=trim) == "8b1bffad0e84c7fc8be76556d495ae40"
    assert next_id("a", Dose("macro", ml=1.0)) == "1deb1d0d79f49c79acd7999ee2336fc3"
    timed = Trim("red", left_cm=9.0, minutes=6.0)
    assert entry_id(trial="small", at=AT, tank="left", payload=timed) != "8b1bffad0e84c7fc8be76556d495ae40"
