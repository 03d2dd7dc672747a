"""What a pattern settles at: against the mass balance run for years, the textbook case, and what cannot be."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from littoral.feeding.adds import DoseError, week_adds_mg_per_l
from littoral.feeding.bottles import Bottle
from littoral.feeding.regimes import EveryDays, PlannedChange, PlannedDose, Regime
from littoral.tank.balance import levels_at, solve
from littoral.tank.events import BalanceError, TankEvent
from littoral.tank.one_dose import one_dose_settles_at
from littoral.tank.settled_steps import settled_steps
from littoral.tank.steady_state import Pattern, pattern_of, steady_state, weekly_response

MACRO = Bottle("macro", "macro", {"nitrate": 50.0, "potassium": 40.0})
MICRO = Bottle("micro", "micro", {"iron": 2.0})
BOTTLES = {"macro": MACRO, "micro": MICRO}
KEYS = ("nitrate", "iron")

shares = st.lists(st.just(0.0) | st.floats(0.05, 0.9), min_size=7, max_size=7).filter(lambda some: max(some) > 0.2)
doses = st.lists(st.just(0.0) | st.floats(0.1, 20.0), min_size=7, max_size=7)


@settings(max_examples=20, deadline=None)
@given(shares, doses, st.floats(0, 30), st.just(0.0) | st.floats(0.005, 0.5))
def test_against_the_mass_balance_run_long(share: list[float], dose: list[float], source: float, k: float) -> None:
    """The twin: the event-by-event balance, 80 weeks; a change at the hour, its dose one minute later."""
    minute = 1 / 1440
    events = [TankEvent(day + hour, adds, changed)
              for day in range(80 * 7)
              for hour, adds, changed in (
                  (0.5, None, share[day % 7]), (0.5 + minute, np.array([dose[day % 7]]), 0.0))]  # fmt: skip
    balance = solve(events, source_mg_per_l=[source], start_mg_per_l=[0.0], net_volume_l=1.0, uptake_per_day=[k])
    settled = steady_state(Pattern(("x",), np.array(share), np.array([dose])), source_mg_per_l=source, uptake_per_day=k)
    last = 79 * 7 + np.arange(7) + 0.5
    near = {"rel": 2 * k * minute + 1e-8, "abs": 1e-6}  # what is taken up in the minute between
    assert settled.after_change[0] == pytest.approx(levels_at(balance, last)[0], **near)
    assert settled.after_doses[0] == pytest.approx(levels_at(balance, last + minute)[0], **near)
    assert settled.before[0] == pytest.approx(levels_at(balance, last - 1e-9)[0], **near)
    hours = np.arange(79 * 7, 80 * 7, 1 / 96)
    assert settled.mean[0] == pytest.approx(levels_at(balance, hours)[0].mean(), rel=5e-3, abs=0.05)


@settings(deadline=None)
@given(shares, doses, st.floats(0, 0.3))
def test_mass_that_goes_in_comes_out(share: list[float], dose: list[float], k: float) -> None:
    """Settled: dosed = removed by changes + taken up, over one period."""
    settled = steady_state(Pattern(("x",), np.array(share), np.array([dose])), uptake_per_day=k)
    removed = float(((settled.before - settled.after_change)[0]).sum())
    taken_up = float((settled.after_doses[0] - np.roll(settled.before[0], -1)).sum())
    assert removed + taken_up == pytest.approx(sum(dose), rel=1e-9, abs=1e-9)
    assert taken_up == pytest.approx(k * settled.mean[0] * 7, rel=1e-6, abs=1e-9)


@given(st.floats(0.1, 20), st.floats(0.05, 1.0), st.floats(0, 30), st.just(0.0) | st.floats(0.001, 0.5))
def test_the_textbook_case_is_the_same(dose: float, share: float, source: float, k: float) -> None:
    book = one_dose_settles_at(dose_mg_per_l=dose, share_changed=share, source_mg_per_l=source, uptake_per_day=k)
    changed, adds = np.zeros(7), np.zeros((1, 7))
    changed[3], adds[0, 3] = share, dose
    settled = steady_state(Pattern(("x",), changed, adds), source_mg_per_l=source, uptake_per_day=k)
    assert settled.after_doses[0, 3] == pytest.approx(book.peak)
    assert settled.before[0, 3] == pytest.approx(book.before_change)
    assert settled.after_change[0, 3] == pytest.approx(book.after_change, abs=1e-12)
    assert len(book.steps) == 3


@settings(max_examples=40, deadline=None)
@given(
    st.floats(0, 20), st.lists(st.floats(0, 0.9), min_size=7, max_size=7), doses, st.floats(0, 30), st.floats(0, 40),
    st.just(0.0) | st.floats(0.001, 0.4), st.integers(1, 14),
)  # fmt: skip
def test_the_weekly_response_is_the_balance(
    top_up: float, share: list[float], dose: list[float], source: float, start: float, k: float, weeks: int
) -> None:
    """Linear map against stepping day by day; and no week in between is beyond the first and the last."""
    told: Any = {"source_mg_per_l": source, "uptake_per_day": k, "top_up_mg_per_l_per_day": top_up}
    response = weekly_response(["x"], share_changed=share, start_mg_per_l=start, weeks=weeks, **told)
    levels = response.base[0] + response.gain[0] @ np.array(dose)
    level, every = start, []
    brought = top_up * (1 if k == 0 else (1 - math.exp(-k)) / k)
    for day in range(weeks * 7):
        before, changed = level, level * (1 - share[day % 7]) + source * share[day % 7]
        dosed = changed + dose[day % 7]
        every.append((before, changed, dosed))
        level = dosed * math.exp(-k) + brought
    stepped = np.array(every).reshape(weeks, 7, 3)
    for found, twin in ((levels[:21], stepped[0]), (levels[-21:], stepped[-1])):
        np.testing.assert_allclose(found.reshape(3, 7).T, twin, rtol=1e-8, atol=1e-8)
    ends = np.stack([stepped[0], stepped[-1]])
    assert (stepped <= ends.max(axis=0) * (1 + 1e-9) + 1e-9).all()
    assert (stepped >= ends.min(axis=0) * (1 - 1e-9) - 1e-9).all()
    assert response.settled.sum() == 21
    assert len(response.points) == levels.size
    assert (response.gain >= 0).all()


def test_a_regime_by_hand() -> None:
    doses = (PlannedDose("macro", (5,), ml=4.0), PlannedDose("micro", (), ml=1.0, every=EveryDays(2)))
    regime = Regime("r", "r", doses, (PlannedChange(0.5, (5,)),))
    pattern = pattern_of(regime, BOTTLES, net_volume_l=20.0, nutrients=KEYS, start_weekday=0)
    assert pattern.days == 14
    week = week_adds_mg_per_l(regime, BOTTLES, net_volume_l=20.0)
    assert pattern.adds_mg_per_l.sum(axis=1) / 2 == pytest.approx([week["nitrate"], week["iron"]])
    settled = steady_state(pattern)
    assert (settled.peak[0], settled.trough[0]) == (pytest.approx(20.0), pytest.approx(10.0))
    assert settled.days_to(0.9)[0] == pytest.approx(3.3219 * 7, rel=1e-4)


def test_two_changes_on_one_day_follow_each_other() -> None:
    regime = Regime("r", "r", (), (PlannedChange(0.5, (2,)), PlannedChange(0.5, (2, 3))))
    pattern = pattern_of(regime, {}, net_volume_l=20.0, nutrients=KEYS, start_weekday=2)
    assert pattern.share_changed.tolist() == [0.75, 0.5, 0, 0, 0, 0, 0]


def test_what_never_leaves_grows_for_ever() -> None:
    settled = steady_state(
        Pattern(("x", "y"), np.zeros(7), np.array([[1.0] + [0.0] * 6, [0.0] * 7])), source_mg_per_l=3
    )
    assert settled.peak.tolist() == [math.inf, 3.0]
    assert settled.days_to(0.5).tolist() == [math.inf, math.inf]


def test_all_the_water_changed() -> None:
    share, adds = np.array([1.0] + [0.0] * 6), np.array([[2.0] + [0.0] * 6])
    settled = steady_state(Pattern(("x",), share, adds), source_mg_per_l=5.0)
    assert (settled.peak[0], settled.trough[0], settled.kept[0]) == (7.0, 5.0, 0.0)
    assert settled.days_to(0.9)[0] == 0.0


@pytest.mark.parametrize(
    ("make", "what"),
    [
        (lambda: Pattern(("x",), np.array([1.2]), np.zeros((1, 1))), "a change of less than nothing or more than all"),
        (lambda: Pattern(("x",), np.array([0.2]), -np.ones((1, 1))), "a negative dose"),
        (lambda: steady_state(Pattern(("x",), np.zeros(7), np.zeros((1, 7))), uptake_per_day=-1),
         "the uptake is below zero or no number"),
        (lambda: weekly_response(["x"], share_changed=np.zeros(7), weeks=0), "0 weeks"),
        (lambda: weekly_response(["x"], share_changed=np.zeros(6), weeks=1), "changes on 6 weekdays"),
        (lambda: weekly_response(["x"], share_changed=np.zeros(7), weeks=1, start_mg_per_l=math.nan),
         "a start level below zero or no number"),
        (lambda: one_dose_settles_at(dose_mg_per_l=-1, share_changed=0.5), "the dose is -1"),
        (lambda: one_dose_settles_at(dose_mg_per_l=1, share_changed=0), "nothing ever leaves the water"),
        (lambda: one_dose_settles_at(dose_mg_per_l=1, share_changed=2), "2 of the water every 7 days"),
        (lambda: one_dose_settles_at(dose_mg_per_l=1, share_changed=0.5, uptake_per_day=1, uptake_mg_per_l_per_day=1),
         "two kinds of uptake at once"),
        (lambda: one_dose_settles_at(dose_mg_per_l=1, share_changed=0.5, uptake_mg_per_l_per_day=1),
         "uptake of 1 mg/L a day would take the level below zero"),
        (lambda: steady_state(Pattern(("x",), np.zeros(7), np.zeros((1, 7)))).days_to(1.0), "1 of the way"),
        (lambda: pattern_of(Regime("r", "r", ()), {}, net_volume_l=0, nutrients=KEYS, start_weekday=0),
         "a net volume of 0 L"),
    ],
)  # fmt: skip
def test_states_that_cannot_be(make: Any, what: str) -> None:
    with pytest.raises(BalanceError) as refusal:
        make()
    assert refusal.value.what == what


def test_a_regime_of_a_bottle_that_is_not_there() -> None:
    regime = Regime("r", "r", (PlannedDose("mikro", (0,), ml=1.0),))
    with pytest.raises(DoseError, match="there is no such bottle"):
        pattern_of(regime, BOTTLES, net_volume_l=20.0, nutrients=KEYS, start_weekday=0)


def test_why_this_peak() -> None:
    share, adds = np.array([0.0] * 5 + [0.5, 0.0]), np.array([[0.0] * 5 + [10.0, 0.0]])
    pattern = Pattern(("nitrate",), share, adds)
    settled = steady_state(pattern, uptake_per_day=0.1)
    steps = settled_steps(pattern, settled, "nitrate", uptake_per_day=0.1)
    assert [step.what for step in steps] == [
        "dosed in one period", "left after one period", "level before day 0", "peak", "trough",
    ]  # fmt: skip
    assert steps[1].formula == "a = (1 - 0.5) × exp(-0.1 × 7)"
    assert (steps[3].result, steps[4].result) == ("13.3 mg/L", "3.303 mg/L")
    grows = Pattern(("nitrate",), np.zeros(7), adds)
    assert settled_steps(grows, steady_state(grows), "nitrate")[-1].result == "grows for ever"
    with pytest.raises(BalanceError, match="no iron in this pattern"):
        settled_steps(pattern, settled, "iron")
