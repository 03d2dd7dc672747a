"""Many photos at once: each file has its row, doubts wait for a person, nothing acknowledged is lost."""

from __future__ import annotations

import sys
from datetime import UTC, datetime

import numpy as np
import pytest
from faults.many_photos import child, lost, new_book, write_files

# Where and when
from tests.acts.photos import photos_tried
from tests.acts.photos.photos_tried import (
    NOW,
    TEXT,
    TRIAL,
    file,
    one,
    stored,
    taken,
)
from tests.photos_made import blurred, dark, file_of, shot, with_hand

from littoral.acts.change_entry import undo_entry
from littoral.acts.photos.add_photos import TOGETHER, add_photos, files_in
from littoral.acts.photos.decide_photos import NoPhotoError, decide_photos
from littoral.acts.photos.list_photos import list_photos
from littoral.acts.photos.rows import BY_LOOK
from littoral.acts.told import Told
from littoral.acts.verify_logbook import is_whole, verify_logbook
from littoral.errors import FaultsError
from littoral.findings.measuring import measure_photos
from littoral.logbook.book import Logbook

started = photos_tried.started
folder = photos_tried.folder


@pytest.mark.parametrize("tank", ["left", "right"])
def test_the_view_is_told_by_its_look_and_waits_for_confirmation(folder, tank):
    row = one(folder, file_of(shot(tank, 5), taken=taken(5)))
    assert (row.state, row.view, row.view_by, row.doubts) == ("to decide", tank, "look", (BY_LOOK,))
    assert (stored(folder)[-1].waits, stored(folder)[-1].used) == (True, False)
    decide_photos(folder, [row.photo], "keep", now=NOW)
    assert stored(folder)[-1].used


def test_without_a_photo_to_compare_with_the_view_is_asked(tmp_path):
    with Logbook.create(tmp_path / "logbook") as book:
        book.take_in(TRIAL, TEXT)
    row = one(tmp_path / "logbook", file_of(shot("left"), taken=taken(1)))
    assert (row.state, row.asks, set(row.choices)) == ("asked", "view", {"left", "right"})
    assert one(tmp_path / "logbook", file_of(shot("left"), taken=taken(1)), view="left").state == "added"


def test_a_photo_of_something_else_is_asked_about(folder):
    row = one(folder, file_of(shot("a third tank", 3), taken=taken(3)))
    assert (row.state, row.asks) == ("asked", "view")
    assert len(stored(folder)) == 6


def test_without_a_date_it_is_asked_and_the_persons_word_counts(folder):
    data = file_of(shot("left", 4))
    row = one(folder, data, view="left")
    assert (row.state, row.asks, row.propose_when) == ("asked", "date", "")
    row = one(folder, data, view="left", told=Told(when="2026-03-06 18:05"))
    assert (row.state, row.at) == ("added", datetime(2026, 3, 6, 17, 5, tzinfo=UTC))
    assert stored(folder)[-1].dated_by == "person"


def test_the_date_in_a_file_name_is_read(folder):
    row = one(folder, file_of(shot("left", 4)), "IMG_20260306_181500.jpg", view="left")
    assert (row.state, row.at) == ("added", datetime(2026, 3, 6, 17, 15, tzinfo=UTC))


def test_a_clock_off_by_a_year_is_noticed_and_put_right_when_told(folder):
    data = file_of(shot("left", 4), taken="2025:03:06 18:00:00")
    row = one(folder, data, view="left")
    assert (row.state, row.asks, row.propose_when) == ("asked", "date", "2026-03-06 18:00")
    assert "clock wrong?" in row.said
    row = one(folder, data, view="left", clock="+1 year")
    assert (row.state, row.at) == ("added", datetime(2026, 3, 6, 17, tzinfo=UTC))
    assert "put right" in row.remarks[0]


def test_camera_and_file_name_that_disagree_are_a_doubt(folder):
    row = one(folder, file_of(shot("left", 4), taken=taken(4)), "2026-03-20_1800.jpg", view="left")
    assert row.state == "to decide"
    assert "is a clock wrong?" in row.doubts[0]


@pytest.mark.parametrize("written", ["soon", "1 year", "+1 fortnight", "+99999 d"])
def test_what_cannot_be_read_of_a_clock_is_refused(folder, written):
    with pytest.raises(FaultsError, match="clock"):
        one(folder, b"", clock=written)


# Bad photos


