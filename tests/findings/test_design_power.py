"""The power of a trial's own design, and what would settle its question."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from littoral.findings.design_power import design_power
from littoral.stats.power import carry_over_after, power
from littoral.stats.simulated_designs import Spreads
from littoral.trial.model import Question
from littoral.trial.plan import Plan, alternating

GROWTH = Question("growth", "Which grew faster?", "height growth", primary=True)
REDNESS = Question("red", "Which was redder?", "redness")


def crossover(periods: int, *, half_life: float | None = 1.0) -> Plan:
    return Plan("crossover", 7.0, 3.0, alternating(periods), "alternating", half_life_days=half_life, spread=0.10)


def test_one_pair_cannot_settle_it_and_is_told_what_could(make_trial):
    found = design_power(make_trial(GROWTH))
    assert found is not None
    assert found.own == ()
    text = " ".join(found.words)
    assert "With one pair of tanks side by side this cannot be settled, however long it runs." in text
    assert "would show, four times in five, with" in text
    assert {curve[0].kind for curve in found.curves} == {"periods", "pairs", "keepers"}


def test_the_power_of_a_crossover_is_that_of_its_periods_and_washout(make_trial):
    trial = replace(make_trial(GROWTH), plan=crossover(6))
    found = design_power(trial)
    assert found is not None
    twin = power(
        "periods", 6, effect=0.2, spreads=Spreads(tanks=0.10, periods=0.05), rng=np.random.default_rng(20),
        carry_over=carry_over_after(4.0),
    )  # fmt: skip
    assert found.own[1] == twin
    # METHODS: six periods at a spread of 10 % within which periods spread by 5 % show 20 % in 0.94 of trials
    assert found.own[1].share == pytest.approx(0.94, abs=0.05)
    assert f"20 % in {round(100 * twin.share)}" in found.words[1]
    assert "as the trial file says" in found.words[0]


@pytest.mark.parametrize(
    ("plan", "said"),
    [
        (crossover(3), "3 periods cannot settle this: at least 4 periods could"),
        (crossover(6, half_life=None), "How long what is dosed lingers is not known"),
    ],
)
def test_what_cannot_be_reckoned_is_said(make_trial, plan, said):
    trial = replace(make_trial(GROWTH), plan=plan)
    trial = replace(trial, regimes={key: replace(one, changes=()) for key, one in trial.regimes.items()})
    found = design_power(trial)
    assert found is not None
    assert found.own == ()
    assert said in found.words[1]


def test_two_and_three_pairs(make_trial):
    two, three = (design_power(make_trial(GROWTH, tanks_per_arm=count, baseline_days=0.0)) for count in (2, 3))
    assert two is not None
    assert three is not None
    assert "2 pairs cannot settle this: at least 3 pairs could" in two.words[1]
    assert [one.size for one in three.own] == [3, 3, 3]
    assert three.own[0].share < three.own[1].share < three.own[2].share


def test_a_measure_without_ratios_has_no_power(make_trial):
    assert design_power(make_trial(REDNESS)) is None
    found = design_power(make_trial(REDNESS, replace(GROWTH, primary=False)))
    assert found is not None
    assert found.question == "growth"


@pytest.mark.parametrize("tanks", [2, 3])
def test_several_pairs_that_swap_more_than_once_are_reckoned(make_trial, tanks):
    trial = replace(
        make_trial(Question("growth", "?", "height growth", primary=True), tanks_per_arm=tanks, baseline_days=0.0),
        plan=crossover(6),
    )
    found = design_power(trial)
    assert found is not None
    assert f"As planned ({tanks} pairs that swap over 6 periods), of 100 such trials" in " ".join(found.words)
    left = carry_over_after(found_half_lives(trial) + 1)
    again = power("swapped pairs", tanks, effect=0.2, spreads=found.spreads, rng=np.random.default_rng(20),
                  carry_over=left, periods=6)  # fmt: skip
    assert found.own[1] == again


def found_half_lives(trial):
    from littoral.trial.periods import washout_half_lives

    return washout_half_lives(trial)
