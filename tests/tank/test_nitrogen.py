"""Urea to ammonium to nitrate: against SciPy's integrator, where rates meet, and conservation of nitrogen."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.tank.course import Course, prepare
from littoral.tank.events import BalanceError, TankEvent
from littoral.tank.kinetics import FirstOrder, Kinetics, MichaelisMenten
from littoral.tank.levels import ledger, levels
from littoral.tank.linear_decay import decayed_thrice, decayed_twice
from littoral.tank.nitrogen import AMMONIUM_PER_UREA, NITRATE_PER_AMMONIUM, Nitrogen, NitrogenRates, nitrogen

Array = NDArray[np.float64]
NET_L = 50.0
UREA_MG, NITRATE_MG = 60.0, 80.0

rates = st.just(0.0) | st.floats(1e-3, 20.0)


def test_the_masses_of_one_nitrogen() -> None:
    """From formula weights: CH4N2O 60.056, NH4 18.039, NO3 62.005 (two N in urea)."""
    assert pytest.approx(2 * 18.039 / 60.056, rel=1e-4) == AMMONIUM_PER_UREA
    assert pytest.approx(62.005 / 18.039, rel=1e-4) == NITRATE_PER_AMMONIUM


@settings(max_examples=60, deadline=None)
@given(rates, rates, rates, st.floats(1e-3, 30.0))
@example(1.0, 1.0, 1.0, 5.0)
@example(0.0, 0.0, 0.0, 5.0)
@example(0.0, 0.5, 0.5, 5.0)
@example(2.0, 2.0 * (1 + 1e-9), 0.1, 5.0)
@example(0.3, 0.3 + 1 / 5.0, 0.3, 5.0)  # where the power series hands over to the differences
def test_chains_are_as_the_integrator_says(one: float, other: float, third: float, days: float) -> None:
    def slope(_: float, state: Array) -> list[float]:
        return [-one * state[0], state[0] - other * state[1], state[1] - third * state[2]]

    path = solve_ivp(slope, (0.0, days), [1.0, 0.0, 0.0], "Radau", rtol=1e-10, atol=1e-12)
    ours = [float(decayed_twice(one, other, days)), float(decayed_thrice(one, other, third, np.array(days)))]
    np.testing.assert_allclose(ours, path.y[1:, -1], rtol=1e-7, atol=1e-9)


def _fed(given: NitrogenRates, **more: Any) -> tuple[Course, Nitrogen]:
    doses = np.array([NITRATE_MG, UREA_MG, 12.0])
    events = [TankEvent(float(day), doses) for day in (0, 2, 4, 7, 9)]
    events.append(TankEvent(7.0, share_changed=0.4))
    courses = [prepare(events, net_volume_l=NET_L, nutrient=i, nutrients=3, **more) for i in range(3)]
    return courses[0], nitrogen(courses[0], given, urea_dose_mg=courses[1].dose_mg, ammonium_dose_mg=courses[2].dose_mg)


def _integrated(given: NitrogenRates, slope_of_nitrate: Any, at: Array) -> Array:
    """The twin, for one draw: nitrate at `at` (mg/L) from doses, change and the chain, step by step."""
    split, oxidised = np.asarray(given.hydrolysis_per_day).item(), np.asarray(given.nitrification_per_day).item()
    taken = np.asarray(given.uptake_per_day).item()
    share = {key: NUTRIENTS[key].element_share for key in ("urea", "ammonium", "nitrate")}
    state, now, found = np.array([5.0 * NET_L, 0.0, 0.2 * NET_L]), 0.0, np.empty(len(at))

    def slope(_: float, state: Array) -> list[float]:
        nitrate, urea, ammonium = state
        nitrified = oxidised * ammonium
        return [
            slope_of_nitrate(nitrate) + nitrified * share["ammonium"] / share["nitrate"],
            -split * urea,
            split * urea * share["urea"] / share["ammonium"] - nitrified - taken * ammonium,
        ]

    for day in (0.0, 2.0, 4.0, 7.0, 9.0, 12.0):
        inside = np.flatnonzero((at >= now) & (at < day))
        if day > now:
            path = solve_ivp(slope, (now, day), state, "LSODA", np.append(at[inside], day), rtol=1e-10, atol=1e-10)
            found[inside], state, now = path.y[0, :-1] / NET_L, path.y[:, -1].copy(), day
        if day == 7.0:
            state = state * 0.6 + 0.4 * NET_L * np.array([3.0, 0.0, 0.1])
        state = state + np.array([NITRATE_MG, UREA_MG, 12.0])
    return found


AT = np.arange(0.0, 11.9, 0.3)


@settings(max_examples=8, deadline=None)
@given(rates, rates, st.just(0.0) | st.floats(0.01, 1.0), st.floats(0.1, 5.0), st.floats(0.3, 30.0))
def test_nitrate_fed_by_the_chain(split: float, oxidised: float, uptake: float, v: float, k: float) -> None:
    given = NitrogenRates(split, oxidised, uptake, 0.0, 0.2, 0.1)
    course, chain = _fed(given)
    tolerance = 0.02
    kinetics = Kinetics(MichaelisMenten(np.array(v), np.array(k)), 3.0, 5.0)
    ours = levels(course, kinetics, AT, nitrogen=chain, tolerance_mg_per_l=tolerance)[0]
    theirs = _integrated(given, lambda mass: -v * NET_L * mass / (k * NET_L + mass), AT)
    np.testing.assert_allclose(ours, theirs, atol=tolerance)
    linear = Kinetics(FirstOrder(np.array(v / 10)), 3.0, 5.0)
    ours = levels(course, linear, AT, nitrogen=chain, tolerance_mg_per_l=tolerance)[0]
    theirs = _integrated(given, lambda mass: -v / 10 * mass, AT)
    np.testing.assert_allclose(ours, theirs, atol=tolerance)


def test_nitrogen_is_conserved() -> None:
    draws = 20
    rng = np.random.default_rng(3)
    given = NitrogenRates(rng.lognormal(0, 1, draws), rng.lognormal(0, 1, draws), 0.0, 0.0, 0.2)
    course, chain = _fed(given)
    kinetics = Kinetics(MichaelisMenten(rng.lognormal(0, 0.5, draws), np.array(2.0)), 0.0, 5.0)
    book = ledger(course, kinetics, to_day=12.0, nitrogen=chain)
    came = book.start_mg + book.dosed_mg + book.nitrified_mg
    np.testing.assert_allclose(came, book.removed_mg + book.taken_up_mg + book.left_mg, rtol=1e-12)
    # what was dosed as urea and ammonium is still there, went with the change, or nitrified
    urea, ammonium, _ = chain.masses(len(course.day) - 1, np.array([12.0]))
    share = {key: NUTRIENTS[key].element_share for key in ("urea", "ammonium", "nitrate")}
    before_urea, before_ammonium, _ = chain.masses(3, np.array([7.0]))
    there = (urea[0] + 0.4 * before_urea[0]) * share["urea"] + (ammonium[0] + 0.4 * before_ammonium[0]) * share[
        "ammonium"
    ]
    dosed = 5 * (UREA_MG * share["urea"] + 12.0 * share["ammonium"]) + 0.2 * NET_L * share["ammonium"]
    np.testing.assert_allclose(there + book.nitrified_mg * share["nitrate"], dosed, rtol=1e-12)


def test_urea_that_turns_at_once_is_nitrate_dosed() -> None:
    """With both rates beyond all others, urea is so much nitrate in the water: 2 x 62.005 / 60.056 of its mass."""
    course, chain = _fed(NitrogenRates(100.0, 100.0))
    kinetics = Kinetics(MichaelisMenten(np.array(1.5), np.array(2.0)), 0.0, 5.0)
    ours = levels(course, kinetics, AT, nitrogen=chain)[0]
    mass = NITRATE_MG + (UREA_MG * AMMONIUM_PER_UREA + 12.0) * NITRATE_PER_AMMONIUM
    events = [TankEvent(float(day), np.array([mass]), 0.4 if day == 7 else 0.0) for day in (0, 2, 4, 7, 9)]
    direct = levels(prepare(events, net_volume_l=NET_L), kinetics, AT)[0]
    later = np.min(np.abs(AT[:, None] - 0.2 - [event.day for event in events]), axis=1) > 0.2
    np.testing.assert_allclose(ours[later], direct[later], atol=0.1)


def test_chains_that_cannot_be() -> None:
    with pytest.raises(BalanceError, match="the nitrification per day is below zero"):
        NitrogenRates(1.0, -1.0)
    with pytest.raises(BalanceError, match="the hydrolysis per day is over 100 a day"):
        NitrogenRates(101.0, 1.0)
    course = prepare([TankEvent(1.0)], net_volume_l=NET_L)
    with pytest.raises(BalanceError, match=r"doses of shapes \(2,\) and \(3,\) on a course of 2 minutes"):
        nitrogen(course, NitrogenRates(1.0, 1.0), urea_dose_mg=np.zeros(2), ammonium_dose_mg=np.zeros(3))
