"""A photo that a phone sends: its original is kept as it came, its view and its moment are right, and it is one."""

from __future__ import annotations

import io
import threading
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw
from tests.photos_made import blurred, dark, file_of, shot, with_hand

from littoral.acts.add_photo import add_photo
from littoral.acts.change_entry import undo_entry
from littoral.acts.frame_photo import frames, overlay
from littoral.acts.photos.decide_photos import decide_photos
from littoral.acts.see_today import see_today
from littoral.acts.told import Told
from littoral.acts.verify_logbook import is_whole, verify_logbook
from littoral.errors import FaultsError
from littoral.logbook import originals
from littoral.logbook.book import Logbook
from littoral.trial.written.reader import read_trial

TEXT = (
    (Path(__file__).parents[1] / "trial" / "whole-trial.toml").read_text(encoding="utf-8")
    + """
[schedule]
photos = [{ on = "every day", at = "19:00" }]
"""
)
TRIAL = read_trial(TEXT, where="trial.toml")[0]
assert TRIAL is not None
NOW = datetime(2026, 3, 8, 17, 30, tzinfo=UTC)  # Sunday, 18:30 in Berlin


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    with Logbook.create(tmp_path / "logbook") as book:
        book.take_in(TRIAL, TEXT)
    return tmp_path / "logbook"


def picture(*, taken: str = "", offset: str = "", kind: str = "JPEG", shade: int = 90) -> bytes:
    """A drawn picture; `taken` and `offset` go into its EXIF."""
    image = Image.new("RGB", (640, 480), (20, shade, 60))
    ImageDraw.Draw(image).ellipse((200, 120, 420, 360), fill=(200, 80, 40))
    exif = Image.Exif()
    if taken:
        exif.get_ifd(0x8769)[0x9003] = taken
    if offset:
        exif.get_ifd(0x8769)[0x9011] = offset
    file = io.BytesIO()
    image.save(file, kind, **({"exif": exif} if kind == "JPEG" else {}))
    return file.getvalue()


def stored(folder: Path):
    with Logbook.open(folder) as book:
        return book.entries(TRIAL.key)


def test_the_original_is_kept_as_it_came_and_answers_the_plan(folder):
    data = picture()
    done = add_photo(folder, data, "left", file_name="shot.jpg", told=Told(who="A", note="lamp dimmed"), now=NOW)
    (entry,) = stored(folder)
    assert (done.new, done.entries, done.remarks) == (1, (entry,), ())
    assert (entry.at, entry.zone, entry.tank, entry.who, entry.note) == (
        NOW, "Europe/Berlin", "left", "A", "lamp dimmed",
    )  # fmt: skip
    assert (entry.payload.view, entry.payload.dated_by, entry.payload.file_name) == ("left", "phone", "shot.jpg")
    with Logbook.open(folder) as book:
        assert book.original(entry.payload.sha256).read_bytes() == data
    left, right = see_today(folder, now=NOW).trials[0].tanks
    assert {left.tank: left.tasks[0].state, right.tank: right.tasks[0].state}["left"] == "done"
    assert is_whole(verify_logbook(folder))


def test_the_moment_is_the_phones_and_not_that_of_the_sending(folder):
    told = Told(when="2026-03-06 19:04:10+01:00", zone="Europe/Lisbon")
    add_photo(folder, picture(), "left", told=told, now=NOW)
    (entry,) = stored(folder)
    assert (entry.at, entry.zone) == (datetime(2026, 3, 6, 18, 4, 10, tzinfo=UTC), "Europe/Lisbon")


@pytest.mark.parametrize(
    ("taken", "offset", "name", "at", "by", "noted"),
    [
        ("2026:03:08 18:10:00", "+01:00", "a.jpg", datetime(2026, 3, 8, 17, 10, tzinfo=UTC), "exif", ""),
        ("2026:03:04 18:10:00", "", "a.jpg", datetime(2026, 3, 4, 17, 10, tzinfo=UTC), "exif", "the camera's date"),
        ("1999:01:01 00:00:00", "", "a.jpg", NOW, "phone", "before the year 2000"),
        ("", "", "IMG_20260304_181000.jpg", datetime(2026, 3, 4, 17, 10, tzinfo=UTC), "file name", ""),
        ("", "", "IMG_20260308_120000.jpg", NOW, "phone", ""),
    ],
)
def test_the_photos_own_date_comes_first(folder, taken, offset, name, at, by, noted):
    add_photo(folder, picture(taken=taken, offset=offset), "left", file_name=name, now=NOW)
    (entry,) = stored(folder)
    assert (entry.at, entry.payload.dated_by) == (at, by)
    assert noted in entry.note
    assert bool(noted) == bool(entry.note)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF", "WEBP"])
def test_the_four_formats_are_taken(folder, kind):
    add_photo(folder, picture(kind=kind), "left", now=NOW)
    (entry,) = stored(folder)
    with Logbook.open(folder) as book:
        assert book.original(entry.payload.sha256).is_file()


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "empty"),
        (b"GIF89a" + bytes(200), "a GIF"),
        (b"<html><script>alert(1)</script></html>", "a web page"),
        (bytes(5000), "zeros"),
        (picture()[:4000], "cut short"),
        (picture(kind="PNG")[:900], "cut short"),
    ],
)
def test_what_is_no_whole_image_is_refused_and_nothing_is_kept(folder, data, said):
    with pytest.raises(FaultsError) as refused:
        add_photo(folder, data, "left", now=NOW)
    (fault,) = refused.value.faults
    assert fault.where == "photo"
    assert said in fault.right
    assert stored(folder) == ()
    assert not list(folder.glob("originals/*/*"))


