"""Crossover of pairs: what each term takes out, what degrees of freedom are left, what the draw alone can promise."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.stats.crossover import (
    equal_orders,
    in_blocks,
    one_pair,
    orders_in_twos,
    randomisation,
    several_pairs,
    switchback,
    two_periods,
)
from littoral.stats.regression import TooFewPointsError

ALTERNATING = np.array([True, False, True, False, True, False])
BLOCKS = np.array([True, True, True, False, False, False])


@given(effect=st.floats(-5, 5), standing=st.floats(-50, 50), drift=st.floats(-2, 2), lasting=st.floats(-1, 1))
def test_each_term_finds_what_was_put_in(effect: float, standing: float, drift: float, lasting: float) -> None:
    order = np.array([True, False, False, True, True, False, True, False])
    regime = np.where(order, 1.0, -1.0)
    before = np.concatenate([[0.0], regime[:-1]])
    value = standing + effect * regime + drift * (np.arange(8) - 3.5) + lasting * before
    found = one_pair(value, order, trend=True, carry_over=True)
    assert found.effect.value == pytest.approx(effect, abs=1e-9)
    assert found.standing.value == pytest.approx(standing, abs=1e-9)
    assert found.trend is not None
    assert found.trend.value == pytest.approx(drift, abs=1e-9)
    assert found.carry_over is not None
    assert found.carry_over.value == pytest.approx(lasting, abs=1e-9)
    assert found.df == 8 - 4


def test_degrees_of_freedom_are_periods_less_what_is_estimated() -> None:
    value = np.array([1.0, 0.2, 1.4, 0.1, 0.9, 0.3])
    assert one_pair(value, ALTERNATING).df == 4
    assert one_pair(value, ALTERNATING, trend=True).df == 3
    assert one_pair(value, BLOCKS).df == 3
    assert one_pair(value, BLOCKS, trend=False).df == 4


def test_blocks_get_a_trend_and_alternation_does_not() -> None:
    assert in_blocks(BLOCKS)
    assert in_blocks(~BLOCKS)
    assert not in_blocks(ALTERNATING)
    assert not in_blocks(np.array([True, False, True, False]))
    assert not in_blocks(np.array([True, True, True]))
    drifting = np.arange(6.0)
    assert one_pair(drifting, BLOCKS).effect.value == pytest.approx(0.0, abs=1e-12)
    assert one_pair(drifting, BLOCKS).ordered
    assert abs(one_pair(drifting, BLOCKS, trend=False).effect.value) > 1


def test_one_tank_that_switches_back_reads_the_whole_difference() -> None:
    value = np.where(ALTERNATING, 14.0, 10.0) + 0.5 * np.arange(6)
    found = switchback(value, ALTERNATING)
    assert found.effect.value == pytest.approx(4.0)
    assert found.df == 3


def test_pairs_of_two_periods_cancel_what_tanks_differ_by() -> None:
    assert two_periods(np.array([7.0, 3.0]), np.array([True, False])) == pytest.approx(2.0)
    assert two_periods(np.array([7.0, 3.0]), np.array([False, True])) == pytest.approx(-2.0)
    mean, flips = several_pairs([2.0, 1.0, 3.0, 2.5])
    assert mean.value == pytest.approx(2.125)
    assert float(mean.df[0]) == 3
    assert flips.smallest_p == 0.125


def test_the_draws_orders_are_all_there() -> None:
    assert len(equal_orders(6)) == 20
    assert all(one.sum() == 3 for one in equal_orders(6))
    assert len(orders_in_twos(6)) == 8
    assert all(one[2 * i] != one[2 * i + 1] for one in orders_in_twos(6) for i in range(3))


def test_randomisation_is_the_obvious_count() -> None:
    value = np.array([3.0, 1.0, 2.5, 0.5, 2.0, 1.5])
    found = randomisation(value, ALTERNATING, equal_orders(6))
    observed = value[ALTERNATING].mean() - value[~ALTERNATING].mean()
    count = 0
    for chosen in itertools.combinations(range(6), 3):
        rest = [i for i in range(6) if i not in chosen]
        count += abs(value[list(chosen)].mean() - value[rest].mean()) >= observed - 1e-9
    assert found.p_value == pytest.approx(count / 20)
    assert found.smallest_p == pytest.approx(0.1)
    with pytest.raises(ValueError, match="not among"):
        randomisation(value, BLOCKS, orders_in_twos(6))


@pytest.mark.parametrize(
    ("value", "order"),
    [
        ([1.0, 2.0], [True, False]),
        ([1.0, 2.0, 3.0, 4.0], [True, True, True, True]),
        ([1.0, 2.0, 3.0], [True, True, False]),
    ],
)
def test_too_few_periods_are_refused(value: list[float], order: list[bool]) -> None:
    with pytest.raises(TooFewPointsError):
        one_pair(np.array(value), np.array(order), trend=True)


def test_one_pair_alone_is_refused_as_several() -> None:
    with pytest.raises(TooFewPointsError):
        several_pairs([1.0])
    with pytest.raises(TooFewPointsError):
        two_periods(np.array([1.0, 2.0]), np.array([True, True]))
