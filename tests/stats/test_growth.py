"""Growth rates: exact on exact data, plain regression on white errors, honest about autocorrelated ones."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from littoral.stats.growth import NotPositiveError, growth_rate
from littoral.stats.regression import TooFewPointsError
from littoral.stats.series import FloatArray, Series


def heights(day: FloatArray, value: FloatArray) -> Series:
    return Series("red stem plant", "cm", "level", day, value)


def autocorrelated(rng: np.random.Generator, *, n: int, correlation: float, spread: float) -> FloatArray:
    error = np.empty(n)
    error[0] = rng.normal()
    for i in range(1, n):
        error[i] = correlation * error[i - 1] + np.sqrt(1 - correlation**2) * rng.normal()
    return spread * error


def covered(*, runs: int, correlation: float, seed: int) -> float:
    rng = np.random.default_rng(seed)
    day = np.arange(35.0)
    hits = 0
    for _ in range(runs):
        error = autocorrelated(rng, n=day.size, correlation=correlation, spread=0.05)
        size = np.exp(0.03 * day - 0.5 * (day > 16.5) + error)
        low, high = growth_rate(heights(day, size), [16.5]).rate_per_day.interval()
        hits += low <= 0.03 <= high
    return hits / runs


@settings(max_examples=40, deadline=None)
@given(rate=st.floats(-0.2, 0.3), cut=st.floats(0.1, 0.9), days=st.lists(st.integers(0, 60), min_size=9, unique=True))
def test_exact_growth_with_a_trim_is_found_on_irregular_days(rate: float, cut: float, days: list[int]) -> None:
    day = np.array(sorted(days), dtype=float)
    trim = (day[4] + day[5]) / 2
    size = 12 * np.exp(rate * day) * np.where(day > trim, cut, 1.0)
    growth = growth_rate(heights(day, size), [trim])
    assert growth.rate_per_day.value == pytest.approx(rate, abs=1e-8)
    assert growth.trims == 1


def test_white_errors_alone_give_plain_regression() -> None:
    rng = np.random.default_rng(3)
    day = np.arange(20.0)
    size = np.exp(0.05 * day + rng.normal(0, 0.04, 20))
    plain = stats.linregress(day, np.log(size))
    half = plain.stderr * stats.t(18).ppf(0.975)
    growth = growth_rate(heights(day, size), structures=("white",))
    assert growth.rate_per_day.interval() == pytest.approx((plain.slope - half, plain.slope + half), rel=1e-7)


def test_a_bend_gives_the_rate_before_and_after() -> None:
    rng = np.random.default_rng(8)
    day = np.arange(56.0)
    size = np.exp(0.01 * np.minimum(day - 14, 0) + 0.05 * np.maximum(day - 14, 0) + rng.normal(0, 0.02, 56))
    growth = growth_rate(heights(day, size), change_day=14.0)
    assert growth.before_per_day is not None
    assert growth.change is not None
    assert (growth.values_before, growth.values, growth.from_day, growth.to_day) == (14, 42, 14.0, 55.0)
    for estimate, truth in ((growth.before_per_day, 0.01), (growth.rate_per_day, 0.05), (growth.change, 0.04)):
        low, high = estimate.interval()
        assert low < truth < high


def test_few_values_before_the_change_are_left_out() -> None:
    day = np.arange(12.0)
    growth = growth_rate(heights(day, np.exp(0.1 * day)), change_day=3.0)
    assert growth.before_per_day is None
    assert (growth.values_before, growth.values) == (0, 9)


def test_trims_outside_the_days_or_between_the_same_days_add_nothing() -> None:
    day = np.arange(12.0)
    growth = growth_rate(heights(day, np.exp(0.1 * day)), [-5.0, 3.4, 3.6, 40.0])
    assert growth.trims == 1


def test_interval_widens_with_few_points_and_says_why_below_four() -> None:
    rng = np.random.default_rng(11)
    day = np.arange(30.0)
    size = np.exp(0.03 * day + rng.normal(0, 0.03, 30))
    widths = []
    for n in (30, 10, 4):
        low, high = growth_rate(heights(day[:n], size[:n])).rate_per_day.interval()
        widths.append(high - low)
    assert widths[0] < widths[1] < widths[2]
    with pytest.raises(
        TooFewPointsError, match="growth of red stem plant: 3 values are too few to estimate it, at least 4"
    ):
        growth_rate(heights(day[:3], size[:3]))
    with pytest.raises(TooFewPointsError, match="5 values are too few to estimate it, at least 6 are needed"):
        growth_rate(heights(day[:5], size[:5]), [0.7, 2.7])


def test_a_size_of_zero_is_named_with_its_day() -> None:
    with pytest.raises(NotPositiveError, match="0 on day 3 has no logarithm"):
        growth_rate(heights(np.arange(6.0), np.array([1, 2, 3, 0, 5, 6.0])))


def test_interval_holds_under_autocorrelation_quickly() -> None:
    # 60 runs: 0.95 ± 0.028 (one Monte-Carlo standard error); the slow test below is the proof
    assert covered(runs=60, correlation=0.5, seed=2) >= 0.90


@pytest.mark.slow
@pytest.mark.parametrize("correlation", [0.0, 0.5, 0.8])
def test_interval_holds_under_autocorrelation(correlation: float) -> None:
    # nominal 0.95, less two Monte-Carlo standard errors of 300 runs
    assert covered(runs=300, correlation=correlation, seed=5) >= 0.95 - 2 * np.sqrt(0.95 * 0.05 / 300)


def test_plain_regression_does_not_hold_under_autocorrelation() -> None:
    """The naive interval, on the same kind of series: why the averaging is there (METHODS: 0.68 to 0.78 at 0.8)."""
    rng = np.random.default_rng(5)
    day = np.arange(35.0)
    hits = 0
    for _ in range(100):
        size = np.exp(0.03 * day + autocorrelated(rng, n=35, correlation=0.8, spread=0.05))
        low, high = growth_rate(heights(day, size), structures=("white",)).rate_per_day.interval()
        hits += low <= 0.03 <= high
    assert hits < 80
