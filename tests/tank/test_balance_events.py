"""What each event does to a tank, one at a time, and what is refused."""

from __future__ import annotations

import math

import numpy as np
import pytest

from littoral.tank.balance import TopUpWater, extremes, levels_at, solve, vector
from littoral.tank.events import BalanceError, TankEvent, minute_of


def _level(
    events: list[TankEvent], day: float, *, evaporation: float = 0.0, topped_up_with: TopUpWater = "pure water"
) -> float:
    balance = solve(
        events,
        source_mg_per_l=[4.0],
        start_mg_per_l=[20.0],
        net_volume_l=50.0,
        evaporation_l_per_day=evaporation,
        topped_up_with=topped_up_with,
    )
    return float(levels_at(balance, day)[0, 0])


def test_a_dose_counts_from_its_own_moment_on() -> None:
    dose = TankEvent(1.5, np.array([100.0]))
    assert _level([dose], 1.4999) == 20.0
    assert _level([dose], 1.5) == 22.0


def test_a_change_replaces_its_share_by_source_water() -> None:
    assert _level([TankEvent(1.0, share_changed=0.25)], 2.0) == pytest.approx(20 * 0.75 + 4 * 0.25)


def test_evaporation_concentrates_and_a_top_up_dilutes_again() -> None:
    assert _level([], 10.0, evaporation=1.0) == pytest.approx(20.0 * 50 / 40)
    top_up = TankEvent(10.0, topped_up_l=10.0)
    assert _level([top_up], 10.0, evaporation=1.0) == pytest.approx(20.0)
    assert _level([top_up], 10.0, evaporation=1.0, topped_up_with="source water") == pytest.approx((1000 + 40) / 50)


def test_a_change_tops_up_first() -> None:
    change = TankEvent(10.0, share_changed=0.5)
    assert _level([change], 10.0, evaporation=1.0) == pytest.approx(20 * 0.5 + 4 * 0.5)
    with_source = _level([change], 10.0, evaporation=1.0, topped_up_with="source water")
    assert with_source == pytest.approx((1000 + 40) / 50 * 0.5 + 4 * 0.5)


def test_a_top_up_never_lifts_the_water_over_the_net_volume() -> None:
    assert _level([TankEvent(10.0, topped_up_l=12.0)], 10.0, evaporation=1.0) == pytest.approx(20.0)
    # what source water brings counts in full: more must have evaporated than was stated
    brought = _level([TankEvent(10.0, topped_up_l=12.0)], 10.0, evaporation=1.0, topped_up_with="source water")
    assert brought == pytest.approx((1000 + 48) / 50)


def test_change_and_dose_of_one_minute_change_first() -> None:
    change, dose = TankEvent(3.0, share_changed=0.5), TankEvent(3.0, np.array([100.0]))
    assert _level([dose, change], 3.0) == pytest.approx(20 * 0.5 + 4 * 0.5 + 2.0)
    later_by_seconds = TankEvent(3.0 + 40 / 86400, share_changed=0.5)
    assert _level([dose, later_by_seconds], 3.01) == _level([dose, change], 3.01)
    next_minute = TankEvent(3.0 + 60 / 86400, share_changed=0.5)
    assert _level([dose, next_minute], 3.01) == pytest.approx(22 * 0.5 + 4 * 0.5)


@pytest.mark.parametrize("minute", [0, 1, 7, 719, 1439, 1440, 80_639])
def test_every_whole_minute_is_in_itself(minute: int) -> None:
    assert minute_of(minute / 1440) == minute
    assert minute_of(minute * 60 / 86400) == minute


