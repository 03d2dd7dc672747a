"""Tests beside the one that decides, blocks, and a start that was drawn: what they say, no claim gets bolder."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy import optimize, stats

from littoral.findings.answers import answer
from littoral.findings.camera import COMPACTNESS
from littoral.findings.several import several
from littoral.trial.model import Question, Trial
from littoral.trial.plan import Plan, draw_order

COMPACT = Question("compact", "Which stayed compact?", "compactness", of=("red-stem",), primary=True)
GROWTH = Question("growth", "Which grew faster?", "height growth", of=("red-stem",), primary=True)


def compact(level: dict[str, float], later: dict[str, float], noise, *, from_day: float = 14.0, spread: float = 0.02):
    """Cover per height, in points per cm, at `level` by tank and times `later` from a day on."""

    def take(day: int, tank: str) -> dict[str, Any]:
        value = level[tank] * (later.get(tank, 1.0) if day >= from_day else 1.0) * math.exp(noise(day, tank, spread))
        return {"height_cm": 10.0, "cover": 0.10 * value}

    return {"red-stem": take}


def named(finding, name: str):
    return next(one for one in finding.beside if one.name == name)


def test_one_pair_with_a_baseline_has_step_and_intervention_beside_it(make_trial, make_measured, make_book, noise):
    trial = make_trial(COMPACT)
    measured = make_measured(trial, compact({"left": 4.0, "right": 4.4}, {"right": 1.4}, noise))
    finding = answer(make_book(trial), trial, measured=measured)[0]
    assert finding.rule == "difference changed after the regimes began"
    assert [one.name for one in finding.beside] == ["step change", "randomised intervention analysis"]
    shuffled = named(finding, "randomised intervention analysis")
    assert "20 %" in shuffled.text
    assert "Murtaugh 2002" in shuffled.text
    assert not shuffled.needed
    assert "cause" not in " ".join(one.text for one in finding.beside)
    assert "effect" not in finding.wording + " ".join(one.text for one in finding.beside)


def test_a_pair_that_differs_all_along_has_not_changed(make_trial, make_measured, make_book):
    trial = make_trial(COMPACT, baseline_days=28.0)
    rng = np.random.default_rng(2)
    jitter = rng.normal(0, 0.05, (2, 56))

    def take(day: int, tank: str) -> dict[str, Any]:
        value = 4.0 + jitter[int(tank == "right")][day] + (1.0 if tank == "right" else 0.0)
        return {"height_cm": 10.0, "cover": 0.10 * value}

    finding = answer(make_book(trial), trial, measured=make_measured(trial, {"red-stem": take}))[0]
    assert finding.change is not None
    assert finding.change.low <= 0 <= finding.change.high
    assert finding.rule != "difference changed after the regimes began"


def test_the_interval_of_a_change_spans_both_ways(make_trial, make_measured, make_book, noise):
    from littoral.stats.before_after import step_change
    from littoral.stats.compare import mean_levels
    from littoral.stats.series import Series

    trial = make_trial(COMPACT)
    takes = compact({"left": 4.0, "right": 4.4}, {"right": 1.2}, noise)
    finding = answer(make_book(trial), trial, measured=make_measured(trial, takes))[0]
    gap = [
        10 * (takes["red-stem"](day, "right")["cover"] - takes["red-stem"](day, "left")["cover"]) for day in range(56)
    ]
    series = Series("gap", "points per cm", "level", np.arange(56) + 0.5, np.array(gap))
    ways = [step_change(series, change_day=14).change, mean_levels(series, change_day=14).change]
    ends = [one.interval() for one in ways if one is not None]
    assert finding.change is not None
    assert finding.change.low == pytest.approx(min(low for low, _ in ends), abs=1e-6)
    assert finding.change.high == pytest.approx(max(high for _, high in ends), abs=1e-6)


@pytest.mark.parametrize(("shift_day", "holds"), [(14.0, True), (21.0, False)])
def test_a_drawn_start_must_agree(make_trial, make_measured, make_book, noise, shift_day, holds):
    """The same jump on the drawn day, or a week later, when something else came: only the first is claimed."""
    could_be = tuple(float(day) for day in range(8, 34))
    trial = replace(make_trial(COMPACT), plan=Plan(start_drawn_from=could_be))
    takes = compact({"left": 4.0, "right": 4.4}, {"right": 1.4}, noise, from_day=shift_day)
    finding = answer(make_book(trial), trial, measured=make_measured(trial, takes))[0]
    drawn = named(finding, "drawn start")
    assert drawn.smallest_p == pytest.approx(1 / 26)
    assert (drawn.p_value <= 0.05) == holds
    assert (finding.rule == "difference changed after the regimes began") == holds
    assert "its end drawn by lot from 26 days" in finding.design
    if not holds:
        assert finding.rule == "these two tanks differ"
        assert "whether it changed cannot be told" in finding.detail


def test_too_few_days_drawn_from_stand_beside_only(make_trial, make_measured, make_book, noise):
    trial = replace(make_trial(COMPACT), plan=Plan(start_drawn_from=(10.0, 14.0, 18.0)))
    takes = compact({"left": 4.0, "right": 4.4}, {"right": 1.4}, noise)
    finding = answer(make_book(trial), trial, measured=make_measured(trial, takes))[0]
    assert "it cannot go under 0.33" in named(finding, "drawn start").text
    assert finding.rule == "difference changed after the regimes began"


def test_growth_is_shuffled_by_weeks_and_drawn_by_slopes(make_trial, make_measured, make_book, noise):
    could_be = tuple(float(day) for day in range(8, 34))
    trial = replace(make_trial(GROWTH), plan=Plan(start_drawn_from=could_be))

    def take(day: int, tank: str) -> dict[str, Any]:
        grown = 0.02 * day + (0.03 * max(0, day + 0.5 - 14) if tank == "right" else 0)
        return {"height_cm": math.exp(grown + noise(day, tank, 0.005)), "cover": 0.5}

    finding = answer(make_book(trial), trial, measured=make_measured(trial, {"red-stem": take}))[0]
    assert [one.name for one in finding.beside] == ["randomised intervention analysis", "drawn start"]
    assert "of 8 weeks" in finding.beside[0].text
    assert named(finding, "drawn start").p_value == pytest.approx(1 / 26)
    assert finding.rule == "difference changed after the regimes began"


@pytest.mark.parametrize("paired", [True, False])
def test_few_tanks_have_the_exact_test_beside_them(make_trial, make_measured, make_book, noise, paired):
    trial = make_trial(COMPACT, baseline_days=0.0, tanks_per_arm=3)
    if paired:
        trial = replace(trial, plan=Plan("pairs", pairs=tuple(zip(*(arm.tanks for arm in trial.arms), strict=True))))
    level = {tank: (5.0 if tank.startswith("right") else 4.0) * (1 + 0.02 * n) for n, tank in enumerate(trial.tanks)}
    finding = answer(make_book(trial), trial, measured=make_measured(trial, compact(level, {}, noise)))[0]
    assert finding.rule == "effect of the regime"
    (test,) = finding.beside
    least = 0.25 if paired else 0.1
    assert (test.p_value, test.smallest_p) == pytest.approx((least, least))
    many = "3 pairs" if paired else "3 and 3 tanks"
    assert f"with {many} it cannot go under {least:g}" in test.text


def blocked(make_trial, sizes: dict[str, tuple[int, int]]) -> Trial:
    """A trial whose blocks hold so many tanks of the first and of the second arm."""
    per_arm = sum(first for first, _ in sizes.values())
    trial = make_trial(COMPACT, baseline_days=0.0, tanks_per_arm=per_arm)
    first, second = (list(arm.tanks) for arm in trial.arms)
    blocks = tuple(
        (name, (*(first.pop() for _ in range(a)), *(second.pop() for _ in range(b)))) for name, (a, b) in sizes.items()
    )
    assert not first
    assert not second
    return replace(trial, plan=Plan(blocks=blocks, blocked_by="light"))


def test_blocks_take_out_what_the_light_does(make_trial, make_measured, make_book, noise):
    trial = blocked(make_trial, {"window": (2, 1), "wall": (1, 2), "corner": (1, 1)})
    light = {"window": 5.0, "wall": 3.0, "corner": 4.0}
    place = {tank: light[name] for name, tanks in trial.plan.blocks for tank in tanks}
    rng = np.random.default_rng(4)
    level = {
        tank: place[tank] + (0.5 if tank.startswith("right") else 0.0) + rng.normal(0, 0.1) for tank in trial.tanks
    }
    measured = make_measured(trial, compact(level, {}, noise, spread=0.005))
    finding = answer(make_book(trial), trial, measured=measured)[0]
    apart = answer(make_book(trial), replace(trial, plan=Plan()), measured=measured)[0]
    assert (apart.rule, finding.rule) == ("cannot tell", "effect of the regime")
    assert finding.effect == pytest.approx(0.5, abs=0.15)
    assert "in 3 blocks (light)" in finding.design
    assert "tanks − blocks − 1" in finding.rule_text
    (test,) = finding.beside
    assert test.smallest_p == pytest.approx(1 / 18)  # 3 · 3 · 2 ways to deal within the blocks


def test_blocks_are_the_plain_least_squares_twin(make_trial, make_measured, make_book, noise):
    trial = blocked(make_trial, {"window": (2, 2), "wall": (2, 2)})
    rng = np.random.default_rng(9)
    level = {tank: float(rng.normal(4, 0.3)) for tank in trial.tanks}
    finding = answer(make_book(trial), trial, measured=make_measured(trial, compact(level, {}, noise)))[0]
    values = {one.tank: one.value for one in finding.arms}
    in_wall = dict(trial.plan.blocks)["wall"]
    rows = [[1.0, float(tank.startswith("right")), float(tank in in_wall)] for tank in values]
    y = np.array(list(values.values()))
    design = np.array(rows)
    twin, rest, *_ = np.linalg.lstsq(design, y, rcond=None)
    error = math.sqrt(float(rest[0]) / 5 * np.linalg.inv(design.T @ design)[1, 1])
    # Student's t on 5 degrees of freedom, with the photos' own normal error beside it: their sum by quadrature
    away = np.linspace(-8, 8, 4001) * COMPACTNESS.difference
    weight = stats.norm.pdf(away, scale=COMPACTNESS.difference)
    weight /= weight.sum()
    half = float(
        optimize.brentq(lambda reach: weight @ stats.t.cdf((reach - away) / error, 5) - 0.975, 0, 20 * error + 1)
    )
    assert finding.effect == pytest.approx(twin[1], rel=1e-6)
    assert (finding.low, finding.high) == pytest.approx((twin[1] - half, twin[1] + half), rel=1e-3)


def test_a_drawn_order_has_its_exact_test_beside_it(make_trial, make_measured, make_book, noise):
    plan = Plan("crossover", 8.0, 3.0, draw_order(6, seed=2), "drawn by lot", 2, half_life_days=1.0)
    trial = replace(make_trial(COMPACT, baseline_days=0.0), plan=plan, length_days=48.0)
    measured = make_measured(trial, compact({"left": 4.0, "right": 5.0}, {}, noise))
    finding = answer(make_book(trial), trial, measured=measured)[0]
    assert named(finding, "drawn order").smallest_p == pytest.approx(2 / 8)


def test_all_questions_together_are_counted(make_trial, make_measured, make_book, noise):
    questions = (
        replace(COMPACT, primary=True),
        Question("again", "And of the carpet?", "compactness", of=("carpet",)),
        Question("growth", "Which grew?", "height growth", of=("red-stem",)),
    )
    trial = make_trial(*questions)
    takes = compact({"left": 4.0, "right": 6.0}, {}, noise)
    measured = make_measured(trial, {**takes, "carpet": takes["red-stem"]})
    findings = answer(make_book(trial), trial, measured=measured)
    found = several(findings)
    p_values = [one.p_value for one in findings]
    assert [p for _, p in found.adjusted] == pytest.approx(stats.false_discovery_control(p_values))
    assert found.tested == 3
    assert found.by_luck == pytest.approx(0.15)
    assert found.text.startswith(
        f"Of 3 differences tested, {found.called} stand out from scatter at the levels that decide;"
    )
    assert several(findings[:1]).text == ""
    assert several(()).tested == 0
