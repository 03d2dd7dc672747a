"""Trims: the side of a photo, and steps that nobody wrote down."""

from __future__ import annotations

import numpy as np
import pytest

from littoral.stats.growth import growth_rate
from littoral.stats.series import FloatArray, Series
from littoral.stats.trims import placed, steps_down


def heights(day: FloatArray, value: FloatArray) -> Series:
    return Series("red stem plant", "cm", "level", day, value)


@pytest.mark.parametrize("first_after", [10, 11])
def test_a_photo_on_the_day_of_the_trim_may_show_either_side(first_after: int) -> None:
    day = np.arange(20) + 0.56
    size = np.exp(0.04 * day) * np.where(np.arange(20) >= first_after, 0.5, 1.0)
    trims = placed(heights(day, size), [10.46])
    assert trims == (first_after + 0.06,)
    assert growth_rate(heights(day, size), trims).rate_per_day.value == pytest.approx(0.04, abs=1e-9)


def test_trims_outside_the_series_are_left_out() -> None:
    day = np.arange(10.0)
    assert placed(heights(day, np.exp(0.1 * day)), [-3.0, 30.0]) == ()


def test_unrecorded_trims_are_found_and_nothing_else() -> None:
    """A quarter of the days missing, 60 series: the method study found 20 of 21 steps, none false."""
    rng = np.random.default_rng(12)
    found = false = 0
    for _ in range(60):
        day = np.sort(rng.choice(42, size=32, replace=False)).astype(float)
        trim = rng.uniform(8, 34)
        error = rng.normal(0, 0.03, 32)
        size = np.exp(0.03 * day - 0.5 * (day > trim) + error)
        steps = steps_down(heights(day, size))
        right = [step for step in steps if step.before_day <= trim <= step.after_day]
        found += bool(right)
        false += len(steps) - len(right)
    assert found >= 57
    assert false <= 1


def test_a_recorded_trim_explains_its_step() -> None:
    day = np.arange(30.0)
    size = np.exp(0.03 * day - 0.6 * (day > 15.5))
    assert [(step.before_day, step.after_day) for step in steps_down(heights(day, size))] == [(15.0, 16.0)]
    assert steps_down(heights(day, size))[0].left == pytest.approx(np.exp(-0.6 + 3 * 0.03), rel=1e-9)
    assert steps_down(heights(day, size), [16.4]) == ()


def test_steady_growth_and_short_series_have_no_steps() -> None:
    day = np.arange(30.0)
    assert steps_down(heights(day, np.exp(0.03 * day))) == ()
    assert steps_down(heights(day[:5], np.array([9.0, 9, 2, 2, 2]))) == ()


@pytest.mark.parametrize(
    "fall", [(0.5, 0.5), (0.3, 0.3, 0.3), (0.2,) * 5, (0.1, 0.4, 0.3, 0.1), (0.3, 0.7)], ids=lambda fall: str(len(fall))
)
@pytest.mark.parametrize("grows_again", [True, False])
def test_a_die_back_over_days_is_no_trim(fall: tuple[float, ...], grows_again: bool) -> None:
    rng = np.random.default_rng(4)
    day = np.arange(40.0)
    change = np.full(39, 0.03)
    change[19 : 19 + len(fall)] = -np.array(fall)
    if not grows_again:
        change[19 + len(fall) :] = -0.01
    log = np.concatenate([[0.0], np.cumsum(change)]) + rng.normal(0, 0.02, 40)
    assert steps_down(heights(day, np.exp(log))) == ()


@pytest.mark.parametrize(("after", "found"), [(0.03, 1), (-0.03, 0)])
def test_a_step_is_a_trim_only_where_the_plant_grows_again(after: float, found: int) -> None:
    day = np.arange(40.0)
    log = np.where(day < 19.5, 0.03 * day, 0.6 - 0.5 + after * (day - 20))
    assert len(steps_down(heights(day, np.exp(log)))) == found


def test_two_trims_within_a_week_are_both_found() -> None:
    day = np.arange(40.0)
    log = 0.04 * day - 0.4 * (day > 15.5) - 0.4 * (day > 20.5)
    assert [step.after_day for step in steps_down(heights(day, np.exp(log)))] == [16.0, 21.0]
