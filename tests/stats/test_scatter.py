"""Scatter around the course of neighbours: it recovers known errors on any course, and breaks where it must."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.stats.scatter import neighbour_residuals, scatter
from littoral.stats.series import Series


def series(day, value) -> Series:
    return Series("x", "cm", "level", np.asarray(day, dtype=float), np.asarray(value, dtype=float))


def slow_residuals(day, value) -> list[float]:
    """The same by the definition: the line through both neighbours, one value at a time."""
    found = [math.nan] * len(day)
    usual = float(np.median([day[i + 1] - day[i - 1] for i in range(1, len(day) - 1)]))
    for i in range(1, len(day) - 1):
        span = day[i + 1] - day[i - 1]
        share = (day[i] - day[i - 1]) / span
        line = value[i - 1] + share * (value[i + 1] - value[i - 1])
        if span <= 4 * usual:
            found[i] = (value[i] - line) / math.sqrt(1 + share**2 + (1 - share) ** 2)
    return found


@pytest.mark.parametrize("spread", [0.05, 1.0, 30.0])
def test_the_scatter_is_that_of_the_errors_whatever_the_course(spread: float) -> None:
    found = []
    for at in range(40):
        rng = np.random.default_rng(at)
        day = np.sort(rng.uniform(0, 60, 60))
        course = 5 * np.exp(0.02 * day) * spread + 2 * spread * np.sin(day / 12)
        one = scatter(series(day, course + rng.normal(0, spread, day.size)))
        assert one is not None
        found.append(one.whole / spread)
    assert np.mean(found) == pytest.approx(1.0, abs=0.05)


@given(st.lists(st.floats(-50, 50), min_size=5, max_size=25), st.floats(-3, 3), st.floats(-3, 3))
def test_residuals_are_those_of_the_definition_and_a_straight_course_adds_nothing(values, slope, level) -> None:
    day = np.cumsum(np.linspace(0.3, 1.4, len(values)))
    plain = neighbour_residuals(series(day, values))
    assert np.allclose(plain, slow_residuals(day, values), equal_nan=True, atol=1e-9)
    tilted = neighbour_residuals(series(day, np.array(values) + slope * day + level))
    assert np.allclose(plain, tilted, equal_nan=True, atol=1e-8)


def test_a_trim_and_a_gap_are_no_scatter() -> None:
    day = np.arange(12.0)
    value = np.where(day < 6, 20.0, 8.0)
    assert np.nanmax(np.abs(neighbour_residuals(series(day, value)))) > 4
    assert np.nanmax(np.abs(neighbour_residuals(series(day, value), (5.5,)))) == 0
    apart = np.concatenate([day[:6], day[6:] + 30])
    assert np.nanmax(np.abs(neighbour_residuals(series(apart, value)))) == 0


def test_one_outlier_hardly_moves_it_and_a_measure_may_wander_more_where_it_is_large() -> None:
    rng = np.random.default_rng(5)
    day = np.arange(60.0)
    value = np.where(day < 30, rng.normal(0, 0.1, 60), rng.normal(10, 1.0, 60))
    plain = scatter(series(day, value))
    assert plain is not None
    assert np.median(plain.near[:20]) < 0.75 * np.median(plain.near[40:])
    spiked = value.copy()
    spiked[45] += 60
    again = scatter(series(day, spiked))
    assert again is not None
    assert np.median(again.near[40:]) < 2 * np.median(plain.near[40:])
    assert again.whole < 2 * plain.whole
    naive = [np.sqrt(np.nanmean(neighbour_residuals(series(day, one)) ** 2)) for one in (value, spiked)]
    assert naive[1] > 8 * naive[0]
    assert plain.near.shape == value.shape


def test_too_few_values_tell_none() -> None:
    assert scatter(series([0, 1, 2, 3], [1, 2, 1, 2])) is None
    assert scatter(series([], [])) is None
