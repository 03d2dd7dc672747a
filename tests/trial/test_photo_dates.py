from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.errors import Fault
from littoral.trial.photo_dates import NamedTime, PhotoDate, date_photo, time_in_name
from littoral.trial.written.reader import read_trial

TRIAL = read_trial((Path(__file__).parent / "whole-trial.toml").read_text(encoding="utf-8"), where="")[0]
assert TRIAL is not None  # its zone is Europe/Berlin
NOW = datetime(2026, 11, 20, 12, tzinfo=UTC)


def dated(name: str, taken: datetime | None = None, offset: timedelta | None = None) -> PhotoDate | Fault:
    return date_photo(name, exif_taken=taken, exif_offset=offset, trial=TRIAL, now=NOW, where=name)


@pytest.mark.parametrize(
    ("name", "local"),
    [
        ("2019-10-22-11-05_plant11.jpg", (2019, 10, 22, 11, 5)),
        ("2024-01-01T0200.png", (2024, 1, 1, 2, 0)),
        ("IMG_20260302_181500.jpg", (2026, 3, 2, 18, 15)),
        ("PXL_20260302_181507123.jpg", (2026, 3, 2, 18, 15, 7)),
        ("2026-03-02 18.15.00.jpg", (2026, 3, 2, 18, 15)),
        ("2026-03-02_18-15.jpg", (2026, 3, 2, 18, 15)),
        ("left 2026.03.02.jpg", (2026, 3, 2, 12, 0)),
        ("2026-03-02.jpg", (2026, 3, 2, 12, 0)),
        ("2026-03-02_1.jpg", (2026, 3, 2, 12, 0)),
        ("20260302.jpg", (2026, 3, 2, 12, 0)),
        ("2026-03-02_again_2026-03-02.jpg", (2026, 3, 2, 12, 0)),
    ],
)
def test_times_in_file_names(name, local):
    named = time_in_name(name)
    assert named is not None
    assert named.local == datetime(*local)


@pytest.mark.parametrize(
    "name",
    [
        "left.jpg",
        "GN2_5519.JPG",
        "02-03-2026.jpg",
        "2026-03-02_2026-03-03.jpg",
        "2026-02-30.jpg",
        "2026-0302.jpg",
        "1612101530123.jpg",
        "20260302_251500.jpg",
        "120260302.jpg",
    ],
)
def test_names_that_state_no_one_day_are_not_read(name):
    assert time_in_name(name) is None


@given(st.datetimes(datetime(2000, 1, 1), datetime(2100, 1, 1)))
def test_a_time_written_into_a_name_is_found_again(local):
    for form in ("%Y-%m-%d-%H-%M-%S", "IMG_%Y%m%d_%H%M%S", "%Y-%m-%dT%H%M%S", "%Y-%m-%d %H.%M.%S"):
        assert time_in_name(local.strftime(form) + "_a.jpg") == NamedTime(local.replace(microsecond=0), False)


def test_the_camera_is_asked_first():
    assert dated("2026-03-02.jpg", datetime(2026, 3, 2, 18, 15)) == PhotoDate(
        datetime(2026, 3, 2, 17, 15, tzinfo=UTC), "exif"
    )
    assert dated("a.jpg", datetime(2026, 3, 2, 18, 15), timedelta(hours=-5)) == PhotoDate(
        datetime(2026, 3, 2, 23, 15, tzinfo=UTC), "exif"
    )
    damaged = dated("a.jpg", datetime(2026, 3, 2, 18, 15), timedelta(hours=-55))
    assert damaged == PhotoDate(datetime(2026, 3, 2, 17, 15, tzinfo=UTC), "exif")


def test_a_file_name_that_disagrees_by_days_is_noted():
    photo = dated("2026-03-05.jpg", datetime(2026, 3, 2, 18, 15))
    assert isinstance(photo, PhotoDate)
    assert (photo.dated_by, photo.note) == (
        "exif",
        "the file name says 2026-03-05 11:00 UTC; the camera's date is used",
    )


def test_the_file_name_stands_in_for_a_clock_that_was_never_set():
    photo = dated("2026-03-05.jpg", datetime(1970, 1, 1))
    assert photo == PhotoDate(
        datetime(2026, 3, 5, 11, tzinfo=UTC),
        "file name",
        "not believed: the photo is dated 1970-01-01 00:00 by its camera, before the year 2000; the file name "
        "gives only the day: noon is assumed",
    )


def test_an_hour_shown_twice_is_taken_as_the_first_and_noted():
    photo = dated("2026-10-25_0230.jpg")
    assert photo == PhotoDate(
        datetime(2026, 10, 25, 0, 30, tzinfo=UTC),
        "file name",
        "the clocks showed this time twice that night: the first is taken",
    )


@pytest.mark.parametrize(
    ("name", "taken", "what"),
    [
        ("left.jpg", None, "The photo has no date from its camera, and has no date in its file name."),
        (
            "left.jpg",
            datetime(1970, 1, 1),
            "The photo is dated 1970-01-01 00:00 by its camera, before the year 2000, and has no date in its "
            "file name.",
        ),
        (
            "2027-03-02.jpg",
            datetime(2027, 3, 2),
            "The photo is dated 2027-03-02 00:00 by its camera, in the future, and is dated 2027-03-02 12:00 by its "
            "file name, in the future.",
        ),
        (
            "02-03-2026.jpg",
            None,
            "The photo has no date from its camera, and has a date in its file name that does not begin with the year, "
            "so that it may mean two days.",
        ),
        (
            "2026-03-02_2026-03-03.jpg",
            None,
            "The photo has no date from its camera, and has several dates in its file name.",
        ),
        (
            "2026-03-29_0230.jpg",
            None,
            "The photo has no date from its camera, and is dated 2026-03-29 02:30 by its file name, when the clocks of "
            "Europe/Berlin leapt over that time.",
        ),
        ("9999-12-31.jpg", datetime(9999, 12, 31), "The photo is dated 9999-12-31 00:00 by its camera, in the future,"),
    ],
)
def test_a_photo_without_a_believable_date_is_refused(name, taken, what):
    fault = dated(name, taken)
    assert isinstance(fault, Fault)
    assert fault.what.startswith(what)
    assert fault.right == "Set the camera's clock; name this file by its local time, year first: 2026-03-02_1815.jpg."
    assert fault.where == name


@given(st.text(max_size=30), st.none() | st.datetimes(), st.none() | st.timedeltas())
def test_no_name_and_no_note_of_a_camera_raises_anything(name, taken, offset):
    photo = dated(name, taken, offset)
    if isinstance(photo, PhotoDate):
        assert datetime(1999, 12, 31, tzinfo=UTC) <= photo.at <= NOW + timedelta(minutes=10)
