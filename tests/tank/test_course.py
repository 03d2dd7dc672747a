"""A course and its kinetics: biomass and litres, what is refused, and the net removal."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.tank.course import prepare
from littoral.tank.events import BalanceError, TankEvent
from littoral.tank.kinetics import FirstOrder, Kinetics, MichaelisMenten, net_removal
from littoral.tank.levels import levels, mean_level

MM = MichaelisMenten(np.array([1.0, 2.0]), np.array(4.0))


@given(st.lists(st.floats(0, 3), min_size=1, max_size=5), st.floats(-2, 12), st.floats(0, 9))
def test_biomass_days_are_its_area_and_middle(values: list[float], from_day: float, length: float) -> None:
    days = np.cumsum([1.0, 2.0, 0.5, 3.0, 1.0])[: len(values)]
    course = prepare([], net_volume_l=10.0, start_day=-2.0, biomass_day=days, biomass=values)
    to = np.array([from_day + length])
    grown, middle = course.biomass_days(from_day, to)
    grid = np.unique(np.concatenate([np.linspace(from_day, to[0], 4001), np.clip(days, from_day, to[0])]))
    plants = np.interp(grid, days, values)
    assert grown[0] == pytest.approx(np.trapezoid(plants, grid), abs=1e-9)
    assert 0 <= middle[0] <= length + 1e-12
    moment = np.trapezoid(plants * (grid - from_day), grid)
    assert middle[0] * grown[0] == pytest.approx(moment, abs=1e-4)
    low, high = course.biomass_range(from_day, float(to[0]))
    assert low <= plants.min() + 1e-12
    assert high >= plants.max() - 1e-12


def test_a_missed_and_a_doubled_dose_are_just_events() -> None:
    kinetics = Kinetics(MichaelisMenten(np.array(0.0), np.array(1.0)), 0.0, 0.0)
    doses = [TankEvent(float(day), np.array([50.0])) for day in (1, 3, 3, 7)]
    assert levels(prepare(doses, net_volume_l=50.0), kinetics, [0, 1, 3, 5, 7])[0].tolist() == [0, 1, 3, 3, 4]


def test_days_come_back_in_the_order_asked() -> None:
    course = prepare([TankEvent(1.0, np.array([20.0]), 0.3)], net_volume_l=10.0)
    kinetics = Kinetics(MM, 5.0, 8.0)
    mixed, sorted_ = levels(course, kinetics, [3.0, 0.0, 3.0, 1.0]), levels(course, kinetics, [0.0, 1.0, 3.0])
    assert mixed.shape == (2, 4)
    np.testing.assert_array_equal(mixed, sorted_[:, [2, 0, 2, 1]])
    assert levels(course, kinetics, []).shape == (2, 0)
    assert sorted_[:, 0].tolist() == [8.0, 8.0]


def test_draws_do_not_know_of_each_other() -> None:
    rng = np.random.default_rng(5)
    events = [TankEvent(float(day), np.array([60.0]), 0.4 if day == 7 else 0.0) for day in (0, 2, 4, 7, 9)]
    course = prepare(events, net_volume_l=50.0)
    v, k, source = rng.lognormal(0.5, 0.5, (3, 40))
    at = np.arange(0.0, 12.0, 0.5)
    together = levels(course, Kinetics(MichaelisMenten(v, k), source, 4.0, v / 3), at)
    for i in range(0, 40, 7):
        alone = Kinetics(MichaelisMenten(v[i : i + 1], k[i : i + 1]), source[i], 4.0, v[i] / 3)
        np.testing.assert_allclose(levels(course, alone, at)[0], together[i], rtol=1e-12)


def test_net_removal_is_the_slope_of_the_level() -> None:
    course = prepare([], net_volume_l=40.0, biomass_day=[0.0, 10.0], biomass=[1.0, 2.0])
    for uptake in (MM, FirstOrder(np.array([0.1, 0.3]))):
        kinetics = Kinetics(uptake, 0.0, 10.0, np.array([0.2, 9.0]), 20.0, 0.1)
        before, at, after = levels(course, kinetics, [4.99, 5.0, 5.01], tolerance_mg_per_l=1e-5).T
        removal = net_removal(course, kinetics, level_mg_per_l=at, day=5.0)
        np.testing.assert_allclose(removal, (before - after) / 0.02, rtol=1e-3)
        assert bool(removal[1] < 0) is (uptake is MM)  # where plants saturate, this one gains more than they take
    assert net_removal(course, Kinetics(MM, 0.0, 1.0), level_mg_per_l=0.0, day=1.0).tolist() == [0.0, 0.0]
    # at a biomass of 1.5 and 4 mg/L, where half of v is taken: by hand
    by_hand = net_removal(course, Kinetics(MM, 0.0, 1.0), level_mg_per_l=4.0, day=5.0)
    np.testing.assert_allclose(by_hand, [0.75, 1.5], rtol=1e-14)


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"net_volume_l": 0.0}, "a net volume of 0 L"),
        ({"evaporation_l_per_day": -1.0}, "evaporation of -1 L/day"),
        ({"biomass_day": [0.0, 1.0], "biomass": [1.0]}, r"biomass of shape \(1,\) on days of shape \(2,\)"),
        ({"biomass_day": [0.0], "biomass": [-1.0]}, "or below zero"),
        ({"biomass": [1.0]}, r"biomass of shape \(1,\) on days of shape \(0,\)"),
        ({"biomass_day": [1.0, 1.0], "biomass": [1.0, 1.0]}, "the days of the biomass do not ascend"),
        ({"events": [TankEvent(60.0)], "evaporation_l_per_day": 1.0}, "by day 60 evaporation would have emptied"),
        ({"events": [TankEvent(-1.0)]}, "before the start"),
    ],
)
def test_courses_that_cannot_be(wrong: dict[str, Any], message: str) -> None:
    with pytest.raises(BalanceError, match=message):
        prepare(**{"events": [], "net_volume_l": 50.0, **wrong})


@pytest.mark.parametrize(
    ("made", "message"),
    [
        (lambda: MichaelisMenten(np.array(-1.0), np.array(1.0)), "the kinetics' v mg per l per day is out of bounds"),
        (lambda: MichaelisMenten(np.array(1.0), np.array([1.0, 0.0])), "the kinetics' k mg per l is out of bounds"),
        (lambda: FirstOrder(np.array(np.nan)), "the kinetics' uptake per day is out of bounds"),
        (lambda: Kinetics(MM, 0.0, np.inf), "the kinetics' start mg per l is out of bounds"),
        (lambda: Kinetics(MM, 0.0, 1.0, 1.0, 0.0), "the kinetics' release fade days is out of bounds"),
        (lambda: Kinetics(MM, np.ones((2, 2)), 1.0), "the kinetics' source mg per l is out of bounds"),
    ],
)
def test_kinetics_that_cannot_be(made: Any, message: str) -> None:
    with pytest.raises(BalanceError, match=message):
        made()


def test_questions_that_cannot_be_answered() -> None:
    course, kinetics = prepare([], net_volume_l=50.0, evaporation_l_per_day=1.0), Kinetics(MM, 0.0, 1.0)
    for days, message in (([-1.0], "no level is known at day -1"), ([np.nan], "no level is known at day nan"),
                          ([50.0], "by day 50 evaporation would have emptied")):  # fmt: skip
        with pytest.raises(BalanceError, match=message):
            levels(course, kinetics, days)
    with pytest.raises(BalanceError, match="a tolerance of 0 mg/L"):
        levels(course, kinetics, 1.0, tolerance_mg_per_l=0.0)
    with pytest.raises(BalanceError, match="no level is known"):
        mean_level(course, kinetics, from_day=2.0, to_day=1.0)


def test_the_mean_over_no_time_is_the_level() -> None:
    course, kinetics = prepare([TankEvent(2.0, np.array([40.0]))], net_volume_l=10.0), Kinetics(MM, 0.0, 6.0, 0.3)
    np.testing.assert_array_equal(
        mean_level(course, kinetics, from_day=2.0, to_day=2.0), levels(course, kinetics, 2.0)[:, 0]
    )
    at = np.linspace(1.0, 5.0, 40001)
    found = levels(course, kinetics, at)
    rule = (np.trapezoid(found[:, :10001], at[:10001]) + np.trapezoid(found[:, 10001:], at[10001:])) / 4
    np.testing.assert_allclose(mean_level(course, kinetics, from_day=1.0, to_day=5.0), rule, rtol=1e-3)
