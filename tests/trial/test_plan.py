"""Crossovers and pairs as the trial file writes them, and which regime a tank then has on which day."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.stats.crossover import in_blocks
from littoral.trial.model import Trial
from littoral.trial.periods import (
    arm_on,
    days_in,
    half_life_days,
    pairs_of,
    periods_of,
    tanks_of,
    washout_half_lives,
)
from littoral.trial.plan import OrderError, Plan, draw_order
from littoral.trial.regime_on import regime_on
from littoral.trial.written.reader import read_trial

WHOLE = (Path(__file__).parent / "whole-trial.toml").read_text(encoding="utf-8")
CROSSOVER = 'kind = "crossover"\nperiod = "10 days"\nwashout = "3 days"\n'


def trial_with(design: str, *, length: str = "54 days") -> Trial:
    text = WHOLE.replace('length = "8 weeks"', f'length = "{length}"').replace(
        "[arms.sparing]", f"[design]\n{design}\n[arms.sparing]"
    )
    trial, faults = read_trial(text, where="trial.toml")
    assert faults == ()
    assert trial is not None
    return trial


def test_a_trial_without_the_table_is_parallel():
    trial = read_trial(WHOLE, where="")[0]
    assert trial is not None
    assert trial.plan == Plan()
    assert periods_of(trial) == ()
    assert pairs_of(trial) == ()


def test_everything_in_the_table_is_read():
    trial = trial_with(
        CROSSOVER + 'order = ["swapped", "as written", "as written", "swapped"]\nhalf_life = "24 hours"\n'
        'pairs = [["left", "right"]]\npaired_by = "lamp"\nlooks = ["5 weeks", "4 weeks"]\n'
        'stopping = "if fish gasp"\ntrimming = "at 25 cm"\nspread = "10 %"\n'
    )
    assert trial.plan == Plan(
        kind="crossover", period_days=10, washout_days=3, swapped=(True, False, False, True), half_life_days=1.0,
        pairs=(("right", "left"),), paired_by="lamp", looks_days=(28, 35), stopping="if fish gasp",
        trimming="at 25 cm", spread=pytest.approx(0.10, rel=1e-12),
    )  # fmt: skip
    assert washout_half_lives(trial) == 3.0


def test_the_regime_of_a_tank_follows_the_periods():
    trial = trial_with(CROSSOVER)

    def key(tank: str, day: float) -> str | None:
        regime = regime_on(trial, tank, day)
        return None if regime is None else regime.key

    # baseline to day 14, then periods of 10 days, alternating; the arm "sparing" is the right tank's
    seen = [(key("right", day), key("left", day)) for day in (0, 13.9, 14, 23.9, 24, 33.9, 34, 44, 53.9, 60)]
    alike, straight, swapped = ("sparing", "sparing"), ("sparing", "full"), ("full", "sparing")
    assert seen == [alike, alike, straight, straight, swapped, swapped, straight, swapped, swapped, swapped]
    assert [(one.from_day, one.measured_from, one.to_day) for one in periods_of(trial)][1] == (24, 27, 34)
    assert days_in(trial, "left", "full", to_day=54) == 20
    assert days_in(trial, "left", "full", to_day=26) == 10
    assert tanks_of(trial, trial.arms[0]) == ("right", "left")


@given(st.floats(0, 54, exclude_max=True), st.lists(st.booleans(), min_size=4, max_size=4))
def test_on_every_day_each_arm_is_in_one_tank(day, swapped):
    trial = trial_with(CROSSOVER)
    trial = replace(trial, plan=replace(trial.plan, swapped=tuple(swapped)))
    assert {arm_on(trial, "left", day).key, arm_on(trial, "right", day).key} == {"sparing", "full"}
    # the slow twin: walk through the periods
    place = next((n for n, one in enumerate(periods_of(trial)) if one.from_day <= day < one.to_day), 0)
    home = day < trial.baseline_days or not swapped[place]
    if day >= trial.baseline_days:
        assert (arm_on(trial, "left", day) == trial.arm_of("left")) == home


@given(st.integers(1, 20).map(lambda half: 2 * half), st.integers(0, 2**40))
def test_a_drawn_order_has_one_of_each_in_each_two_and_can_be_repeated(periods, seed):
    order = draw_order(periods, seed=seed)
    assert all(order[place] != order[place + 1] for place in range(0, periods, 2))
    assert order == draw_order(periods, seed=seed)
    assert periods < 4 or not in_blocks(np.array(order))


def test_both_orders_are_drawn_and_an_odd_number_is_refused():
    assert {draw_order(2, seed=seed) for seed in range(20)} == {(True, False), (False, True)}
    with pytest.raises(OrderError, match="not 3"):
        draw_order(3, seed=1)


def test_a_drawn_order_is_kept_with_its_seed():
    trial = trial_with(CROSSOVER + 'order = "drawn by lot"\nseed = 11\n')
    assert (trial.plan.order, trial.plan.order_seed) == ("drawn by lot", 11)
    assert trial.plan.swapped == draw_order(4, seed=11)


def test_what_lingers_is_reckoned_from_changes_and_uptake():
    trial = trial_with(CROSSOVER)
    # 40 % on Saturdays in 40 days from Monday 2026-03-16 (day 14): Saturdays are days 19, 26, 33, 40, 47: five of them.
    # The slowest of what is dosed has no stated uptake (manganese, boron …), so only the changes take it away.
    assert half_life_days(trial) == pytest.approx(math.log(2) / (5 * -math.log(0.6) / 40), rel=1e-12)
    assert washout_half_lives(trial) == pytest.approx(3 / 10.8555, rel=1e-3)
    dry = {key: replace(regime, changes=()) for key, regime in trial.regimes.items()}
    assert math.isnan(half_life_days(replace(trial, regimes=dry)))


def test_pairs_are_read_first_arm_first():
    assert pairs_of(trial_with('kind = "pairs"\npairs = [["left", "right"]]\n')) == (("right", "left"),)
