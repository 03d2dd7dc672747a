from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest

from littoral.trial.days import NaiveTimeError
from littoral.trial.entries import Care, Dose, Note
from littoral.trial.identity import entry_id, photo_id

AT = datetime(2026, 3, 2, 12, tzinfo=UTC)


def test_an_id_is_of_what_happened():
    same = entry_id(at=AT, tank="left", payload=Care(12))
    assert same == entry_id(at=AT.astimezone(timezone(timedelta(hours=2))), tank="left", payload=Care(12))
    others = {
        entry_id(at=AT + timedelta(seconds=1), tank="left", payload=Care(12)),
        entry_id(at=AT, tank="right", payload=Care(12)),
        entry_id(at=AT, tank=None, payload=Care(12)),
        entry_id(at=AT, tank="left", payload=Care(13)),
        entry_id(at=AT, tank="left", payload=Note("12")),
        entry_id(at=AT, tank="left", payload=Care(12), occurrence=1),
        entry_id(at=AT, tank="left", payload=Dose("macro", ml=1)),
        entry_id(at=AT, tank="left", payload=Dose("macro", ml=1, given=False)),
        entry_id(at=AT, tank="left", payload=Dose("macro", ml=1), written=("1.0", "stroke")),
        entry_id(at=AT, tank="left", payload=Dose("macro", ml=1, given=False), written=("1.0", "stroke")),
    }
    assert len(others | {same}) == 11


def test_ids_stay_what_they_are_from_release_to_release():
    """Ids stand in logbooks: a change here would import every old row a second time."""
    assert entry_id(at=AT, tank="left", payload=Care(12)) == "89a26862f998a672ee16688114c48fc5"
    assert photo_id("ab" * 32, "front") == "6cd11440470ae4ebea7349e3d8130b17"


def test_a_photo_is_the_same_in_the_same_view_only():
    assert photo_id("ab" * 32, "front") != photo_id("ab" * 32, "side")
    assert photo_id("ab" * 32, "front") != photo_id("ac" * 32, "front")


def test_a_moment_without_a_zone_has_no_id():
    with pytest.raises(NaiveTimeError, match="has no zone"):
        entry_id(at=datetime(2026, 3, 2), tank="left", payload=Care(12))
