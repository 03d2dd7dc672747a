"""Levels under uptake kinetics against slow, obvious twins: SciPy's integrator, and the first-order balance."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from littoral.tank.balance import levels_at, solve
from littoral.tank.course import Course, prepare
from littoral.tank.events import TankEvent
from littoral.tank.kinetics import FirstOrder, Kinetics, MichaelisMenten
from littoral.tank.levels import ledger, levels, mean_level
from littoral.tank.walk import Question, Stretch, walk

Array = NDArray[np.float64]
LENGTH = 14.0
NET_L = 40.0
AT = np.arange(0.0, LENGTH + 0.1, 0.7)

events_of_a_tank = st.lists(
    st.builds(
        TankEvent,
        day=st.integers(0, int(LENGTH) * 1440).map(lambda minute: minute / 1440),
        adds_mg=st.none() | st.floats(0.0, 500.0).map(lambda mg: np.array([mg])),
        share_changed=st.just(0.0) | st.floats(0.0, 1.0),
        topped_up_l=st.just(0.0) | st.floats(0.0, 5.0),
    ),
    max_size=6,
)
grown = st.none() | st.lists(st.floats(0.2, 2.0), min_size=1, max_size=4)
waters = st.sampled_from(["pure water", "source water"])


@dataclass(frozen=True)
class Tank:
    """One draw and its tank, as a person would write them down."""

    uptake: FirstOrder | MichaelisMenten
    source: float
    start: float
    release: float
    fade: float
    food: float
    loss: float
    water: Any
    biomass: list[float] | None

    def course(self, events: list[TankEvent]) -> Course:
        days = None if self.biomass is None else np.linspace(1.0, 9.0, len(self.biomass))
        return prepare(
            events, net_volume_l=NET_L, evaporation_l_per_day=self.loss, topped_up_with=self.water,
            biomass_day=days, biomass=self.biomass,
        )  # fmt: skip

    def kinetics(self) -> Kinetics:
        return Kinetics(self.uptake, self.source, self.start, self.release, self.fade, self.food)


saturating = st.builds(MichaelisMenten, st.just(0.0) | st.floats(0.05, 10.0), st.floats(0.1, 100.0))
first_order = st.builds(FirstOrder, st.just(0.0) | st.floats(0.01, 2.0))
some = st.just(0.0) | st.floats(0.01, 3.0)
fades = st.just(np.inf) | st.floats(5.0, 100.0)


def tanks(uptake: st.SearchStrategy[Any], *, loss: Any = None, fade: Any = fades, **fixed: Any) -> Any:
    return st.builds(
        Tank, uptake=uptake, source=st.floats(0, 50), start=st.floats(0, 50), release=fixed.get("release", some),
        fade=fade, food=fixed.get("food", some), loss=st.floats(0.0, 1.5) if loss is None else loss, water=waters,
        biomass=fixed.get("biomass", grown),
    )  # fmt: skip


closed = st.one_of(  # where the head of tank.levels promises a closed form
    tanks(first_order, biomass=st.none()),
    tanks(saturating, loss=st.just(0.0), fade=st.just(np.inf), biomass=st.none()),
    tanks(saturating, loss=st.just(0.0), release=st.just(0.0), food=st.just(0.0)),
)
cut_in_steps = tanks(saturating) | tanks(first_order)


def integrated(events: list[TankEvent], tank: Tank, at: Array) -> tuple[Array, Array]:
    """The twin: levels at `at`, and released, food, taken up and level-days until the last of them, one draw."""
    stops = sorted((event.day, order, i) for i, event in enumerate(events) for order in range(3))
    state = np.array([tank.start * NET_L, NET_L, 0.0, 0.0, 0.0, 0.0])
    now, levels = 0.0, np.full(len(at), np.nan)
    grid = np.array([0.0]) if tank.biomass is None else np.linspace(1.0, 9.0, len(tank.biomass))
    values = [1.0] if tank.biomass is None else tank.biomass

    def slope(day: float, state: Array) -> list[float]:
        level, plants = max(state[0], 0.0) / state[1], float(np.interp(day, grid, values))
        if isinstance(tank.uptake, FirstOrder):
            taken = float(tank.uptake.uptake_per_day) * plants * max(state[0], 0.0)
        else:
            half = float(tank.uptake.k_mg_per_l)
            taken = float(tank.uptake.v_mg_per_l_per_day) * plants * NET_L * level / (half + level)
        released, food = tank.release * NET_L * np.exp(-day / tank.fade), tank.food * NET_L
        return [released + food - taken, -tank.loss, released, food, taken, level]

    def advance(to: float) -> None:
        nonlocal state, now
        kinks = [*(kink for kink in grid if now < kink < to), to]
        for until in kinks if to > now else []:
            inside = np.flatnonzero((at >= now) & (at < until))
            wanted = np.append(at[inside], until)
            path = solve_ivp(slope, (now, until), state, "LSODA", wanted, rtol=1e-10, atol=1e-10)
            levels[inside] = path.y[0, :-1] / path.y[1, :-1]
            state, now = path.y[:, -1].copy(), until

    for day, order, i in stops:
        event = events[i]
        if day > at[-1]:
            break
        advance(day)
        top_up = tank.source if tank.water == "source water" else 0.0
        if order == 0 and event.share_changed > 0:
            state[0] += top_up * (NET_L - state[1])
            state[1] = NET_L
            state[0] += (tank.source * NET_L - state[0]) * event.share_changed
        elif order == 1:
            state[0] += top_up * event.topped_up_l
            state[1] = min(NET_L, state[1] + event.topped_up_l)
        elif order == 2 and event.adds_mg is not None:
            state[0] += event.adds_mg[0]
    advance(float(at[-1]))
    levels[at == at[-1]] = state[0] / state[1]
    return levels, state[2:]


@settings(max_examples=60, deadline=None)
@given(events_of_a_tank, closed)
def test_closed_forms_are_as_the_integrator_says(events: list[TankEvent], tank: Tank) -> None:
    course = tank.course(events)
    theirs, sums = integrated(events, tank, AT)
    np.testing.assert_allclose(levels(course, tank.kinetics(), AT)[0], theirs, rtol=2e-7, atol=2e-7)
    book = ledger(course, tank.kinetics(), to_day=float(AT[-1]))
    ours = [book.released_mg[0], book.food_mg[0], book.taken_up_mg[0]]
    np.testing.assert_allclose(ours, sums[:3], rtol=1e-7, atol=1e-5)
    mean = mean_level(course, tank.kinetics(), from_day=0.0, to_day=float(AT[-1]))
    np.testing.assert_allclose(mean[0], sums[3] / AT[-1], rtol=1e-5, atol=1e-5)


@pytest.mark.parametrize("tolerance", [0.5, 0.05, 0.002])
@settings(max_examples=25, deadline=None)
@given(events_of_a_tank, cut_in_steps)
def test_steps_stay_within_their_bound(tolerance: float, events: list[TankEvent], tank: Tank) -> None:
    course = tank.course(events)
    ours = levels(course, tank.kinetics(), AT, tolerance_mg_per_l=tolerance)[0]
    np.testing.assert_allclose(ours, integrated(events, tank, AT)[0], rtol=2e-7, atol=tolerance)


@settings(max_examples=60, deadline=None)
@given(events_of_a_tank, closed | cut_in_steps)
def test_mass_is_conserved(events: list[TankEvent], tank: Tank) -> None:
    course = tank.course(events)
    book = ledger(course, tank.kinetics(), to_day=LENGTH, tolerance_mg_per_l=0.5)
    came = book.start_mg + book.dosed_mg + book.from_source_mg + book.released_mg + book.food_mg + book.nitrified_mg
    np.testing.assert_allclose(came, book.removed_mg + book.taken_up_mg + book.left_mg, rtol=1e-12, atol=1e-12)
    last = levels(course, tank.kinetics(), LENGTH, tolerance_mg_per_l=0.5)[0, 0]
    litres = course.litres(len(course.day) - 1, np.array([LENGTH]))[0]
    np.testing.assert_allclose(last * litres, book.left_mg[0], rtol=1e-12, atol=1e-12)


@settings(max_examples=60, deadline=None)
@given(
    events_of_a_tank, st.floats(0, 2), st.floats(0, 50), st.floats(0, 50), st.floats(0, 1.5), waters,
)  # fmt: skip
def test_first_order_is_the_balance(
    events: list[TankEvent], uptake: float, source: float, start: float, loss: float, water: Any
) -> None:
    balance = solve(
        events, source_mg_per_l=source, start_mg_per_l=start, net_volume_l=NET_L, evaporation_l_per_day=loss,
        topped_up_with=water, uptake_per_day=uptake,
    )  # fmt: skip
    tank = Tank(FirstOrder(np.array(uptake)), source, start, 0.0, np.inf, 0.0, loss, water, None)
    at = np.sort(np.concatenate([AT, [event.day for event in events]]))
    ours = levels(tank.course(events), tank.kinetics(), at)
    np.testing.assert_allclose(ours, levels_at(balance, at), rtol=1e-11, atol=1e-12)
    book = ledger(tank.course(events), tank.kinetics(), to_day=float(balance.day[-1]))
    for name in ("start_mg", "dosed_mg", "from_source_mg", "removed_mg", "taken_up_mg", "left_mg"):
        theirs = getattr(balance.ledger, name)
        np.testing.assert_allclose(getattr(book, name), theirs, rtol=1e-10, atol=1e-9, err_msg=name)


def test_the_bound_is_kept_with_the_second_order() -> None:
    """Ten times closer takes about three times the steps, and the error that is left is far below what is allowed."""
    events = [TankEvent(float(day), np.array([120.0]), 0.4 if day % 7 == 0 else 0.0) for day in (0, 2, 4, 7, 9, 11)]
    tank = Tank(MichaelisMenten(np.array(2.0), np.array(3.0)), 5.0, 5.0, 0.8, 20.0, 0.1, 0.4, "pure water", [0.6, 1.5])
    theirs, _ = integrated(events, tank, AT)
    steps, off = [], []
    for tolerance in (0.1, 0.01, 0.001):
        question = Question(tank.course(events), tank.kinetics(), None, tolerance)
        steps.append(sum(isinstance(one, Stretch) for one in walk(question, AT, to_day=float(AT[-1]))))
        ours = levels(tank.course(events), tank.kinetics(), AT, tolerance_mg_per_l=tolerance)[0]
        off.append(float(np.abs(ours - theirs).max()))
        assert off[-1] < tolerance / 2
    assert 2.5 < steps[2] / steps[1] < 4.0  # the square root of ten
    assert off[1] / off[2] > 5.0