@pytest.mark.parametrize(
    ("spoil", "word"),
    [
        (with_hand, "in front"), (dark, "light off"), (blurred, "blurred"),
        (lambda image: np.ascontiguousarray(image[:, ::-1]), "mirrored"),
        (lambda image: shot("right", 4), "rather than"),
        (lambda image: np.ascontiguousarray(np.rot90(image)), "another shape"),
    ],
    ids=["hand", "night", "blurred", "mirrored", "other tank", "portrait"],
)  # fmt: skip
def test_a_bad_photo_is_kept_and_left_to_the_person(folder, spoil, word):
    row = one(folder, file_of(spoil(shot("left", 4)), taken=taken(4)), view="left")
    assert row.state == "to decide"
    assert any(word in doubt for doubt in row.doubts)
    (listed,) = list_photos(folder, states=("to decide",)).photos
    assert (listed.photo, listed.doubts) == (row.photo, row.doubts)


def test_a_mirrored_photo_among_many_says_what_turning_it_over_leaves(tmp_path):
    with Logbook.create(tmp_path / "logbook") as book:
        book.take_in(TRIAL, TEXT)
    files = [file(f"{day}.jpg", file_of(shot("left", day), taken=taken(day))) for day in range(3)]
    turned = np.ascontiguousarray(shot("left", 4)[:, ::-1])
    rows = add_photos(
        tmp_path / "logbook", [*files, file("m.jpg", file_of(turned, taken=taken(4)))], view="left", now=NOW
    ).rows
    assert [row.state for row in rows] == ["added"] * 3 + ["to decide"]
    (doubt,) = rows[3].doubts
    assert doubt.startswith("mirrored: left and right look swapped. Turned over it lies on an earlier photo to ")
    assert doubt.endswith("as it is, not at all")


# Doubles, order, stopping, resuming


def test_the_same_content_is_one_whatever_its_name_and_view(folder):
    data = file_of(shot("left", 4), taken=taken(4))
    done = add_photos(folder, [file("a.jpg", data), file("b.jpg", data)], view="left", now=NOW)
    assert [row.state for row in done.rows] == ["added", "duplicate"]
    assert "a.jpg" in done.rows[1].said
    again = one(folder, data, "c.jpg", view="right")
    assert (again.state, again.view) == ("duplicate", "left")
    undo_entry(folder, done.rows[0].photo, now=NOW)
    assert "stays undone" in one(folder, data, view="left").said


def test_every_file_has_its_row_in_order_and_is_acknowledged_once(folder):
    files = [file(f"{day}.jpg", file_of(shot("left", day), taken=taken(day, "19:00:00"))) for day in range(12)]
    files.insert(3, file("no.jpg", b"no"))
    said, steps = [], []
    done = add_photos(
        folder, files, view="left", now=NOW, acknowledge=said.append,
        progress=lambda at, total, what: steps.append((at, total)),
    )  # fmt: skip
    assert [row.file for row in done.rows] == [one.name for one in files]
    assert said == list(done.rows)
    assert steps == [(at, 13) for at in range(1, 14)]
    assert (done.count("added"), done.count("refused"), done.stopped) == (12, 1, False)
    assert done.words() == "13 files: 12 added, 1 refused"


def test_stopped_it_keeps_what_it_acknowledged_and_goes_on_later(folder):
    files = [file(f"{day}.jpg", file_of(shot("left", day), taken=taken(day, "19:00:00"))) for day in range(14)]
    said: list[object] = []
    done = add_photos(folder, files, view="left", now=NOW, acknowledge=said.append, stop=lambda: len(said) >= TOGETHER)
    assert done.stopped
    assert TOGETHER <= len(done.rows) < 14
    assert len(stored(folder)) == 6 + len(done.rows)
    rest = add_photos(folder, files, view="left", now=NOW)
    assert (rest.count("duplicate"), rest.count("added")) == (len(done.rows), 14 - len(done.rows))
    assert len(stored(folder)) == 20


@pytest.mark.skipif(sys.platform != "linux", reason="kills a process")
@pytest.mark.parametrize("after", [1, 19])
def test_killed_in_the_middle_nothing_acknowledged_is_lost(tmp_path, after):
    """`kill -9` right behind an acknowledgement; 3,000 files with random kills are in `make proof`."""
    write_files(tmp_path / "photos", 28)
    new_book(tmp_path / "logbook")
    said, ended = child(tmp_path / "logbook", tmp_path / "photos", die_after=after)
    assert (len(said), ended) == (after, False)
    assert lost(tmp_path / "logbook", said) == []
    rest = add_photos(tmp_path / "logbook", files_in([tmp_path / "photos"]), view="left", now=NOW)
    assert rest.count("duplicate") >= after
    assert rest.count("added") + rest.count("duplicate") == 28
    assert is_whole(verify_logbook(tmp_path / "logbook"))


