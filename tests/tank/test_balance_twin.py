"""The exact mass balance against a slow, obvious twin (SciPy's integrator), and against conservation of mass."""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from littoral.tank.balance import TopUpWater, extremes, levels_at, solve
from littoral.tank.events import TankEvent

Array = NDArray[np.float64]

LENGTH = 14  # days
NET_L = 40.0

events_of_a_tank = st.lists(
    st.builds(
        TankEvent,
        day=st.integers(0, LENGTH * 1440).map(lambda minute: minute / 1440),
        adds_mg=st.none() | st.tuples(st.floats(0, 500), st.floats(0, 5)).map(np.array),
        share_changed=st.just(0.0) | st.floats(0.0, 1.0),
        topped_up_l=st.just(0.0) | st.floats(0.0, 5.0),
    ),
    max_size=12,
)
tanks = st.fixed_dictionaries(
    {
        "source_mg_per_l": st.tuples(st.floats(0, 50), st.floats(0, 1)).map(np.array),
        "start_mg_per_l": st.tuples(st.floats(0, 50), st.floats(0, 1)).map(np.array),
        "uptake_per_day": st.tuples(st.floats(0, 0.5), st.floats(0, 2)).map(np.array),
        "evaporation_l_per_day": st.floats(0, 2),
        "topped_up_with": st.sampled_from(["pure water", "source water"]),
        "net_volume_l": st.just(NET_L),
    }
)


def integrated(events: list[TankEvent], tank: dict[str, Any], at_days: Array) -> Array:
    """The twin: integrate mass and volume between events with SciPy, and do each event as a person would."""
    kinds: list[tuple[float, int, TankEvent]] = []
    for event in events:
        kinds += [(event.day, order, event) for order in range(3)]
    stops = sorted(kinds, key=lambda stop: stop[:2])
    mass, litres, now = tank["start_mg_per_l"] * NET_L, NET_L, 0.0
    source = tank["source_mg_per_l"]
    top_up = source if tank["topped_up_with"] == "source water" else np.zeros(2)
    levels = np.full((2, len(at_days)), np.nan)

    def slope(_: float, state: Array) -> Array:
        return np.append(-tank["uptake_per_day"] * state[:-1], -tank["evaporation_l_per_day"])

    def advance(to: float) -> None:
        nonlocal mass, litres, now
        inside = np.flatnonzero((at_days >= now) & (at_days < to))
        if to > now:
            wanted = np.append(at_days[inside], to)
            path = solve_ivp(slope, (now, to), np.append(mass, litres), "DOP853", wanted, rtol=1e-12, atol=1e-12)
            levels[:, inside] = path.y[:-1, :-1] / path.y[-1, :-1]
            mass, litres, now = path.y[:-1, -1], path.y[-1, -1], to

    for day, order, event in stops:
        advance(day)
        if order == 0 and event.share_changed > 0:
            mass = mass + top_up * (NET_L - litres)
            litres = NET_L
            mass = mass - mass / litres * (event.share_changed * litres) + source * (event.share_changed * litres)
        elif order == 1:
            mass, litres = mass + top_up * event.topped_up_l, min(NET_L, litres + event.topped_up_l)
        elif order == 2 and event.adds_mg is not None:
            mass = mass + event.adds_mg
    advance(LENGTH + 1.0)
    return levels


@settings(max_examples=60, deadline=None)
@given(events_of_a_tank, tanks)
def test_as_the_integrator_says(events: list[TankEvent], tank: dict[str, Any]) -> None:
    days = np.arange(0.0, LENGTH + 0.5, 0.37)
    exact = levels_at(solve(events, **tank), days)
    np.testing.assert_allclose(exact, integrated(events, tank, days), rtol=1e-8, atol=1e-8)


@given(events_of_a_tank, tanks)
def test_mass_is_conserved(events: list[TankEvent], tank: dict[str, Any]) -> None:
    balance = solve(events, **tank)
    ledger = balance.ledger
    came = ledger.start_mg + ledger.dosed_mg + ledger.from_source_mg
    went = ledger.removed_mg + ledger.taken_up_mg + ledger.left_mg
    np.testing.assert_allclose(came, went, rtol=1e-12, atol=1e-12)
    doses = [event.adds_mg for event in events if event.adds_mg is not None]
    np.testing.assert_allclose(ledger.dosed_mg, sum(doses, start=np.zeros(2)), rtol=1e-12, atol=1e-12)
    # what is in the water is what the ledger says is left
    level_times_litres = levels_at(balance, balance.day[-1])[:, 0] * balance.after_l[-1]
    np.testing.assert_allclose(level_times_litres, ledger.left_mg, rtol=1e-12, atol=1e-12)