def test_every_wrong_field_is_named_at_once(folder):
    told = Told(when="2026-03-09 10:00", zone="Nowhere/Land", id="x", who="a" * 5000)
    with pytest.raises(FaultsError) as refused:
        add_photo(folder, b"no", "lfet", told=told, now=NOW)
    assert {fault.where for fault in refused.value.faults} == {"photo", "view", "when", "zone", "id", "who"}


def test_a_photo_from_before_the_trial_is_refused(folder):
    with pytest.raises(FaultsError, match="by the photo itself"):
        add_photo(folder, picture(taken="2025:06:01 12:00:00"), "left", now=NOW)
    assert not list(folder.glob("originals/*/*"))


def test_sent_twice_it_is_one(folder):
    first = add_photo(folder, picture(), "left", told=Told(when="2026-03-06 19:04"), now=NOW)
    again = add_photo(folder, picture(), "left", file_name="other.jpg", now=NOW + timedelta(hours=1))
    assert (first.new, again.new, again.entries) == (1, 0, first.entries)
    assert "already" in again.remarks[0]
    assert len(stored(folder)) == 1


def test_sent_by_two_at_once_it_is_one(folder):
    done, start = [], threading.Barrier(4)

    def send() -> None:
        start.wait()
        done.append(add_photo(folder, picture(), "left", file_name="a.jpg", now=NOW).new)

    threads = [threading.Thread(target=send) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(done) == [0, 0, 0, 1]
    assert len(stored(folder)) == 1


def test_undone_it_stays_undone_when_it_is_sent_again(folder):
    done = add_photo(folder, picture(), "left", now=NOW)
    undo_entry(folder, done.entries[0].id, now=NOW)
    again = add_photo(folder, picture(), "left", now=NOW)
    assert (again.new, stored(folder)) == (0, ())
    assert "undone" in again.remarks[0]


def test_cut_off_between_file_and_row_it_is_whole_after_the_next_try(folder):
    data = picture()
    originals.keep(folder, data, ".jpg")  # what a crash right after the copy leaves
    assert add_photo(folder, data, "left", now=NOW).new == 1
    with Logbook.open(folder) as book:
        assert book.original(originals.sha256_of(data)).read_bytes() == data


def test_a_file_name_names_no_path(folder):
    add_photo(folder, picture(), "left", file_name="..\\../../etc/pass\nwd.jpg", now=NOW)
    (entry,) = stored(folder)
    assert entry.payload.file_name == "passwd.jpg"


def test_the_overlay_is_the_last_photo_of_the_view(folder):
    assert overlay(folder, TRIAL.key, "left") is None
    add_photo(folder, picture(shade=40), "left", told=Told(when="2026-03-08 10:00"), now=NOW)
    add_photo(folder, picture(shade=200), "left", told=Told(when="2026-03-07 10:00"), now=NOW)
    _, (frame, *_) = frames(folder, TRIAL.key)
    assert (frame.view, frame.tanks, frame.last_at) == ("left", ("left",), datetime(2026, 3, 8, 9, tzinfo=UTC))
    shown = Image.open(io.BytesIO(overlay(folder, TRIAL.key, "left")))
    assert shown.size == (640, 480)
    assert abs(shown.getpixel((5, 5))[1] - 40) < 6


def test_a_photo_sent_again_puts_back_an_original_that_got_lost(folder):
    data = picture()
    add_photo(folder, data, "left", now=NOW)
    (entry,) = stored(folder)
    with Logbook.open(folder) as book:
        book.original(entry.payload.sha256).unlink()
    assert not is_whole(verify_logbook(folder))
    assert add_photo(folder, data, "left", now=NOW).new == 0
    assert is_whole(verify_logbook(folder))


@pytest.mark.parametrize(
    ("spoil", "word"),
    [
        (dark, "light off"), (blurred, "blurred"), (with_hand, "in front"),
        (lambda image: np.ascontiguousarray(image[:, ::-1]), "mirrored"),
    ],
    ids=["night", "blurred", "hand", "mirrored"],
)  # fmt: skip
def test_a_doubtful_photo_waits_as_one_of_many_does_and_can_be_kept_or_set_aside(folder, spoil, word):
    for day in range(3):
        add_photo(folder, file_of(shot("left", day)), "left", told=Told(when=f"2026-03-0{day + 3} 18:00"), now=NOW)
    done = add_photo(folder, file_of(spoil(shot("left", 4))), "left", told=Told(when="2026-03-07 18:00"), now=NOW)
    assert (done.new, len(done.doubts)) == (1, 1)
    assert word in done.as_json()["doubts"][0]
    assert stored(folder)[-1].payload.waits
    kept = decide_photos(folder, [done.entries[0].id], "keep", now=NOW)
    assert kept.as_json()["doubts"] == []
    assert stored(folder)[-1].payload.used


def test_a_phones_own_format_is_taken_as_it_is(folder):
    data = file_of(shot("left", 1), kind="HEIC")
    done = add_photo(folder, data, "left", file_name="IMG_7.heic", now=NOW)
    assert (done.doubts, done.entries[0].payload.file_name) == ((), "IMG_7.heic")
    with Logbook.open(folder) as book:
        assert book.original(originals.sha256_of(data)).suffix == ".heic"
