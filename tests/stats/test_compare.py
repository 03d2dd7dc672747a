"""Comparisons against textbook t-tests, and against what pseudoreplication would claim."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from littoral.stats.compare import holm_levels, mean_levels, mean_of, mean_over, paired, tanks_per_arm
from littoral.stats.estimate import Estimate
from littoral.stats.onset import onset_day
from littoral.stats.regression import TooFewPointsError
from littoral.stats.series import FloatArray, Series


def level(day: FloatArray, value: FloatArray, name: str = "left tank") -> Series:
    return Series(name, "a*", "level", np.asarray(day, dtype=float), np.asarray(value, dtype=float))


def test_pairs_are_each_others_nearest_within_half_a_day() -> None:
    left = level([0.1, 1.1, 2.1, 5.0], [1, 2, 3, 9])
    right = level([0.0, 2.0, 2.4, 3.0, 5.6], [10, 20, 25, 30, 40], "right tank")
    difference = paired(right, left)
    assert difference.value.tolist() == [9.0, 17.0]
    assert difference.day.tolist() == pytest.approx([0.05, 2.05])
    assert paired(right, left, how="ratio").value.tolist() == pytest.approx([10.0, 20 / 3])
    assert paired(level([], []), left).day.size == 0


def test_mean_over_stands_is_one_series_on_common_days() -> None:
    stands = {"a": level([0, 1, 2], [1, 2, 4]), "b": level([1, 2, 3], [8, 16, 5])}
    assert mean_over(stands, name="tank").value.tolist() == [5.0, 10.0]
    assert mean_over(stands, name="tank", logs=True).value.tolist() == pytest.approx([4.0, 8.0])


def test_stands_of_two_views_meet_on_whole_days() -> None:
    """One view photographed in the morning, twice on day 2, the other at night: no moment is shared, three days are."""
    stands = {"a": level([0.3, 1.3, 2.3, 2.5, 4.3], [1, 2, 4, 9, 7]), "b": level([1.8, 2.8, 3.8, 4.9], [8, 16, 5, 28])}
    assert mean_over(stands, name="tank").day.size == 0
    mean = mean_over(stands, name="tank", by_day=True)
    assert mean.day.tolist() == pytest.approx([1.55, 2.6, 4.6])
    assert mean.value.tolist() == pytest.approx([5.0, (6.5 + 16) / 2, 17.5])
    geometric = mean_over(stands, name="tank", logs=True, by_day=True)
    assert geometric.value.tolist() == pytest.approx([4.0, np.sqrt(6 * 16), 14.0])
    assert mean_over({"a": level([], []), "b": level([1], [2])}, name="tank", by_day=True).day.size == 0


def test_more_stands_with_the_same_error_do_not_narrow_the_interval() -> None:
    """Twenty copies of one stand are one observation of the tank; an independent-plants test would divide by 20."""
    rng = np.random.default_rng(5)
    one = level(np.arange(30.0), rng.normal(3, 1, 30))
    many = mean_over({str(i): one for i in range(20)}, name="left tank")
    assert mean_levels(many).after.interval() == pytest.approx(mean_levels(one).after.interval())


def test_few_values_give_the_plain_mean_and_say_so_below_four() -> None:
    values = np.array([3.0, 5.0, 4.0, 6.0])
    after = mean_levels(level(np.arange(4.0), values), structures=("white",)).after
    low, high = stats.t(3, values.mean(), stats.sem(values)).interval(0.95)
    assert after.interval() == pytest.approx((low, high), rel=1e-7)
    with pytest.raises(TooFewPointsError, match="mean of left tank: 3 values are too few"):
        mean_levels(level(np.arange(3.0), values[:3]))


def test_a_steady_rise_is_not_taken_for_autocorrelation() -> None:
    rng = np.random.default_rng(6)
    day = np.arange(40.0)
    levels = mean_levels(level(day, 0.5 * day + rng.normal(0, 1, 40)))
    low, high = levels.after.interval()
    assert low < 0.5 * 19.5 < high
    assert high - low < 1.5


def coverage(*, correlation: float, runs: int, seed: int) -> float:
    rng = np.random.default_rng(seed)
    day = np.arange(56.0)
    hits = 0
    for _ in range(runs):
        error = np.empty(56)
        error[0] = rng.normal()
        for i in range(1, 56):
            error[i] = correlation * error[i - 1] + np.sqrt(1 - correlation**2) * rng.normal()
        change = mean_levels(level(day, 2.0 * (day >= 14) + error), change_day=14.0).change
        assert change is not None
        low, high = change.interval()
        hits += low <= 2.0 <= high
    return hits / runs


def test_change_of_a_mean_holds_under_autocorrelation_quickly() -> None:
    assert coverage(correlation=0.5, runs=60, seed=1) >= 0.90


@pytest.mark.slow
@pytest.mark.parametrize("correlation", [0.0, 0.5, 0.7])
def test_change_of_a_mean_holds_under_autocorrelation(correlation: float) -> None:
    # nominal 0.95, less two Monte-Carlo standard errors of 300 runs
    assert coverage(correlation=correlation, runs=300, seed=3) >= 0.925


def test_tanks_per_arm_is_welchs_test() -> None:
    first, second = [3.1, 2.9, 3.6, 3.3], [3.9, 4.4, 4.1]
    effect = tanks_per_arm([Estimate.exact(v) for v in second], [Estimate.exact(v) for v in first])
    reference = stats.ttest_ind(second, first, equal_var=False)
    assert effect.p_zero() == pytest.approx(reference.pvalue, rel=1e-6)
    interval = reference.confidence_interval(0.95)
    assert effect.interval() == pytest.approx((interval.low, interval.high), rel=1e-6)
    with pytest.raises(TooFewPointsError, match="spread between the tanks of an arm"):
        tanks_per_arm([Estimate.exact(1.0)], [Estimate.exact(1.0), Estimate.exact(2.0)])


def test_mean_of_independent_estimates_halves_the_variance() -> None:
    low, high = mean_of([Estimate.normal(1, spread=1), Estimate.normal(3, spread=1)]).interval()
    assert (low, high) == pytest.approx((2 - 1.959964 / np.sqrt(2), 2 + 1.959964 / np.sqrt(2)), rel=1e-4)


def test_holm_levels_call_what_the_step_down_procedure_calls() -> None:
    # Twin: Holm's adjusted p values, max over earlier ones of (m - k) p
    rng = np.random.default_rng(2)
    for _ in range(200):
        p = rng.beta(0.3, 2, size=rng.integers(1, 8))
        order = np.argsort(p)
        adjusted = np.empty(p.size)
        adjusted[order] = np.minimum(1, np.maximum.accumulate((p.size - np.arange(p.size)) * p[order]))
        levels = np.array(holm_levels(p.tolist()))
        assert ((p < levels) == (adjusted < 0.05)).all()


def test_onset_needs_three_in_a_row() -> None:
    day = np.arange(8.0)
    assert onset_day(level(day, [0, 9, 0, 1, 7, 8, 9, 2]), threshold=5) == 4.0
    assert onset_day(level(day, [0, 9, 9, 1, 7, 8, 1, 2]), threshold=5) is None
