"""Estimates against SciPy's own distributions, and against plain sampling."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from littoral.stats.estimate import NORMAL_DF, Estimate

FINITE = st.floats(-50, 50)
SPREAD = st.floats(0.01, 20)


def mixture() -> Estimate:
    return Estimate(
        location=np.array([0.0, 1.0, 3.0]),
        scale=np.array([1.0, 0.5, 2.0]),
        df=np.array([3.0, 8.0, NORMAL_DF]),
        weight=np.array([0.5, 0.3, 0.2]),
    )


@given(value=FINITE, spread=SPREAD, df=st.floats(2, 200), level=st.floats(0.5, 0.999))
def test_one_t_has_its_own_interval(value: float, spread: float, df: float, level: float) -> None:
    one = np.ones(1)
    low, high = Estimate(value * one, spread * one, df * one, one).interval(level)
    assert (low, high) == pytest.approx(stats.t(df, value, spread).interval(level), rel=1e-6, abs=1e-6)


def test_mixture_cdf_and_quantile_are_inverse() -> None:
    shares = np.array([0.001, 0.025, 0.3, 0.5, 0.9, 0.975, 0.999])
    assert mixture().cdf(mixture().quantile(shares)) == pytest.approx(shares, abs=1e-8)


def test_difference_of_two_normals_is_normal() -> None:
    low, high = Estimate.normal(5, spread=3).minus(Estimate.normal(1, spread=4)).interval()
    assert (low, high) == pytest.approx((4 - 1.959964 * 5, 4 + 1.959964 * 5), rel=1e-4)


def test_sum_agrees_with_sampling() -> None:
    rng = np.random.default_rng(7)
    part = rng.choice(3, size=400_000, p=mixture().weight)
    draws = mixture().location[part] + mixture().scale[part] * rng.standard_t(mixture().df[part])
    other = rng.normal(-2, 1.5, draws.size)
    sampled = np.quantile(draws + other, [0.025, 0.975])
    assert mixture().plus(Estimate.normal(-2, spread=1.5)).interval() == pytest.approx(tuple(sampled), abs=0.06)


@given(value=FINITE, spread=SPREAD)
def test_p_and_interval_agree(value: float, spread: float) -> None:
    estimate = Estimate.normal(value, spread=spread)
    low, high = estimate.interval()
    if abs(estimate.p_zero() - 0.05) > 1e-6:
        assert (estimate.p_zero() < 0.05) == (low > 0 or high < 0)


def test_exact_number_has_no_width() -> None:
    assert Estimate.exact(2.5).interval() == (2.5, 2.5)
    assert Estimate.exact(2.5).plus(Estimate.normal(1, spread=1)).interval() == pytest.approx(
        (1.540036, 5.459964), abs=1e-5
    )


def test_long_sums_stay_small_and_right() -> None:
    """A sum of eight against sampling, and no more components than one sum has."""
    total = mixture()
    for _ in range(7):
        total = total.plus(mixture())
    assert total.location.size <= 4096 + 2
    rng = np.random.default_rng(8)
    shape = (8, 300_000)
    part = rng.choice(3, size=shape, p=mixture().weight)
    draws = (mixture().location[part] + mixture().scale[part] * rng.standard_t(mixture().df[part])).sum(axis=0)
    sampled = np.quantile(draws, [0.025, 0.5, 0.975])
    assert total.quantile(np.array([0.025, 0.5, 0.975])) == pytest.approx(sampled, abs=0.06)


def test_values_that_never_change_add_as_an_exact_number():
    still = Estimate(np.array([2.0, 2.0]), np.zeros(2), np.array([5.0, 9.0]), np.array([0.4, 0.6]))
    moved = Estimate.normal(1.0, spread=0.5)
    assert still.plus(still).interval() == (4.0, 4.0)
    assert moved.minus(still).interval() == pytest.approx((moved.interval()[0] - 2, moved.interval()[1] - 2))
