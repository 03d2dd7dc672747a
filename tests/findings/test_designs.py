"""Crossovers and pairs from a trial's plan to its findings: each regime's days count for it, washouts for none."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from littoral.findings.answers import answer
from littoral.findings.costs import costs_of
from littoral.findings.doses import doses_given
from littoral.trial.entries import Care
from littoral.trial.model import Question, Trial
from littoral.trial.periods import arm_on, periods_of
from littoral.trial.plan import Plan, alternating

GROWTH = Question("growth", "Which grew faster?", "height growth", of=("red-stem",), primary=True)
COMPACT = Question("compact", "Which stayed compact?", "compactness", of=("red-stem",), primary=True)
RATE = {"sparing": 0.030, "full": 0.050}


def swapping(trial: Trial, *, periods: int = 6, days: int = 9, washout: float = 3.0, **more: Any) -> Trial:
    plan = Plan("crossover", days, washout, more.pop("swapped", alternating(periods)), "alternating", **more)
    return replace(trial, plan=plan, length_days=trial.baseline_days + periods * days)


def grown(trial: Trial, noise, *, extra: float = 0.0, rate: dict[str, float] = RATE) -> dict[str, Any]:
    """Canopy height that grows at the rate of the regime of each day; washout days by `extra` more in one."""
    height: dict[str, list[float]] = {}
    for tank in trial.tanks:
        total = [1.0]
        for day in range(int(trial.length_days)):
            washing = any(one.from_day <= day < one.measured_from for one in periods_of(trial))
            total.append(total[-1] + rate[arm_on(trial, tank, day).key] + (extra if washing and tank == "left" else 0))
        height[tank] = total

    def take(day: int, tank: str) -> dict[str, Any]:
        return {"height_cm": math.exp(height[tank][day] + noise(day, tank, 0.004)), "cover": 0.5}

    return {"red-stem": take}


def asked(make_trial, question: Question, **more: Any) -> Trial:
    trial = make_trial(question, baseline_days=0.0, tanks_per_arm=more.pop("tanks_per_arm", 1))
    return swapping(trial, half_life_days=more.pop("half_life_days", 1.0), **more)


def test_a_crossover_finds_the_regime_that_each_tank_followed(make_trial, make_measured, make_book, noise):
    trial = asked(make_trial, GROWTH)
    measured = make_measured(trial, grown(trial, noise))
    finding = answer(make_book(trial), trial, measured=measured)[0]
    assert finding.rule == "followed the regime in this pair"
    assert finding.effect == pytest.approx(0.020, abs=0.002)
    assert finding.low is not None
    assert finding.low < 0.020 < (finding.high or 0)
    assert [(value.arm, value.tank) for value in finding.arms] == [
        ("sparing", "left"), ("sparing", "right"), ("full", "left"), ("full", "right"),
    ]  # fmt: skip
    assert finding.tanks_per_arm == 1
    assert "regimes swapped over 6 periods in alternating order, each after a washout of 3 half-lives" in finding.design
    assert finding.wording.startswith("Full grew faster: followed the regime in this pair of tanks (6 periods).")
    # photos of washouts are no evidence: 6 days of 9 in 6 periods and 2 tanks
    assert len(finding.evidence.photos) == 6 * 6 * 2


def test_the_effect_is_that_of_a_plain_least_squares_twin(make_trial, make_measured, make_book, noise):
    trial = asked(make_trial, GROWTH)
    takes = grown(trial, noise)
    finding = answer(make_book(trial), trial, measured=make_measured(trial, takes))[0]
    gaps, signs = [], []
    for place in range(6):
        days = [9 * place + 3 + n for n in range(6)]
        slope = {
            tank: np.polyfit(days, [math.log(takes["red-stem"](day, tank)["height_cm"]) for day in days], 1)[0]
            for tank in trial.tanks
        }
        gaps.append(slope["left"] - slope["right"])
        signs.append(1 if place % 2 else -1)
    design = np.column_stack([np.ones(6), signs])
    twin = np.linalg.lstsq(design, np.array(gaps), rcond=None)[0][1]
    assert finding.effect == pytest.approx(twin, rel=1e-9)


def test_what_happens_in_the_washout_does_not_count(make_trial, make_measured, make_book, noise):
    trial = asked(make_trial, GROWTH)
    plain = answer(make_book(trial), trial, measured=make_measured(trial, grown(trial, noise)))[0]
    wild = answer(make_book(trial), trial, measured=make_measured(trial, grown(trial, noise, extra=0.2)))[0]
    assert wild.effect == pytest.approx(plain.effect, rel=1e-9)


def test_tanks_that_differ_by_themselves_are_not_called(make_trial, make_measured, make_book, noise):
    trial = asked(make_trial, COMPACT)
    own = {"left": 4.0, "right": 6.0}

    def take(day: int, tank: str) -> dict[str, Any]:
        return {"height_cm": 10.0, "cover": 0.10 * own[tank] * math.exp(noise(day, tank, 0.05))}

    finding = answer(make_book(trial), trial, measured=make_measured(trial, {"red-stem": take}))[0]
    assert finding.rule == "cannot tell"
    assert abs(finding.effect or 1) < 0.2


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ({"washout": 2.0}, "the washout was shorter than 3 half-lives"),
        ({"half_life_days": None, "regimes": {}}, "how long what was given lingers is not known"),
        ({"periods": 3}, "3 periods are fewer than 4"),
    ],
)
def test_what_keeps_a_crossover_from_being_read_as_one_is_said(make_trial, make_measured, make_book, noise, more, why):
    regimes = more.pop("regimes", None) if isinstance(more, dict) else None
    trial = asked(make_trial, GROWTH, **more)
    if regimes is not None:  # neither changes nor uptake, so nothing says how long doses stay
        trial = replace(trial, regimes={key: replace(one, changes=()) for key, one in trial.regimes.items()})
    quiet = grown(trial, lambda day, tank, spread: noise(day, tank, spread / 20))
    finding = answer(make_book(trial), trial, measured=make_measured(trial, quiet))[0]
    assert finding.rule == "too short to follow the regime"
    assert why in finding.wording
    assert "nan" not in finding.wording + finding.design


def test_blocks_get_a_trend(make_trial, make_measured, make_book, noise):
    trial = asked(make_trial, GROWTH, swapped=(False, False, False, True, True, True))
    finding = answer(make_book(trial), trial, measured=make_measured(trial, grown(trial, noise)))[0]
    assert "in blocks" in finding.design
    assert finding.effect == pytest.approx(0.020, abs=0.006)


def test_periods_that_have_not_come_yet_are_left_out_or_missed(make_trial, make_measured, make_book, noise):
    trial = asked(make_trial, GROWTH)
    takes = grown(trial, noise)
    early = make_measured(trial, takes, skip=range(36, 54))
    finding = answer(make_book(trial), trial, measured=early)[0]
    assert "swapped over 4 periods" in finding.design
    assert any("period 5 has too few photos" in remark for remark in finding.evidence.remarks)
    too_early = make_measured(trial, takes, skip=range(18, 54))
    finding = answer(make_book(trial), trial, measured=too_early)[0]
    assert finding.rule == "not answered"
    assert "2 periods with at least 3 photos of both after the washout; 3 are needed" in finding.missing


def test_of_algae_the_rise_within_each_period_is_compared(make_trial, make_measured, make_book, noise):
    question = Question("algae", "Where did more come?", "algae", of=("stone",), primary=True)
    trial = asked(make_trial, question)
    gain = {"sparing": 0.2, "full": 2.0}  # points a day, on top of all that came before
    share: dict[str, list[float]] = {}
    for tank in trial.tanks:
        total = [0.0]
        for day in range(54):
            total.append(total[-1] + gain[arm_on(trial, tank, day).key])
        share[tank] = total

    def take(day: int, tank: str) -> dict[str, Any]:
        return {"algae": (share[tank][day] + noise(day, tank, 0.1)) / 100}

    finding = answer(make_book(trial), trial, measured=make_measured(trial, {"stone": take}))[0]
    assert finding.effect == pytest.approx((2.0 - 0.2) * 6, abs=0.5)
    assert "rise within the 6 measured days" in finding.detail


@pytest.mark.parametrize(("tanks", "rule"), [(2, "followed the regime in this pair"), (3, "effect of the regime")])
def test_several_pairs_that_swap(make_trial, make_measured, make_book, noise, tanks, rule):
    trial = asked(make_trial, GROWTH, tanks_per_arm=tanks)
    finding = answer(make_book(trial), trial, measured=make_measured(trial, grown(trial, noise)))[0]
    assert (finding.rule, finding.tanks_per_arm) == (rule, tanks)
    assert f"{tanks} pairs" in finding.wording
    assert finding.effect == pytest.approx(0.020, abs=0.002)


@pytest.mark.parametrize(
    ("tanks", "more", "why"),
    [
        (3, {}, ""),
        (3, {"washout": 2.0}, "The washout was shorter than 3 half-lives"),
        (3, {"washout": 0.0}, "The washout was shorter than 3 half-lives"),
        (2, {"washout": 2.0}, ""),  # its rule says so already
    ],
)
def test_pairs_that_swap_without_a_washout_are_told_what_may_be_hidden(
    make_trial, make_measured, make_book, noise, tanks, more, why
):
    trial = asked(make_trial, GROWTH, tanks_per_arm=tanks, **more)
    finding = answer(make_book(trial), trial, measured=make_measured(trial, grown(trial, noise)))[0]
    assert finding.rule == ("effect of the regime" if tanks == 3 else "too short to follow the regime")
    told = [one for one in finding.evidence.remarks if "traces of the former regime" in one]
    said = f"{why}: traces of the former regime in each period may hide a part of the effect."
    assert told == ([said] if why else [])


def test_three_pairs_cancel_what_a_pair_shares(make_trial, make_measured, make_book, noise):
    trial = make_trial(GROWTH, baseline_days=0.0, tanks_per_arm=3)
    pairs = (("left", "right2"), ("left2", "right3"), ("left3", "right"))
    place = {tank: 0.05 * number for number, pair in enumerate(pairs) for tank in pair}  # one bench, one rate

    def take(day: int, tank: str) -> dict[str, Any]:
        rate = place[tank] + RATE["full" if tank.startswith("right") else "sparing"]
        return {"height_cm": math.exp(0.1 * rate * day + noise(day, tank, 0.01)), "cover": 0.5}

    measured = make_measured(trial, {"red-stem": take})
    apart = answer(make_book(trial), trial, measured=measured)[0]
    trial = replace(trial, plan=Plan("pairs", pairs=pairs))
    paired = answer(make_book(trial), trial, measured=measured)[0]
    assert apart.rule == "cannot tell"
    assert paired.rule == "effect of the regime"
    assert paired.design.startswith("3 pairs of tanks")
    assert "paired t-test" in paired.rule_text
    assert paired.effect == pytest.approx(apart.effect, rel=0.05)


def test_doses_planned_and_costs_follow_the_periods(make_trial, make_book):
    trial = swapping(make_trial(), periods=4, days=7, half_life_days=1.0)  # baseline of 14 days with "sparing"
    book = make_book(trial)
    book.note(41.5, "left", Care(1.0))
    given = doses_given(trial, book.entries("small"), "left", to_day=42)
    per_week = [sum(7 * week <= dose.day < 7 * week + 7 for dose in given) for week in range(6)]
    assert per_week == [1, 1, 1, 3, 1, 3]  # sparing doses once a week, full three times
    costs = costs_of(book, trial)
    # 10 mL a dose at 10 per 500 mL: 0.20 each; one tank at a time has each regime
    assert costs["sparing"].per_week == pytest.approx(0.2, rel=1e-9)
    assert costs["full"].per_week == pytest.approx(0.6, rel=1e-9)
    assert costs["full"].per_100_l_per_week == pytest.approx(0.6, rel=1e-9)


def test_minutes_and_costs_are_compared_by_tank_days(make_trial, make_measured, make_book):
    care = Question("care", "How many minutes?", "care minutes")
    cost = Question("cost", "Which costs less?", "cost")
    trial = swapping(make_trial(care, cost), periods=4, days=7, half_life_days=1.0)
    book = make_book(trial)
    for week in range(2, 6):
        for tank in trial.tanks:
            full = arm_on(trial, tank, 7 * week).key == "full"
            book.note(7 * week + 6.5, tank, Care(30.0 if full else 10.0))
    minutes, money = answer(book, trial, measured=make_measured(trial, {}))
    assert minutes.effect == pytest.approx(20.0, rel=1e-9)
    assert len(minutes.arms) == 4
    assert money.effect == pytest.approx(0.4, rel=1e-9)
    assert money.rule == minutes.rule == "exact account"
    assert any("counts for the regime of that day" in remark for remark in minutes.evidence.remarks)
    early = make_book(trial)
    early.note(18.5, "right", Care(5.0))
    assert "has not had" in answer(early, trial, measured=make_measured(trial, {}))[0].missing


def test_the_spread_written_beforehand_is_the_one_assumed(make_trial, make_measured, make_book, noise):
    trial = make_trial(GROWTH, baseline_days=0.0)

    def take(day: int, tank: str) -> dict[str, Any]:
        return {
            "height_cm": math.exp(RATE["full" if tank == "right" else "sparing"] * day + noise(day, tank, 0.001)),
            "cover": 0.5,
        }

    measured = make_measured(trial, {"red-stem": take})
    rules = {}
    for spread in (0.05, 0.60):
        rules[spread] = answer(
            make_book(trial), replace(trial, plan=Plan(spread=spread)), measured=measured
        )[0]  # fmt: skip
    assert rules[0.05].rule == "larger than equal tanks usually show"
    assert "assumed spread 5 %" in rules[0.05].wording
    assert rules[0.60].rule == "these two tanks differ"


def test_an_account_of_a_crossover_says_that_regimes_were_swapped(make_trial, make_measured, make_book):
    trial = swapping(make_trial(Question("care", "How many minutes?", "care minutes")), periods=4, days=7)
    book = make_book(trial)
    book.note(41.5, "left", Care(5.0))
    finding = answer(book, trial, measured=make_measured(trial, {}))[0]
    assert finding.design.startswith("one pair of tanks, regimes swapped over 4 periods, a baseline of 14 days")
