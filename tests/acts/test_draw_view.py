"""Drawing a view through the logbook: kept as an entry, held from its day on, undone, and measured by."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from littoral.acts.change_entry import NotCorrectableError, correct_entry, undo_entry
from littoral.acts.draw_view import draw_view, propose_corners, see_view, view_picture
from littoral.acts.see_entries import see_entry
from littoral.errors import FaultsError
from littoral.findings.measuring import measure_photos
from littoral.logbook.book import Logbook

TRIAL, VIEW, STAND = "sparing-or-full", "left", "red-stem"


@pytest.fixture
def logbook(small_demo, tmp_path: Path) -> Path:
    with Logbook.open(small_demo.logbook) as book:
        measure_photos(book, book.trial(TRIAL))  # once for all tests; what is drawn here is measured in a copy
    return Path(shutil.copytree(small_demo.logbook, tmp_path / "logbook"))


def moved(panes: dict, by: float) -> str:
    """The first stand pushed to the side."""
    said = json.loads(json.dumps(panes))
    for point in said["left"]["regions"][0]["polygon"]:
        point[0] += by
    return json.dumps(said)


def covers(logbook: Path) -> dict[float, float]:
    with Logbook.open(logbook) as book:
        measured = measure_photos(book, book.trial(TRIAL), workers=1)
    return {
        photo.day: region.cover
        for photo in measured.photos
        if photo.view == VIEW
        for region in photo.regions
        if region.region == STAND and region.cover is not None
    }


def test_a_drawing_from_a_day_on_measures_those_days_anew_and_no_others(logbook: Path) -> None:
    before = covers(logbook)
    seen = see_view(logbook, TRIAL, VIEW)
    done = draw_view(logbook, TRIAL, VIEW, moved(seen.panes, 25), from_day=14)
    assert done.new == 1
    after = covers(logbook)
    assert {day for day in before if before[day] != after[day]} == {day for day in before if day >= 14}
    again = see_view(logbook, TRIAL, VIEW)
    assert again.from_day == 14
    assert again.since == ((None, None), (14.0, done.entries[0].id))
    assert see_view(logbook, TRIAL, VIEW, day=3).panes == seen.panes
    undo_entry(logbook, done.entries[0].id)
    assert covers(logbook) == before
    assert see_view(logbook, TRIAL, VIEW).panes == seen.panes


def test_the_same_drawing_twice_is_one_and_a_new_one_can_be_undone_only(logbook: Path) -> None:
    seen = see_view(logbook, TRIAL, VIEW)
    assert draw_view(logbook, TRIAL, VIEW, json.dumps(seen.panes)).new == 0
    done = draw_view(logbook, TRIAL, VIEW, moved(seen.panes, 5))
    assert draw_view(logbook, TRIAL, VIEW, moved(seen.panes, 5)).new == 0
    assert "left tank, front drawn anew, for the whole trial" in see_entry(logbook, done.entries[0].id).entry.words
    with pytest.raises(NotCorrectableError, match="Draw the view anew"):
        correct_entry(logbook, done.entries[0].id, note="better")


@pytest.mark.parametrize(("from_day", "view"), [(-1, VIEW), (1e6, VIEW), (0, "ceiling")])
def test_what_cannot_be_is_refused_and_nothing_is_written(logbook: Path, from_day: float, view: str) -> None:
    seen = see_view(logbook, TRIAL, VIEW)
    with pytest.raises(FaultsError):
        draw_view(logbook, TRIAL, view, moved(seen.panes, 5), from_day=from_day)
    assert see_view(logbook, TRIAL, VIEW).since == ((None, None),)


def test_the_photo_to_draw_on_is_the_aligned_one_once_there_is_one(logbook: Path) -> None:
    first = see_view(logbook, TRIAL, VIEW).photos[0].entry
    shutil.move(logbook / "cache", logbook / "aside")
    as_taken = view_picture(logbook, TRIAL, VIEW, first)
    shutil.move(logbook / "aside", logbook / "cache")
    aligned = view_picture(logbook, TRIAL, VIEW, first)
    assert as_taken is not None
    assert aligned not in (None, as_taken)
    assert view_picture(logbook, TRIAL, VIEW, "no such photo") is None


def test_corners_are_proposed_near_where_the_demo_drew_the_glass(logbook: Path) -> None:
    seen = see_view(logbook, TRIAL, VIEW)
    truth = seen.panes["left"]["corners"]
    found = propose_corners(logbook, TRIAL, VIEW, seen.photos[0].entry, tanks=1)
    assert len(found) == 1
    off = max(abs(a - b) for one, other in zip(found[0], truth, strict=True) for a, b in zip(one, other, strict=True))
    assert off < 0.03 * seen.view.frame_px[0]  # a phone held by hand frames each photo anew by up to 2 %