@given(events_of_a_tank, tanks)
def test_nothing_is_below_zero_and_no_tank_overflows(events: list[TankEvent], tank: dict[str, Any]) -> None:
    balance = solve(events, **tank)
    assert (balance.after_mg >= 0).all()
    assert (balance.before_mg >= 0).all()
    assert (balance.after_l <= NET_L).all()


@given(events_of_a_tank, tanks, st.randoms(use_true_random=False))
def test_the_order_of_notes_does_not_matter(events: list[TankEvent], tank: dict[str, Any], random: Any) -> None:
    shuffled = events.copy()
    random.shuffle(shuffled)
    one, other = solve(events, **tank), solve(shuffled, **tank)
    np.testing.assert_allclose(one.after_mg, other.after_mg, rtol=1e-12, atol=1e-12)


@pytest.mark.parametrize("seconds", [(0, 0, 0), (0, 20, 59), (59, 30, 0)])
@given(tank=tanks)
def test_the_order_within_a_minute_does_not_matter(seconds: tuple[int, int, int], tank: dict[str, Any]) -> None:
    noon = 5.5
    acts = [{"adds_mg": np.array([30.0, 0.2])}, {"share_changed": 0.4}, {"topped_up_l": 1.0}, {"share_changed": 0.1}]
    after = []
    for order in itertools.permutations(acts):
        times = [noon + second / 86400 for second in (*seconds, 10)]
        events = [TankEvent(day=time, **act) for time, act in zip(times, order, strict=True)]
        after.append(levels_at(solve(events, **tank), 6.0)[:, 0])
    np.testing.assert_allclose(after, np.broadcast_to(after[0], (24, 2)), rtol=1e-12, atol=1e-12)


@given(events_of_a_tank, tanks)
def test_without_uptake_is_the_upper_line(events: list[TankEvent], tank: dict[str, Any]) -> None:
    days = np.arange(0.0, LENGTH, 0.5)
    likely = levels_at(solve(events, **tank), days)
    upper = levels_at(solve(events, **{**tank, "uptake_per_day": np.zeros(2)}), days)
    assert (upper >= likely * (1 - 1e-12)).all()


def test_topping_up_with_source_water_is_a_slow_dose() -> None:
    """Pure water keeps the mass, source water adds what it holds: 7 litres of 10 mg/L are 70 mg."""
    tank: dict[str, Any] = {"source_mg_per_l": [10.0], "start_mg_per_l": [0.0], "net_volume_l": NET_L}
    events = [TankEvent(float(day), topped_up_l=1.0) for day in range(1, 8)]
    waters: tuple[TopUpWater, ...] = ("pure water", "source water")
    left = [solve(events, evaporation_l_per_day=1.0, topped_up_with=w, **tank).ledger.left_mg[0] for w in waters]
    assert left == [0.0, 70.0]


@given(events_of_a_tank, tanks, st.floats(0, LENGTH), st.floats(0, LENGTH))
def test_trough_and_peak_bound_every_level(
    events: list[TankEvent], tank: dict[str, Any], one: float, other: float
) -> None:
    from_day, to_day = sorted((one, other))
    balance = solve(events, **tank)
    trough, peak = extremes(balance, from_day=from_day, to_day=to_day)
    levels = levels_at(balance, np.linspace(from_day, to_day, 301))
    assert (trough <= levels.min(axis=1) * (1 + 1e-9) + 1e-12).all()
    assert (peak >= levels.max(axis=1) * (1 - 1e-9) - 1e-12).all()


def test_a_tank_may_start_later_than_day_0() -> None:
    tank: dict[str, Any] = {"source_mg_per_l": 2.0, "start_mg_per_l": 10.0, "net_volume_l": NET_L}
    tank["uptake_per_day"] = 0.1
    late = solve([TankEvent(9.0, share_changed=0.5)], start_day=4.0, **tank)
    from_zero = solve([TankEvent(5.0, share_changed=0.5)], **tank)
    np.testing.assert_allclose(levels_at(late, [4.0, 9.0, 11.0]), levels_at(from_zero, [0.0, 5.0, 7.0]), rtol=1e-14)
