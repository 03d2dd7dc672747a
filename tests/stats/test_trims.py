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
