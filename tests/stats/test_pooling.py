"""Pooling: properties, and a slow twin that maximises the written-out likelihood over a fine grid."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from littoral.stats.effect_sizes import EffectSizeError, Group, hedges_g, log_response_ratio
from littoral.stats.heterogeneity import restricted_log_likelihood
from littoral.stats.pooling import FEWEST_KEEPERS, PoolingError, leave_one_out, pool
from littoral.stats.series import FloatArray

KEEPERS = st.integers(2, 12).flatmap(
    lambda k: st.tuples(
        st.lists(st.floats(-2, 2), min_size=k, max_size=k), st.lists(st.floats(0.01, 1), min_size=k, max_size=k)
    )
)


def arrays(keepers: tuple[list[float], list[float]]) -> tuple[FloatArray, FloatArray]:
    return np.array(keepers[0]), np.array(keepers[1])


def twin_log_likelihood(tau2: float, y: FloatArray, v: FloatArray) -> float:
    """Equation of the restricted likelihood for a mean, summed keeper by keeper."""
    weight = [1 / (one + tau2) for one in v]
    mean = sum(w * one for w, one in zip(weight, y, strict=True)) / sum(weight)
    fit = sum(w * (one - mean) ** 2 for w, one in zip(weight, y, strict=True))
    return 0.5 * sum(math.log(w) for w in weight) - 0.5 * math.log(sum(weight)) - 0.5 * fit


@given(KEEPERS)
@settings(max_examples=40)
def test_no_tau2_on_a_fine_grid_is_likelier(keepers: tuple[list[float], list[float]]) -> None:
    y, v = arrays(keepers)
    found = pool(y, v).tau2
    best = twin_log_likelihood(found, y, v)
    assert best == pytest.approx(restricted_log_likelihood(found, y, v, np.ones((y.size, 1))))
    for tau2 in [0.0, *np.geomspace(1e-4, 20, 120)]:
        assert twin_log_likelihood(float(tau2), y, v) <= best + 1e-9


@given(KEEPERS)
@settings(max_examples=60)
def test_the_modified_interval_is_never_narrower(keepers: tuple[list[float], list[float]]) -> None:
    y, v = arrays(keepers)
    modified, plain = pool(y, v), pool(y, v, interval="hartung-knapp")
    equal = pool(y, v, between="none", interval="normal")
    width = modified.interval[1] - modified.interval[0]
    assert width >= (plain.interval[1] - plain.interval[0]) * (1 - 1e-12)
    assert width >= (equal.interval[1] - equal.interval[0]) * (1 - 1e-12)
    if modified.prediction is not None:
        assert modified.prediction[1] - modified.prediction[0] >= width * (1 - 1e-12)


@given(KEEPERS, st.floats(-5, 5), st.floats(0.1, 10))
@settings(max_examples=40)
def test_shift_unit_and_order_do_not_matter(
    keepers: tuple[list[float], list[float]], shift: float, factor: float
) -> None:
    y, v = arrays(keepers)
    one, other = pool(y, v), pool(factor * (y[::-1] + shift), factor**2 * v[::-1])
    assert other.value == pytest.approx(factor * (one.value + shift), abs=1e-6)
    assert other.tau2 == pytest.approx(factor**2 * one.tau2, rel=1e-5, abs=1e-9)
    assert other.q == pytest.approx(one.q, rel=1e-6, abs=1e-9)
    assert other.i2_percent == pytest.approx(one.i2_percent, abs=1e-3)
    assert one.weight.sum() == pytest.approx(1)


@given(st.lists(st.floats(-2, 2), min_size=3, max_size=10), st.floats(0.01, 1))
@settings(max_examples=40)
def test_equal_variances_give_the_closed_form(values: list[float], variance: float) -> None:
    y = np.array(values)
    found = pool(y, np.full(y.size, variance), interval="hartung-knapp")
    assert found.value == pytest.approx(y.mean(), abs=1e-9)
    assert found.tau2 == pytest.approx(max(0.0, y.var(ddof=1) - variance), rel=1e-6, abs=1e-7)
    assert float(found.standard_error[0]) == pytest.approx(y.std(ddof=1) / math.sqrt(y.size), abs=1e-9)


def test_with_equal_variances_it_is_the_one_sample_t_test() -> None:
    y = np.random.default_rng(3).normal(0.2, 0.3, 9)
    found = pool(y, np.full(9, 0.01), interval="hartung-knapp")
    assert float(found.p_value[0]) == pytest.approx(float(stats.ttest_1samp(y, 0).pvalue), rel=1e-9)
    assert found.interval == pytest.approx(tuple(stats.ttest_1samp(y, 0).confidence_interval(0.95)), rel=1e-9)


def test_keepers_who_agree_have_no_variance_between_them_and_still_an_interval() -> None:
    agreed = pool(np.full(6, 0.2), np.full(6, 0.04))
    assert (agreed.tau2, agreed.q, agreed.i2_percent, agreed.h2) == pytest.approx((0, 0, 0, 1), abs=1e-12)
    assert agreed.interval[0] == pytest.approx(0.2 - stats.t.ppf(0.975, 5) * 0.2 / math.sqrt(6))
    plain = pool(np.full(6, 0.2), np.full(6, 0.04), interval="hartung-knapp")
    assert plain.interval[1] - plain.interval[0] < 1e-9  # which is why the plain one is not used


def test_one_moderator_with_two_values_is_a_difference_of_two_pooled_means() -> None:
    y, v = np.array([0.1, 0.2, 0.15, 0.5, 0.6, 0.55]), np.full(6, 0.02)
    fitted = pool(y, v, moderators=np.array([0, 0, 0, 1, 1, 1.0]))
    assert fitted.coefficient == pytest.approx([0.15, 0.40])
    assert fitted.q_df == 4
    assert fitted.prediction is None


def test_leaving_out_the_one_who_differs_shows_it() -> None:
    y, v = np.array([0.1, 0.12, 0.08, 0.11, 2.0, 0.09]), np.full(6, 0.01)
    without = leave_one_out(y, v)
    assert len(without) == 6
    assert [one.keepers for one in without] == [5] * 6
    assert min(range(6), key=lambda i: without[i].tau2) == 4
    assert without[4].value == pytest.approx(0.10)
    assert without[0].value == pool(y[1:], v[1:]).value


def test_no_claim_below_five_keepers() -> None:
    assert FEWEST_KEEPERS == 5
    y = np.full(5, 3.0)
    assert not pool(y[:4], np.full(4, 0.01)).may_claim
    assert pool(y, np.full(5, 0.01)).may_claim


def test_two_keepers_get_no_prediction() -> None:
    assert pool(np.array([0.1, 0.2]), np.array([0.01, 0.01])).prediction is None


def test_what_cannot_be_pooled_is_refused_with_the_reason() -> None:
    one = np.ones(3)
    for effect, variance, moderators, level, said in (
        (one, one[:2], None, 0.95, "3 effects and 2 variances"),
        (np.array([1.0, math.nan, 1.0]), one, None, 0.95, "number 2"),
        (one, np.array([1.0, 1.0, 0.0]), None, 0.95, "number 3"),
        (one[:1], one[:1], None, 0.95, "too few"),
        (one, one, one, 0.95, "same for all keepers"),
        (one, one, np.array([1.0, math.nan, 2.0]), 0.95, "moderator is missing"),
        (one, one, None, 95.0, "between 0 and 1"),
    ):
        with pytest.raises(PoolingError, match=said):
            pool(effect, variance, moderators=moderators, level=level)
    with pytest.raises(PoolingError, match="at least 3"):
        leave_one_out(one[:2], one[:2])


@pytest.mark.slow
def test_false_positives_are_what_the_design_study_found() -> None:
    """Between-keeper spread 0.2, no effect: its table has 0.00 to 0.06 modified, 0.50 to 0.63 equal effects."""
    rng = np.random.default_rng(8)
    runs, called = 400, {"modified": 0, "equal": 0}
    for _ in range(runs):
        v = rng.uniform(0.04, 0.09, 6) ** 2
        y = rng.normal(0, np.sqrt(0.04 + v))
        called["modified"] += float(pool(y, v).p_value[0]) < 0.05
        called["equal"] += float(pool(y, v, between="none", interval="normal").p_value[0]) < 0.05
    assert called["modified"] / runs <= 0.06 + 2 * math.sqrt(0.06 * 0.94 / runs)
    assert called["equal"] / runs >= 0.45


def test_effect_sizes_change_sign_with_the_order_and_refuse_what_has_none() -> None:
    one, other = Group(5.0, 1.0, 8), Group(4.0, 1.5, 6)
    for of in (hedges_g, log_response_ratio):
        assert of(one, other).value == pytest.approx(-of(other, one).value)
        assert of(one, other).variance == pytest.approx(of(other, one).variance)
        with pytest.raises(EffectSizeError, match="at least 2"):
            of(one, Group(4.0, 1.0, 1))
        with pytest.raises(EffectSizeError, match="0 or more"):
            of(one, Group(4.0, -1.0, 3))
    with pytest.raises(EffectSizeError, match="both standard deviations are 0"):
        hedges_g(Group(1.0, 0.0, 3), Group(2.0, 0.0, 3))
    with pytest.raises(EffectSizeError, match="above 0"):
        log_response_ratio(one, Group(0.0, 1.0, 3))


def test_the_ratio_does_not_depend_on_the_unit() -> None:
    in_cm = log_response_ratio(Group(12.0, 2.0, 5), Group(10.0, 1.0, 5))
    in_mm = log_response_ratio(Group(120.0, 20.0, 5), Group(100.0, 10.0, 5))
    assert (in_cm.value, in_cm.variance) == pytest.approx((in_mm.value, in_mm.variance))