# Decisions


def test_a_decision_is_an_entry_and_can_be_changed(folder):
    row = one(folder, file_of(blurred(shot("left", 4)), taken=taken(4)), view="left")
    with pytest.raises(FaultsError, match="reason"):
        decide_photos(folder, [row.photo], "set aside", now=NOW)
    done = decide_photos(folder, [row.photo], "set aside", reason="shaken", who="B", now=NOW)
    assert (done.new, done.entries[0].note, done.entries[0].who) == (1, "shaken", "B")
    assert decide_photos(folder, [row.photo], "set aside", reason="shaken", who="B", now=NOW).new == 0
    (listed,) = list_photos(folder, states=("set aside",)).photos
    assert (listed.note, listed.doubts) == ("shaken", row.doubts)
    with Logbook.open(folder) as book:
        photo = measure_photos(book, book.trial(TRIAL.key), workers=1).photos[3]
    assert (photo.excluded, photo.regions) == ("set aside by a person: shaken", ())
    decide_photos(folder, [row.photo], "keep", reason="sharp enough", now=NOW)
    assert list_photos(folder, states=("set aside", "to decide")).photos == ()


def test_a_photo_of_another_tank_is_moved_there(folder):
    row = one(folder, file_of(shot("right", 4), taken=taken(4)), view="left")
    done = decide_photos(folder, [row.photo], "other view", view="right", now=NOW)
    assert (done.entries[0].tank, done.entries[0].payload.view, done.entries[0].payload.used) == (
        "right",
        "right",
        True,
    )
    assert one(folder, file_of(shot("right", 4), taken=taken(4)), view="left").state == "duplicate"


def test_importing_the_folder_again_does_not_overrule_a_decision(folder):
    from littoral.logbook.sync import changes

    row = one(folder, file_of(shot("right", 4), taken=taken(4)), view="left")
    with Logbook.open(folder) as book:
        first, _ = book.entry(row.photo)
        decide_photos(folder, [row.photo], "other view", view="right", now=NOW)
        found = changes(book.entries_since(TRIAL.key, after=0), [first], file=None)
    assert found.added() == ()


@pytest.mark.parametrize(
    ("decision", "more", "field"),
    [("perhaps", {}, "decision"), ("other view", {"view": "lfet"}, "view"), ("other view", {}, "view")],
)
def test_what_is_no_decision_is_refused(folder, decision, more, field):
    photo = list_photos(folder).photos[0].photo
    with pytest.raises(FaultsError) as refused:
        decide_photos(folder, [photo], decision, now=NOW, **more)
    assert refused.value.faults[0].where == field
    with pytest.raises(NoPhotoError):
        decide_photos(folder, ["nothing"], "keep", now=NOW)


def test_a_photo_that_waits_is_not_measured_and_says_so(folder):
    one(folder, file_of(dark(shot("left", 4)), taken=taken(4)), view="left")
    with Logbook.open(folder) as book:
        photo = measure_photos(book, book.trial(TRIAL.key), workers=1).photos[3]
    assert photo.excluded.startswith("to decide: nearly black")


def test_repeat_shots_are_numbered(folder):
    data = [file_of(shot("left", 5, seed=n), taken=taken(5, f"18:0{n}:00")) for n in range(3)]
    data.append(file_of(shot("left", 5, seed=9), taken=taken(5, "18:30:00")))
    add_photos(folder, [file(f"{n}.jpg", one) for n, one in enumerate(data)], view="left", now=NOW)
    bursts = [photo.burst for photo in list_photos(folder, view="left").photos]
    assert bursts == [None, None, None, 1, 1, 1, None]


# Files and folders


def test_a_folder_gives_its_files_by_name_with_their_folders(tmp_path):
    (tmp_path / "shots" / "left").mkdir(parents=True)
    for name in ("left/b.jpg", "a.JPG", ".hidden.jpg", "notes.txt"):
        (tmp_path / "shots" / name).write_bytes(name.encode())
    found = files_in([tmp_path / "shots", tmp_path / "gone.jpg"])
    assert [one.name for one in found] == ["shots/a.JPG", "shots/left/b.jpg", "shots/notes.txt", "gone.jpg"]
    assert found[1].read() == b"left/b.jpg"


def test_a_file_that_is_not_there_has_its_row(folder, tmp_path):
    (row,) = add_photos(folder, files_in([tmp_path / "gone.jpg"]), view="left", now=NOW).rows
    assert (row.state, "cannot be read" in row.said) == ("refused", True)
