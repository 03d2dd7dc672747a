"""Scores: exact ranks against SciPy, intervals that do not collapse, signs of pairs."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from littoral.stats.ordered import paired_signs, superiority, superiority_error, superiority_interval
from littoral.stats.regression import TooFewPointsError

scores = st.lists(st.integers(1, 5).map(float), min_size=2, max_size=5)


@given(scores, scores)
def test_the_probability_is_the_count_over_all_pairs(second: list[float], first: list[float]) -> None:
    found = superiority(np.array(second), np.array(first))
    wins = sum((a > b) + 0.5 * (a == b) for a in second for b in first) / (len(second) * len(first))
    assert found.probability == pytest.approx(wins)
    assert 0 <= found.low <= found.probability <= found.high <= 1
    turned = superiority(np.array(first), np.array(second))
    assert turned.probability == pytest.approx(1 - wins)
    assert turned.low == pytest.approx(1 - found.high, abs=1e-6)
    assert turned.p_value == pytest.approx(found.p_value)


@given(st.permutations(range(9)), st.integers(2, 7))
def test_without_ties_the_p_value_is_mann_and_whitneys(order: list[int], cut: int) -> None:
    second, first = np.array(order[:cut], dtype=float), np.array(order[cut:], dtype=float)
    theirs = stats.mannwhitneyu(second, first, method="exact")
    assert superiority(second, first).p_value == pytest.approx(float(theirs.pvalue))


def test_arms_that_do_not_overlap_leave_doubt() -> None:
    found = superiority(np.array([4.0, 5, 4]), np.array([1.0, 2, 2]))
    assert found.probability == 1.0
    assert found.high == 1.0
    assert 0.4 < found.low < 0.9
    assert found.p_value == pytest.approx(0.1)
    assert found.smallest_p == pytest.approx(0.1)


def test_the_error_of_one_pair_of_tanks_is_a_coins() -> None:
    """With one tank in each arm it is won or lost: variance t(1 - t), whatever the distribution."""
    assert superiority_error(0.7, second=1, first=1) == pytest.approx(np.sqrt(0.21))


def test_the_error_is_that_of_exponential_times() -> None:
    """Hanley & McNeil's variance is exact for exponential values: against 40,000 simulated trials."""
    rng = np.random.default_rng(5)
    t = 0.8
    second, first = rng.exponential(t / (1 - t), (40_000, 6)), rng.exponential(1.0, (40_000, 4))
    found = (second[:, :, None] > first[:, None, :]).mean(axis=(1, 2))
    assert found.std() == pytest.approx(superiority_error(t, second=6, first=4), rel=0.02)


def test_more_tanks_narrow_the_interval() -> None:
    few, many = superiority_interval(0.7, second=4, first=4), superiority_interval(0.7, second=40, first=40)
    assert few[0] < many[0] < 0.7 < many[1] < few[1]


def test_signs_are_binomial() -> None:
    found = paired_signs(np.array([3.0, 4, 5, 2, 3, 3]), np.array([2.0, 3, 3, 2, 4, 1]))
    assert (found.up, found.down, found.same) == (4, 1, 1)
    assert found.p_value == pytest.approx(0.375)
    assert found.share_up == pytest.approx(0.8)
    assert (found.low, found.high) == pytest.approx((0.28358, 0.99495), abs=1e-5)


def test_too_few_are_refused() -> None:
    with pytest.raises(TooFewPointsError):
        superiority(np.array([1.0]), np.array([1.0, 2.0]))
    with pytest.raises(TooFewPointsError):
        paired_signs(np.array([1.0]), np.array([1.0]))
