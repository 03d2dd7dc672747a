"""Repeat shots: which photos repeat each other, and what they say of the error."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from littoral.findings.measured import MeasuredPhoto
from littoral.findings.repeats import repeat_errors
from littoral.imaging.results import RegionMeasure
from littoral.trial.bursts import REPEAT_WITHIN, bursts
from littoral.trial.entries import Entry, Note, Photo

START = datetime(2026, 3, 2, 18, tzinfo=UTC)


def entry(name: str, minutes: float, view: str = "left", **more: object) -> Entry:
    photo = Photo(name, view, "exif", f"{name}.jpg", **more)
    return Entry(name, START + timedelta(minutes=minutes), "UTC", "left", photo)


def ids(entries: list[Entry]) -> list[list[str]]:
    return [[one.id for one in group] for group in bursts(entries)]


def test_shots_within_minutes_are_one_burst_whatever_their_order_and_views_do_not_mix() -> None:
    shots = [
        entry("c", 4),
        entry("a", 0),
        entry("b", 2),
        entry("x", 1, "right"),
        entry("d", 30),
        entry("y", 31, "right"),
    ]
    assert ids(shots) == [["a", "b", "c"]]


def test_the_limit_is_the_last_one_within() -> None:
    edge = REPEAT_WITHIN.total_seconds() / 60
    assert ids([entry("a", 0), entry("b", edge)]) == [["a", "b"]]
    assert ids([entry("a", 0), entry("b", edge + 0.1)]) == []


def test_a_frame_every_minute_is_cut_into_bursts() -> None:
    groups = ids([entry(f"{n:03}", n) for n in range(60)])
    assert [len(group) for group in groups] == [16, 16, 16, 12]


def test_photos_that_wait_or_were_set_aside_repeat_nothing() -> None:
    shots = [entry("a", 0), entry("b", 1, doubts=("blurred",)), entry("c", 2, decided="set aside")]
    assert ids([*shots, Entry("n", START, "UTC", "left", Note("x"))]) == []


def photo(name: str, cover: float, *, excluded: str = "") -> MeasuredPhoto:
    region = RegionMeasure("tank", "moss", "stand", cover=cover)
    return MeasuredPhoto(name, name, "left", 0.0, None, None, None, "", (), () if excluded else (region,), excluded)


def test_the_error_is_the_pooled_standard_deviation() -> None:
    """Against numpy's own: two bursts of 3 and 2, pooled by their degrees of freedom."""
    one, two = [0.50, 0.53, 0.47], [0.80, 0.84]
    shots = [*(entry(f"a{n}", n) for n in range(3)), *(entry(f"b{n}", 600 + n) for n in range(2)), entry("z", 2000)]
    values = dict(zip([shot.id for shot in shots], [*one, *two, 0.1], strict=True))
    found = repeat_errors([photo(name, value) for name, value in values.items()], shots)
    (key,) = found
    expected = np.sqrt((2 * np.var(one, ddof=1) + np.var(two, ddof=1)) / 3)
    assert key == ("left", "tank", "moss", "cover")
    assert found[key].sd == pytest.approx(expected)
    assert found[key].freedom == 3


def test_what_was_excluded_says_nothing() -> None:
    shots = [entry("a", 0), entry("b", 1)]
    assert repeat_errors([photo("a", 0.5), photo("b", 0.9, excluded="dark")], shots) == {}
