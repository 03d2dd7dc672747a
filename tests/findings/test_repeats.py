"""Repeat shots: which photos repeat each other, and what they say of the error."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from littoral.findings.from_photos import compare_photos
from littoral.findings.measured import Measured, MeasuredPhoto
from littoral.findings.photo_course import courses
from littoral.findings.photo_measures import KNOWN
from littoral.findings.photo_series import Place, taken
from littoral.findings.repeats import repeat_errors
from littoral.imaging.results import RegionMeasure
from littoral.trial.bursts import REPEAT_WITHIN, bursts
from littoral.trial.days import instant_of
from littoral.trial.entries import Entry, Note, Photo
from littoral.trial.model import Question, Trial

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


MINUTE = 1 / 1440
REDNESS = next(one for one in KNOWN if one.key == "redness")
STEM = Place("left", "red-stem", "stand", "red stem plant")


def shot_again(measured: Measured, shots: int, noise: Callable[[], float]) -> Measured:
    """Each photo `shots` times a minute apart, each with a camera's noise of its own in a*, cover and height."""
    photos = []
    for one in measured.photos:
        for n in range(shots):
            off = noise()
            regions = tuple(
                replace(r, a=None if r.a is None else r.a + off, height_cm=None if r.height_cm is None else
                        r.height_cm * float(np.exp(0.02 * off)))
                for r in one.regions
            )  # fmt: skip
            name = f"{one.entry_id}-{n}"
            photos.append(replace(one, entry_id=name, sha256=name, day=one.day + n * MINUTE, regions=regions))
    return Measured(tuple(photos), measured.method)


def entries_of(measured: Measured, trial: Trial) -> list[Entry]:
    return [
        Entry(one.entry_id, instant_of(one.day, trial), "UTC", None, Photo(one.sha256, one.view, "exif", "x.jpg"))
        for one in measured.photos
    ]


@pytest.fixture(scope="module")
def base() -> tuple[Trial, Measured]:
    from tests.findings.conftest import build_measured, build_trial

    rng = np.random.default_rng(3)
    trial = build_trial(Question("q", "Redder?", "redness"))

    def take(day: int, tank: str) -> dict[str, float]:
        height = 8 * float(np.exp(0.02 * day + rng.normal(0, 0.01)))
        return {"a": 30 + rng.normal(0, 0.4), "height_cm": height, "cover": 0.3, "colour_error": 0.7}

    return trial, build_measured(trial, {"red-stem": take})


@settings(max_examples=15)
@given(st.integers(1, 4), st.integers(0, 2**32 - 1), st.sampled_from(["redness", "height growth"]))
def test_more_shots_of_a_day_are_no_more_days(base, shots: int, seed: int, measure: str) -> None:
    trial, measured = base
    rng = np.random.default_rng(seed)
    again = shot_again(measured, shots, lambda: float(rng.normal(0, 0.5)))
    one, more = (taken(trial, each, measure, STEM) for each in (measured, again))
    assert more.series.day == pytest.approx(one.series.day + (shots - 1) / 2 * MINUTE)
    assert len(more.photos) == shots * one.series.day.size
    assert (more.repeat is None) == (shots == 1)
    marks = {"left": (), "right": ()}
    course = courses(trial, again, entries_of(again, trial), REDNESS, "red-stem", marks=marks)[0]
    assert [point.shots for point in course.used] == [shots] * one.series.day.size
    assert [point.value for point in course.used] == pytest.approx(
        list(taken(trial, again, "redness", STEM).series.value)
    )


@settings(max_examples=8)
@given(st.integers(0, 2**32 - 1), st.floats(1.0, 20.0))
def test_a_noisier_camera_makes_everything_less_sure(base, seed: int, times: float) -> None:
    """The same draws, larger: what single points state, what may be claimed, and the interval of each tank's mean."""
    trial, measured = base
    found = []
    for noise in (0.5, 0.5 * times):
        rng = np.random.default_rng(seed)
        again = shot_again(measured, 2, lambda noise=noise, rng=rng: float(rng.normal(0, noise)))
        course = courses(trial, again, entries_of(again, trial), REDNESS, "red-stem", marks={})[0]
        compared = compare_photos(trial, again, entries_of(again, trial), trial.questions[0])
        one = taken(trial, again, "redness", STEM)
        assert one.repeat is not None
        floor = one.repeat.sd / np.sqrt(2 * np.count_nonzero(one.series.day >= trial.baseline_days))
        low, high = compared.arms[0].low, compared.arms[0].high
        assert low is not None and high is not None  # noqa: PT018
        assert (high - low) / 2 >= 1.9 * floor
        found.append((course.used[0].error, one.repeat.sd, compared.camera_term))
    assert all(other >= one - 1e-9 for one, other in zip(*found, strict=True))


def test_series_of_single_shots_are_as_before(base) -> None:
    trial, measured = base
    one = taken(trial, measured, "redness", STEM)
    assert (one.repeat, one.series.error) == (None, None)
    assert set(one.errors) == {0.7}
