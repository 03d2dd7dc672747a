"""Two one-sided tests against SciPy's t tests, which know nothing of intervals, and at the edges of the margin."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import ttest_1samp

from littoral.stats.equivalence import two_one_sided_tests
from littoral.stats.estimate import Estimate


def mean_of(values: np.ndarray) -> Estimate:
    one = np.ones(1)
    return Estimate(
        values.mean() * one, values.std(ddof=1) / np.sqrt(values.size) * one, (values.size - 1.0) * one, one
    )


@given(
    st.integers(0, 2**32 - 1), st.integers(3, 30), st.floats(-2, 2), st.floats(0.05, 2), st.floats(0.05, 3),
)  # fmt: skip
def test_both_tests_are_students(seed, n, middle, spread, margin):
    values = np.random.default_rng(seed).normal(middle, spread, n)
    found = two_one_sided_tests(mean_of(values), margin=margin)
    not_below = ttest_1samp(values, -margin, alternative="greater").pvalue
    not_above = ttest_1samp(values, margin, alternative="less").pvalue
    assert found.p_value == pytest.approx(max(not_below, not_above), abs=1e-9)
    if abs(found.p_value - 0.05) > 1e-6:  # beside the edge, the interval and the tests must agree
        assert (found.equality == "within") == (found.p_value < 0.05)
    low, high = ttest_1samp(values, 0).confidence_interval(0.90)
    assert (found.low, found.high) == pytest.approx((low, high), rel=1e-6, abs=1e-6)


@pytest.mark.parametrize(
    ("value", "equality"),
    [(0.0, "within"), (0.5, "within"), (-0.5, "within"), (0.5001, "outside"), (-0.5001, "outside")],
)
def test_what_is_known_exactly_is_within_or_outside(value, equality):
    assert two_one_sided_tests(Estimate.exact(value), margin=0.5).equality == equality


def test_a_wide_interval_is_unknown_however_small_the_difference():
    assert two_one_sided_tests(Estimate.normal(0.0, spread=1.0), margin=0.5).equality == "unknown"
    assert two_one_sided_tests(Estimate.normal(5.0, spread=1.0), margin=0.5).equality == "outside"


@pytest.mark.slow
def test_equal_is_wrongly_said_of_a_difference_as_large_as_the_margin_in_one_of_twenty_cases():
    """The error that is promised: 5 % where the true difference is the margin itself (4000 draws, ±4 errors)."""
    rng = np.random.default_rng(20260301)
    draws = rng.normal(1.0, 1.0, (4000, 20))
    said = sum(two_one_sided_tests(mean_of(row), margin=1.0).equality == "within" for row in draws)
    assert abs(said / 4000 - 0.05) < 4 * np.sqrt(0.05 * 0.95 / 4000)


@pytest.mark.parametrize("wrong", [{"margin": 0.0}, {"margin": 1.0, "alpha": 0.5}, {"margin": 1.0, "alpha": 0.0}])
def test_margins_and_levels_that_cannot_be_are_refused(wrong):
    with pytest.raises(ValueError, match="must be above 0"):
        two_one_sided_tests(Estimate.exact(0.0), **wrong)