def test_trough_and_peak_see_both_sides_of_an_event_and_the_turn_between() -> None:
    events = [TankEvent(1.0, np.array([500.0])), TankEvent(2.0, share_changed=0.9)]
    balance = solve(events, source_mg_per_l=[0.0], start_mg_per_l=[1.0], net_volume_l=50.0)
    trough, peak = extremes(balance, from_day=0.5, to_day=2.0)
    assert (trough[0], peak[0]) == (1.0, 11.0)
    # uptake 0.05/day and evaporation 2 L/day balance at 40 L, on day 5: the level falls before and rises after
    turning = solve([], source_mg_per_l=[0.0], start_mg_per_l=[10.0], net_volume_l=50.0, evaporation_l_per_day=2.0,
                    uptake_per_day=[0.05])  # fmt: skip
    trough, _ = extremes(turning, from_day=0.0, to_day=20.0)
    assert trough[0] == pytest.approx(500 * math.exp(-0.25) / 40, rel=1e-14)
    assert trough[0] <= levels_at(turning, np.linspace(0, 20, 4001)).min() * (1 + 1e-14)


def test_many_nutrients_at_many_days_at_once() -> None:
    nutrients = ("nitrate", "iron", "zinc")
    source = vector({"nitrate": 12.0, "iron": 0.01, "calcium": 60.0}, nutrients)
    start = vector({"iron": 0.2}, nutrients, otherwise=source)
    assert source.tolist() == [12.0, 0.01, 0.0]
    assert start.tolist() == [12.0, 0.2, 0.0]
    balance = solve(
        [TankEvent(2.0, vector({"iron": 5.0}, nutrients))],
        source_mg_per_l=source,
        start_mg_per_l=start,
        net_volume_l=50.0,
        uptake_per_day=vector({"iron": 0.3}, nutrients),
    )
    levels = levels_at(balance, [0.0, 2.0, 9.0])
    assert levels.shape == (3, 3)
    assert levels[0].tolist() == [12.0, 12.0, 12.0]
    assert levels[1, 2] == pytest.approx((0.2 * math.exp(-0.6) + 0.1) * math.exp(-2.1), rel=1e-14)
    nothing_done = solve([], source_mg_per_l=source, start_mg_per_l=start, net_volume_l=50.0)
    assert levels_at(nothing_done, []).shape == (3, 0)


@pytest.mark.parametrize(
    ("event", "message"),
    [
        (TankEvent(-0.5), "an event at day -0.5, before the start"),
        (TankEvent(math.nan), "an event at day nan, before the start"),
        (TankEvent(1.0, share_changed=1.5), "day 1: a change of 1.5 of the water"),
        (TankEvent(1.0, topped_up_l=-1.0), "day 1: a top-up of -1 L"),
        (TankEvent(1.0, np.array([-1.0])), "day 1: a negative dose"),
        (TankEvent(1.0, np.array([1.0, 2.0])), "day 1: a dose of shape (2,) for 1 nutrients"),
    ],
)
def test_events_that_cannot_be(event: TankEvent, message: str) -> None:
    with pytest.raises(BalanceError) as refusal:
        _level([event], 2.0)
    assert message in str(refusal.value)


def test_tanks_that_cannot_be() -> None:
    whole = {"source_mg_per_l": 0.0, "start_mg_per_l": 1.0, "net_volume_l": 50.0}
    for wrong, message in (
        ({"net_volume_l": 0.0}, "a net volume of 0 L"),
        ({"evaporation_l_per_day": -1.0}, "evaporation of -1 L/day"),
        ({"source_mg_per_l": -1.0}, "the source level is below zero"),
        ({"uptake_per_day": math.inf}, "the uptake is below zero or no number"),
    ):
        with pytest.raises(BalanceError) as refusal:
            solve([], **{**whole, **wrong})
        assert message in str(refusal.value)


def test_a_tank_nobody_tops_up_runs_dry_and_says_when() -> None:
    with pytest.raises(BalanceError, match="by day 60 evaporation would have emptied the tank"):
        _level([], 60.0, evaporation=1.0)
    with pytest.raises(BalanceError, match="by day 55 evaporation"):
        _level([TankEvent(55.0, share_changed=0.5)], 60.0, evaporation=1.0)


def test_no_level_before_the_start() -> None:
    for day in (-0.1, math.nan):
        with pytest.raises(BalanceError, match="before the start"):
            _level([], day)
