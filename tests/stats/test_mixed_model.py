"""Mixed models: against balanced analysis of variance and a slow dense twin; what cannot be told apart is refused."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import stats

from littoral.stats.compare import tanks_per_arm
from littoral.stats.estimate import Estimate
from littoral.stats.mixed_model import ConfoundedError, Grouping, arm_effect, fit_mixed, nested
from littoral.stats.regression import TooFewPointsError
from littoral.stats.series import FloatArray
from littoral.stats.small_sample import Method


def plants(
    seed: int, *, tanks: int = 3, each: int = 5, between: float = 1.0
) -> tuple[FloatArray, NDArray[np.int64], NDArray[np.bool_]]:
    """Values of plants in tanks of two arms: value, tank, whether its tank is of the second arm."""
    rng = np.random.default_rng(seed)
    tank = np.repeat(np.arange(2 * tanks), each)
    value = 10 + between * rng.normal(size=2 * tanks)[tank] + rng.normal(size=tank.size)
    return value, tank, tank >= tanks


def dense_log_likelihood(value: FloatArray, design: FloatArray, covariance: FloatArray) -> float:
    """The restricted likelihood as the density of contrasts that the design cannot reach: slow and obvious.

    Up to the constant that the choice of contrasts brings: orthonormal ones and lme4's form differ by |X'X|.
    """
    kept = np.linalg.svd(design.T)[2][design.shape[1] :]
    density = stats.multivariate_normal(cov=kept @ covariance @ kept.T).logpdf(kept @ value)
    return float(density - 0.5 * np.linalg.slogdet(design.T @ design)[1])


@pytest.mark.parametrize("seed", range(4))
def test_balanced_arms_come_out_as_a_t_test_on_tank_means(seed: int) -> None:
    value, tank, second = plants(seed, between=2.0)
    found = arm_effect(value, tank=tank, second_arm=second)
    means = np.array([value[tank == one].mean() for one in range(6)])
    classical = stats.ttest_ind(means[3:], means[:3])
    assert found.value == pytest.approx(means[3:].mean() - means[:3].mean())
    assert float(found.df[0]) == pytest.approx(4.0)
    assert found.p_zero() == pytest.approx(float(classical.pvalue), rel=1e-6)
    welch = tanks_per_arm([Estimate.exact(one) for one in means[3:]], [Estimate.exact(one) for one in means[:3]])
    assert float(found.scale[0]) == pytest.approx(float(welch.scale[0]))


def test_more_plants_are_no_more_tanks() -> None:
    for each in (3, 60):
        value, tank, second = plants(1, each=each)
        assert float(arm_effect(value, tank=tank, second_arm=second).df[0]) == pytest.approx(4.0)


def test_pairs_take_out_what_the_shelf_does() -> None:
    value, tank, second = plants(2, tanks=4, between=2.0)
    pair = tank % 4
    shelf = np.array([0.0, 8.0, -5.0, 20.0])[pair]
    found = arm_effect(value + shelf, tank=tank, second_arm=second, block=pair)
    means = np.array([value[tank == one].mean() for one in range(8)])
    classical = stats.ttest_rel(means[4:], means[:4])
    assert found.value == pytest.approx(means[4:].mean() - means[:4].mean())
    assert float(found.df[0]) == pytest.approx(float(classical.df))
    assert found.p_zero() == pytest.approx(float(classical.pvalue), rel=1e-5)


@given(
    seed=st.integers(0, 10_000),
    sizes=st.lists(st.integers(1, 6), min_size=4, max_size=7).filter(lambda some: sum(some) > len(some) + 2),
)
def test_the_fit_is_the_top_of_the_dense_likelihood(seed: int, sizes: list[int]) -> None:
    rng = np.random.default_rng(seed)
    tank = np.repeat(np.arange(len(sizes)), sizes)
    day = rng.uniform(0, 10, tank.size)
    value = rng.normal(size=len(sizes))[tank] + 0.1 * day + rng.normal(size=tank.size)
    design = np.column_stack([np.ones(tank.size), day])
    fitted = fit_mixed(value, design, [Grouping("tank", tank)])
    same = (tank[:, None] == tank[None, :]).astype(float)

    def at(between: float, rest: float) -> float:
        return dense_log_likelihood(value, design, between * same + rest * np.eye(tank.size))

    between, rest = fitted.variances["tank"], fitted.residual_variance
    top = at(between, rest)
    assert top == pytest.approx(fitted.log_likelihood, abs=1e-6)
    for factor in (0.9, 1.1):
        assert at(between * factor, rest) <= top + 1e-9
        assert at(between, rest * factor) <= top + 1e-9
        assert at(between + 0.05 * rest, rest) <= top + 1e-7


@given(seed=st.integers(0, 10_000), shift=st.floats(-1e3, 1e3), scale=st.floats(0.01, 100.0))
def test_units_and_starting_points_change_nothing(seed: int, shift: float, scale: float) -> None:
    value, tank, second = plants(seed)
    plain = arm_effect(value, tank=tank, second_arm=second)
    moved = arm_effect(shift + scale * value, tank=tank, second_arm=second)
    assert moved.value == pytest.approx(scale * plain.value, rel=1e-6, abs=1e-9 * scale * (1 + abs(shift)))
    assert float(moved.scale[0]) == pytest.approx(scale * float(plain.scale[0]), rel=1e-4)
    assert float(moved.df[0]) == pytest.approx(float(plain.df[0]), rel=1e-4)


def test_groups_that_do_not_differ_are_found_at_zero_and_stay_the_unit() -> None:
    tank = np.repeat(np.arange(6), 4)
    value = np.tile([-1.0, 1.0, 2.0, -2.0], 6)
    design = np.column_stack([np.ones(24), tank >= 3]).astype(float)
    fitted = fit_mixed(value, design, [Grouping("tank", tank)])
    assert fitted.at_zero
    assert fitted.variances["tank"] == pytest.approx(0.0, abs=1e-5)
    methods: tuple[Method, ...] = ("kenward-roger", "satterthwaite")
    for method in methods:
        assert float(fitted.contrast([0, 1], method=method).df[0]) == pytest.approx(4.0, abs=1e-3)


def test_one_tank_per_arm_is_refused_and_says_why() -> None:
    value, tank, second = plants(0, tanks=1, each=10)
    with pytest.raises(ConfoundedError, match="2 groups of tank cannot be told apart"):
        arm_effect(value, tank=tank, second_arm=second)


def test_one_value_per_tank_is_a_t_test_over_tanks() -> None:
    value, tank, second = plants(0, tanks=4, each=1)
    found = arm_effect(value, tank=tank, second_arm=second)
    assert found.p_zero() == pytest.approx(float(stats.ttest_ind(value[second], value[~second]).pvalue), rel=1e-9)
    assert float(found.df[0]) == 6


def test_one_value_per_tank_in_blocks_of_two_is_the_paired_t_test() -> None:
    value, tank, second = plants(1, tanks=5, each=1)
    found = arm_effect(value, tank=tank, second_arm=second, block=np.tile(np.arange(5), 2))
    assert found.p_zero() == pytest.approx(float(stats.ttest_rel(value[second], value[~second]).pvalue), rel=1e-9)
    with pytest.raises(TooFewPointsError):
        arm_effect(value[[0, 5]], tank=tank[[0, 5]], second_arm=second[[0, 5]])


def test_nested_labels_tell_tanks_of_the_same_name_apart() -> None:
    shelf, tank = np.array(["a", "a", "b", "b"]), np.array([1, 2, 1, 2])
    assert nested(shelf, tank).tolist() == [0, 1, 2, 3]
    assert nested(tank).tolist() == [0, 1, 0, 1]


@pytest.mark.parametrize("level", [0.0, 1e6, 1e-6])
def test_values_that_are_all_one_show_no_difference(level: float) -> None:
    tank = np.repeat(np.arange(6), 3)
    found = arm_effect(np.full(18, level), tank=tank, second_arm=tank >= 3)
    low, high = found.interval()
    assert low < 1e-12 * (1 + level)
    assert high > -1e-12 * (1 + level)
    assert high - low <= 1e-9 * (1 + level)
