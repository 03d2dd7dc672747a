"""Exact tests against SciPy's own enumeration, and what few tanks cannot show."""

from __future__ import annotations

import itertools
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from littoral.stats.permutation import least_p_within, sign_flip, two_sample, within_blocks
from littoral.stats.regression import TooFewPointsError
from littoral.stats.series import FloatArray

whole = st.integers(-5, 5).map(float)


@given(st.lists(whole, min_size=2, max_size=7))
def test_sign_flips_are_scipys(values: list[float]) -> None:
    value = np.array(values)
    ours = sign_flip(value)
    if not np.any(value):
        assert ours.p_value == 1.0
        return

    def mean(x: FloatArray, axis: int = -1) -> FloatArray:
        return np.asarray(np.mean(x, axis=axis))

    theirs = stats.permutation_test((value,), mean, permutation_type="samples", n_resamples=np.inf, vectorized=True)
    assert ours.exact
    assert ours.p_value == pytest.approx(float(theirs.pvalue))


@given(st.lists(whole, min_size=1, max_size=4), st.lists(whole, min_size=2, max_size=4))
def test_two_samples_are_counted_as_the_obvious_loop_counts(second: list[float], first: list[float]) -> None:
    both = np.array(second + first)
    observed = abs(np.mean(second) - np.mean(first))
    counted = total = 0
    for chosen in itertools.combinations(range(both.size), len(second)):
        rest = [i for i in range(both.size) if i not in chosen]
        counted += abs(both[list(chosen)].mean() - both[rest].mean()) >= observed - 1e-9
        total += 1
    ours = two_sample(np.array(second), np.array(first))
    assert ours.arrangements == total
    assert ours.p_value == pytest.approx(counted / total)


@pytest.mark.parametrize(("pairs", "least"), [(3, 0.25), (5, 0.0625), (6, 0.03125)])
def test_below_six_pairs_no_sign_flip_comes_under_five_percent(pairs: int, least: float) -> None:
    found = sign_flip(np.arange(1.0, pairs + 1))
    assert found.p_value == found.smallest_p == least


def test_four_against_four_tanks_can_do_two_in_seventy() -> None:
    found = two_sample(np.arange(10.0, 14), np.arange(4.0))
    assert found.p_value == pytest.approx(2 / 70)
    assert found.smallest_p == pytest.approx(2 / 70)
    assert two_sample(np.arange(10.0, 13), np.arange(4.0)).smallest_p == pytest.approx(1 / 35)


def test_many_pairs_are_drawn_at_random_and_say_so() -> None:
    value = np.random.default_rng(3).normal(0.4, 1, 30)
    found = sign_flip(value, rng=np.random.default_rng(1))
    assert not found.exact
    assert found.p_value == pytest.approx(float(stats.ttest_1samp(value, 0).pvalue), abs=0.02)
    with pytest.raises(ValueError, match="rng"):
        sign_flip(value)
    big = two_sample(value, value[::-1] - 0.5, rng=np.random.default_rng(2))
    assert not big.exact
    assert big.smallest_p > 0


def test_too_few_are_refused() -> None:
    with pytest.raises(TooFewPointsError):
        sign_flip(np.array([1.0]))
    with pytest.raises(TooFewPointsError):
        two_sample(np.array([1.0]), np.array([2.0]))


def test_one_block_is_the_two_sample_test_and_blocks_of_two_are_sign_flips() -> None:
    rng = np.random.default_rng(3)
    value, second = rng.normal(size=9), np.arange(9) >= 5
    one, two = within_blocks(value, second, np.zeros(9)), two_sample(value[second], value[~second])
    assert (one.statistic, one.p_value, one.smallest_p) == pytest.approx((two.statistic, two.p_value, two.smallest_p))
    first, other = rng.normal(size=7), rng.normal(size=7)
    pairs = within_blocks(np.concatenate([first, other]), np.arange(14) >= 7, np.tile(np.arange(7), 2))
    flips = sign_flip(other - first)
    assert (pairs.statistic, pairs.p_value, pairs.smallest_p) == pytest.approx(
        (flips.statistic, flips.p_value, flips.smallest_p)
    )


def test_blocks_are_dealt_as_the_obvious_loop_deals_them() -> None:
    value = np.array([1.0, 5.0, 2.0, 8.0, 9.0, 4.0, 7.5])
    second, block = np.array([0, 1, 1, 0, 1, 0, 1], dtype=bool), np.array(list("aaabbbb"))
    columns = [np.ones(7), block == "b"]

    def effect(chosen: list[bool]) -> float:  # that of a model with block offsets
        return float(np.linalg.lstsq(np.column_stack([*columns, chosen]).astype(float), value, rcond=None)[0][2])

    ways = [
        [i in (*a, *b) for i in range(7)]
        for a in itertools.combinations(range(3), 2)
        for b in itertools.combinations(range(3, 7), 2)
    ]
    observed = effect(list(second))
    beyond = sum(abs(effect(way)) >= abs(observed) - 1e-9 for way in ways)
    found = within_blocks(value, second, block)
    assert found.statistic == pytest.approx(observed)
    assert (found.arrangements, found.p_value) == (18, pytest.approx(beyond / 18))


def test_more_dealings_than_can_be_looked_at_are_drawn() -> None:
    """12 blocks of 4: 6^12 ways. Against the normal approximation of the same statistic, within its own error."""
    rng = np.random.default_rng(8)
    block, second = np.repeat(np.arange(12), 4), np.tile([True, True, False, False], 12)
    value = rng.normal(size=48) + 0.3 * second
    with pytest.raises(ValueError, match="random source"):
        within_blocks(value, second, block)
    found = within_blocks(value, second, block, rng=np.random.default_rng(1))
    centred = value.reshape(12, 4) - value.reshape(12, 4).mean(axis=1, keepdims=True)
    # variance of the mean of 2 of 4 less the other 2, of one dealing: 4 s^2 / (3 * 4) with s^2 the sum of squares
    spread = np.sqrt((centred**2).sum(axis=1).sum() / 3) / 12
    normal = 2 * (1 - NormalDist().cdf(abs(found.statistic) / spread))
    assert not found.exact
    assert found.p_value == pytest.approx(normal, abs=0.02)


@pytest.mark.parametrize("sizes", [[(1, 1)] * 3, [(2, 1), (1, 1)], [(2, 2), (1, 2)], [(3, 3)], [(2, 0), (2, 1)]])
def test_the_least_p_of_blocks_is_that_of_the_clearest_split(sizes: list[tuple[int, int]]) -> None:
    block = np.repeat(np.arange(len(sizes)), [k + m for k, m in sizes])
    second = np.concatenate([np.arange(k + m) < k for k, m in sizes])
    value = np.arange(second.size) + 100.0 * second
    assert least_p_within(sizes) == pytest.approx(within_blocks(value, second, block).p_value)


def test_blocks_that_hold_one_arm_each_are_refused() -> None:
    with pytest.raises(TooFewPointsError, match="blocks that hold tanks of both arms"):
        within_blocks(np.arange(4.0), np.array([False, False, True, True]), np.array([0, 0, 1, 1]))
