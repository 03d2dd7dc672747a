"""Across trials and ahead: tank effects from swapped trials, the history, and what follows for next week."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date
from types import ModuleType

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.findings.aims import AimsError, reached, value_text
from littoral.findings.baseline_tanks import baseline_effects
from littoral.findings.decide import ANIMALS, decide_next
from littoral.findings.history import history_of
from littoral.findings.model import Finding, Interval
from littoral.findings.tank_effects import tank_effects
from littoral.trial.model import Arm, Trial
from littoral.trial.plan import Plan

NORMAL_95 = 1.959964


def swapped(trial: Trial, key: str, start: str) -> Trial:
    first, second = trial.arms
    arms = (replace(first, tanks=second.tanks), replace(second, tanks=first.tanks))
    return replace(trial, key=key, start=date.fromisoformat(start), arms=arms)


def found(made: ModuleType, difference: float, error: float = 0.001, **more: object) -> Finding:
    """A finding of arms around 0.03 a day, which differ by so much."""
    half = difference / 2
    return made.keeper_finding((0.03 - half, error), (0.03 + half, error), error=error, **more)


def logs(difference: float) -> float:
    return math.log((0.03 + difference / 2) / (0.03 - difference / 2))


@given(st.floats(-0.01, 0.01), st.floats(-0.01, 0.01))
def test_two_trials_the_arms_swapped_give_the_tank_and_not_the_regime(
    keepers_made: ModuleType, regime: float, tank: float
) -> None:
    """In the file the second arm stands in the left tank, so its difference is the regime minus right over left."""
    trial = keepers_made.keeper_trial()
    other = swapped(trial, "two", "2026-06-01")
    one, two = found(keepers_made, regime - tank), found(keepers_made, regime + tank)
    (effect,) = tank_effects([(trial, [one]), (other, [two])])
    assert effect.tanks == ("left", "right")
    assert effect.scale == "ratio"
    assert effect.effect is not None
    assert effect.effect.value == pytest.approx((logs(regime + tank) - logs(regime - tank)) / 2, abs=1e-12)
    assert (effect.straight, effect.swapped) == (("two",), ("sparing-or-full",))


def test_a_tank_that_is_ahead_is_named_and_two_trials_are_said_to_be_few(keepers_made: ModuleType) -> None:
    trial = keepers_made.keeper_trial()
    results = [
        (trial, [found(keepers_made, 0.010)]),
        (swapped(trial, "two", "2026-06-01"), [found(keepers_made, -0.004)]),
    ]
    (effect,) = tank_effects(results)
    assert "the right tank grew more slowly whatever it was given" in effect.wording
    assert effect.effect is not None
    assert effect.effect.high < 0
    assert "Two trials only" in effect.wording


def test_the_interval_of_three_holds_their_spread_and_the_arms_order_does_not_matter(keepers_made: ModuleType) -> None:
    trial = keepers_made.keeper_trial()
    turned = replace(trial, key="three", arms=(trial.arms[1], trial.arms[0]))
    results = [
        (trial, [found(keepers_made, 0.010)]),
        (swapped(trial, "two", "2026-06-01"), [found(keepers_made, -0.004)]),
        (turned, [found(keepers_made, -0.012)]),
        (swapped(trial, "four", "2026-08-01"), [found(keepers_made, -0.001)]),
    ]
    (effect,) = tank_effects(results)
    assert effect.effect is not None
    two = tank_effects(results[:2])[0].effect
    assert two is not None
    assert effect.effect.high - effect.effect.low > two.high - two.low
    assert len(effect.straight) == len(effect.swapped) == 2
    assert "Two trials only" not in effect.wording


def test_without_a_swap_it_cannot_be_told_however_many_there_are(keepers_made: ModuleType) -> None:
    trial = keepers_made.keeper_trial()
    results = [(replace(trial, key=f"t{i}"), [found(keepers_made, 0.01)]) for i in range(4)]
    (effect,) = tank_effects(results)
    assert effect.effect is None
    assert "In all 4 trials of these two arms full stood in the left tank" in effect.wording


def test_other_factors_other_arms_and_crossovers_are_not_mixed_in(keepers_made: ModuleType) -> None:
    trial = keepers_made.keeper_trial()
    other = swapped(trial, "two", "2026-06-01")
    one = [found(keepers_made, 0.01)]
    for strange in (
        replace(other, factor="light"),
        replace(other, arms=(other.arms[0], replace(other.arms[1], name="lush"))),
        replace(other, plan=Plan(kind="crossover", period_days=14, swapped=(False, True))),
        replace(other, arms=(Arm("sparing", "sparing", ("left", "x")), Arm("full", "full", ("right", "y")))),
    ):
        assert all(effect.effect is None for effect in tank_effects([(trial, one), (strange, one)]))
    changed = [replace(one[0], absolute=False)]
    assert tank_effects([(trial, changed), (other, changed)]) == ()


def test_the_history_proposes_the_swap_first_and_no_further_one_after_it(keepers_made: ModuleType) -> None:
    trial = keepers_made.keeper_trial()
    one = [found(keepers_made, 0.01, next_step="Ask more keepers.")]
    first = history_of([(trial, one)])
    assert first.next_key == trial.key
    assert "only the swap tells the tank from the feeding regime" in first.proposal
    both = history_of([(swapped(trial, "two", "2026-06-01"), one), (trial, one)])
    assert [past.key for past in both.trials] == ["sparing-or-full", "two"]
    assert both.next_key == ""
    assert "Both ways round have been tried once each" in both.proposal
    assert "Ask more keepers." in both.proposal
    crossed = replace(trial, plan=Plan(kind="crossover", period_days=14, swapped=(False, True)))
    assert history_of([(crossed, one)]).next_key == ""
    assert history_of([]).trials == ()


def test_a_cell_says_what_was_found_or_why_not(keepers_made: ModuleType) -> None:
    trial = keepers_made.keeper_trial()
    unanswered = replace(found(keepers_made, 0.01), question="red", measure="redness", effect=None, low=None, high=None,
                         missing="no photo shows it", primary=False)  # fmt: skip
    history = history_of([(trial, [found(keepers_made, 0.01), unanswered])])
    assert history.measures == ("height growth", "redness")
    assert history.units == ("percentage points per day", "a*")
    grown, red = history.trials[0].cells
    assert grown == ("+1.00 (+0.80 to +1.20)", "The plants of the left tank grew faster.")
    assert red == ("", "Not answered: no photo shows it.")


def decided(made: ModuleType, findings: list[Finding], **more: object):
    return decide_next(made.keeper_trial(), findings, rng=np.random.default_rng(1), **more)


def account(made: ModuleType, measure: str, unit: str, first: float, second: float) -> Finding:
    one = made.keeper_finding((first, 0.0), (second, 0.0), measure=measure, unit=unit)
    exact = tuple(replace(value, low=None, high=None) for value in one.arms)
    return replace(one, question=measure, arms=exact, low=None, high=None, rule="exact account", primary=False,
                   wording=f"Full took more {measure}. Numbers.")  # fmt: skip


def test_draws_keep_the_differences_interval_and_not_the_arms(keepers_made: ModuleType) -> None:
    """Two tanks that go up and down together: the difference is far surer than either value."""
    finding = keepers_made.keeper_finding((0.030, 0.004), (0.034, 0.004), error=0.001)
    of = reached(keepers_made.keeper_trial(), [finding], rng=np.random.default_rng(2), draws=100_000)
    apart = of.values[:, 1, 0] - of.values[:, 0, 0]
    assert float(apart.mean()) == pytest.approx(0.4, abs=0.002)
    assert float(apart.std()) == pytest.approx(0.1, rel=0.02)
    camera = replace(finding, camera_term=0.004)
    wider = reached(keepers_made.keeper_trial(), [camera], rng=np.random.default_rng(2), draws=100_000)
    expected = math.hypot(0.1, 0.4 / NORMAL_95)
    assert float((wider.values[:, 1, 0] - wider.values[:, 0, 0]).std()) == pytest.approx(expected, rel=0.02)


def test_where_each_is_better_in_something_neither_beats_the_other_and_no_score_decides(
    keepers_made: ModuleType,
) -> None:
    decision = decided(
        keepers_made, [found(keepers_made, 0.01), account(keepers_made, "cost", "EUR per week", 0.1, 0.3)]
    )
    assert decision.better == ("full", "sparing")
    assert decision.found is not None
    assert decision.found.unbeaten.tolist() == [True, True]
    assert "Neither beats the other" in decision.wording
    assert "for you to say" in decision.wording
    assert [step.aims for step in decision.steps] == [("cost",), ("height growth",)]
    for step in decision.steps:
        assert step.watch[0] == ANIMALS


def test_steps_stay_between_what_both_arms_were_given(keepers_made: ModuleType) -> None:
    """Weekly nitrate: 40 mg by 1 mL, 480 by 12 mL, in 60 x 30 x 27 cm = 48.6 L. A quarter of the way is 150 mg."""
    decision = decided(
        keepers_made, [found(keepers_made, 0.01), account(keepers_made, "cost", "EUR per week", 0.1, 0.3)]
    )
    towards_full = decision.steps[1].do
    assert "Where sparing is fed (right tank)" in towards_full
    assert f"nitrate {150 / 48.6:.3g} instead of {40 / 48.6:.3g} mg/L" in towards_full


def test_an_arm_beaten_in_everything_is_said_to_be(keepers_made: ModuleType) -> None:
    decision = decided(
        keepers_made, [found(keepers_made, 0.01), account(keepers_made, "cost", "EUR per week", 0.3, 0.1)]
    )
    assert decision.wording.startswith("Full is as good or better in everything asked about")
    assert decision.found is not None
    assert decision.found.unbeaten.tolist() == [False, True]


def test_what_is_not_told_gives_no_step(keepers_made: ModuleType) -> None:
    vague = found(keepers_made, 0.0005, error=0.004, rule="cannot tell", next_step="Swap the regimes.")
    decision = decided(keepers_made, [vague, account(keepers_made, "cost", "EUR per week", 0.1, 0.1)])
    assert decision.steps == ()
    assert "Height growth: no step follows yet. Swap the regimes." in decision.open_questions
    small = replace(vague, rule="no larger than")
    assert "either will do" in decided(keepers_made, [small]).open_questions[0]
    assert decided(keepers_made, []).wording.startswith("Nothing to decide by yet")
    assert "One aim alone" in decided(keepers_made, [vague]).wording


def test_the_wish_turns_an_aim_and_what_nobody_said_is_left_out(keepers_made: ModuleType) -> None:
    growth = found(keepers_made, 0.01)
    cost = account(keepers_made, "cost", "EUR per week", 0.1, 0.3)
    assert decided(keepers_made, [growth, cost], wanted={"height growth": "lower"}).better == ("sparing", "sparing")
    trimmed = account(keepers_made, "trimmed mass", "g per week", 3.0, 9.0)
    assert "say which way you want it" in decided(keepers_made, [trimmed]).reached.left_out[0]
    with pytest.raises(AimsError, match="no measure 'luck'"):
        decided(keepers_made, [growth], wanted={"luck": "higher"})


def test_without_a_card_the_change_stands_for_the_difference_or_nothing_does(keepers_made: ModuleType) -> None:
    bare = replace(found(keepers_made, 0.01), absolute=False)
    assert "without a card" in decided(keepers_made, [bare]).reached.left_out[0]
    changed = replace(bare, change=Interval(-0.008, -0.010, -0.006))
    assert decided(keepers_made, [changed]).better == ("sparing",)


def test_values_are_shown_with_the_digits_of_their_doubt() -> None:
    assert value_text(np.full(100, 0.158558)) == "0.159"
    drawn = np.random.default_rng(3).normal(2.71, 0.06, 50_000)
    assert value_text(drawn) == "2.71 (2.59 to 2.83)"


def test_baselines_tell_the_tanks_apart_without_a_swap(keepers_made: ModuleType) -> None:
    """Second arm (left tank) minus first (right) before the regimes, told as right minus left; at the same 95 %."""
    trial = keepers_made.keeper_trial()
    finding = found(keepers_made, 0.01, before=Interval(-0.004, -0.006, -0.002))
    (effect,) = history_of([(trial, [finding])]).baselines
    assert effect.tanks == ("left", "right")
    assert (effect.effect.value, effect.effect.low) == pytest.approx((0.004, 0.002))
    assert "in the one baseline, the right tank grew faster" in effect.wording
    stricter = replace(finding, level=0.99)
    (narrower,) = baseline_effects([(trial, [stricter])])
    assert narrower.effect.high - narrower.effect.low == pytest.approx(0.004 * 1.959964 / 2.575829, rel=1e-5)


def test_several_baselines_are_averaged_whichever_arm_came_where(keepers_made: ModuleType) -> None:
    trial = keepers_made.keeper_trial()
    one = found(keepers_made, 0.01, before=Interval(-0.004, -0.006, -0.002))
    two = found(keepers_made, 0.01, before=Interval(0.004, 0.002, 0.006))
    other = replace(swapped(trial, "two", "2026-06-01"), factor="light")
    (effect,) = baseline_effects([(trial, [one]), (other, [two])])
    assert effect.effect.value == pytest.approx(0.004)
    assert effect.trials == ("sparing-or-full", "two")
    assert baseline_effects([(replace(trial, baseline_days=0.0), [one])]) == ()
    assert baseline_effects([(trial, [replace(one, absolute=False)])]) == ()
    opposed = baseline_effects([(trial, [one]), (replace(trial, key="three"), [two])])[0]
    assert "the two tanks could not be told apart" in opposed.wording


def test_a_trial_whose_start_was_drawn_is_not_offered_as_a_file(keepers_made: ModuleType) -> None:
    trial = keepers_made.keeper_trial()
    drawn = replace(trial, plan=Plan(start_drawn_from=(10.0, trial.baseline_days)))
    plain, anew = (history_of([(one, [found(keepers_made, 0.01)])]) for one in (trial, drawn))
    assert plain.next_key == trial.key
    assert anew.next_key == ""
    assert "Draw its start day anew; everything else stays as it is." in anew.proposal
