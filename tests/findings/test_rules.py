"""The table of design and result against what may be said, and that no sentence of cause exists below three tanks."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import get_args

import pytest

from littoral.findings.compared import Compared
from littoral.findings.design_said import design_text
from littoral.findings.method_box import cannot_show
from littoral.findings.model import ArmValue, Interval, Rule
from littoral.findings.rules import Numbers, decide, usual_bound
from littoral.findings.what_next import next_step
from littoral.findings.wording import detail, rule_text, texts, wording
from littoral.stats.estimate import Estimate
from littoral.trial.measures import MEASURES
from littoral.trial.model import Question, Trial
from littoral.trial.plan import Plan

PAIR = Numbers(
    effect=Interval(0.010, 0.004, 0.016),
    before=None,
    change=None,
    arm_values=(0.030, 0.040),
    tanks_per_arm=1,
    smallest=None,
    camera_term=None,
    absolute=True,
    spread=0.20,
)
AROUND_ZERO = Interval(0.001, -0.004, 0.006)

THREE = replace(PAIR, tanks_per_arm=3)
BEYOND, OTHER_WAY = Interval(0.009, 0.002, 0.016), Interval(-0.009, -0.016, -0.002)

CASES: list[tuple[str, Numbers, Rule]] = [
    ("includes 0", replace(PAIR, effect=AROUND_ZERO), "cannot tell"),
    ("ends at 0", replace(PAIR, effect=Interval(0.01, 0.0, 0.02)), "cannot tell"),
    ("includes 0, many tanks", replace(PAIR, effect=AROUND_ZERO, tanks_per_arm=5), "cannot tell"),
    ("inside the margin", replace(PAIR, effect=AROUND_ZERO, smallest=0.0061), "no larger than"),
    ("on the margin", replace(PAIR, effect=AROUND_ZERO, smallest=0.006), "cannot tell"),
    ("inside the margin, excludes 0", replace(PAIR, smallest=0.02), "no larger than"),
    ("pair", PAIR, "these two tanks differ"),
    ("pair, far apart", replace(PAIR, arm_values=(0.010, 0.020)), "larger than equal tanks usually show"),
    ("pair, no ratio scale", replace(PAIR, arm_values=(0.010, 0.020), spread=None), "these two tanks differ"),
    ("pair, one arm at 0", replace(PAIR, arm_values=(0.0, 0.010)), "these two tanks differ"),
    (
        "pair with baseline",
        replace(PAIR, change=Interval(0.009, 0.002, 0.016)),
        "difference changed after the regimes began",
    ),
    (
        "pair with baseline, drawn start disagrees",
        replace(PAIR, change=Interval(0.009, 0.002, 0.016), start_disagrees=True),
        "these two tanks differ",
    ),
    (
        "no card, drawn start disagrees",
        replace(PAIR, change=Interval(0.009, 0.002, 0.016), absolute=False, start_disagrees=True),
        "cannot tell",
    ),
    (
        "pair, far apart for a spread seen",
        replace(PAIR, arm_values=(0.010, 0.020), spread_df=6),
        "these two tanks differ",
    ),
    ("baseline, change unsure", replace(PAIR, change=AROUND_ZERO, arm_values=(0.01, 0.02)), "these two tanks differ"),
    (
        "change without difference",
        replace(PAIR, effect=AROUND_ZERO, change=Interval(0.01, 0.005, 0.015)),
        "cannot tell",
    ),
    ("two tanks per arm", replace(PAIR, tanks_per_arm=2, arm_values=(0.01, 0.02)), "these two tanks differ"),
    ("three tanks per arm", replace(PAIR, tanks_per_arm=3), "effect of the regime"),
    ("under the camera", replace(PAIR, camera_term=0.011), "not distinguishable from the camera"),
    (
        "under the camera, three tanks",
        replace(PAIR, camera_term=0.011, tanks_per_arm=3),
        "not distinguishable from the camera",
    ),
    (
        "inside a margin under the camera",
        replace(PAIR, effect=AROUND_ZERO, smallest=0.0061, camera_term=0.007),
        "cannot tell",
    ),
    (
        "inside a margin under the camera, excludes 0",
        replace(PAIR, smallest=0.02, camera_term=0.021),
        "not distinguishable from the camera",
    ),
    ("inside a margin at the camera", replace(PAIR, smallest=0.02, camera_term=0.02), "no larger than"),
    (
        "inside the margin, no card",
        replace(PAIR, effect=AROUND_ZERO, smallest=0.0061, absolute=False),
        "not distinguishable from the camera",
    ),
    (
        "inside the margin, no card, changed within it",
        replace(PAIR, effect=AROUND_ZERO, smallest=0.0061, absolute=False, change=AROUND_ZERO),
        "cannot tell",
    ),
    ("no card, no baseline", replace(PAIR, absolute=False), "not distinguishable from the camera"),
    ("no card, change includes 0", replace(PAIR, absolute=False, change=AROUND_ZERO), "cannot tell"),
    (
        "no card, change under the camera",
        replace(PAIR, absolute=False, camera_term=0.0095, change=Interval(0.009, 0.002, 0.016)),
        "not distinguishable from the camera",
    ),
    (
        "no card, changed while the difference includes 0",
        replace(PAIR, absolute=False, effect=AROUND_ZERO, change=Interval(0.009, 0.002, 0.016)),
        "difference changed after the regimes began",
    ),
    (
        "no card, three tanks, no baseline",
        replace(PAIR, absolute=False, tanks_per_arm=3),
        "not distinguishable from the camera",
    ),
    (
        "no card, three tanks, change includes 0",
        replace(PAIR, absolute=False, tanks_per_arm=3, change=AROUND_ZERO),
        "cannot tell",
    ),
    (
        "no card, three tanks, changed",
        replace(PAIR, absolute=False, tanks_per_arm=3, change=Interval(0.009, 0.002, 0.016)),
        "difference changed after the regimes began",
    ),
    ("three tanks, alike before", replace(THREE, before=AROUND_ZERO, change=AROUND_ZERO), "effect of the regime"),
    (
        "three tanks, alike before, no change known",
        replace(THREE, before=AROUND_ZERO, change=None),
        "effect of the regime",
    ),
    ("three tanks, differed before", replace(THREE, before=BEYOND, change=AROUND_ZERO), "these two tanks differ"),
    (
        "three tanks, differed before, no change known",
        replace(THREE, before=BEYOND, change=None),
        "these two tanks differ",
    ),
    (
        "three tanks, differed before, further apart since",
        replace(THREE, before=BEYOND, change=BEYOND),
        "effect of the regime",
    ),
    (
        "three tanks, differed before, nearer since",
        replace(THREE, before=BEYOND, change=OTHER_WAY),
        "these two tanks differ",
    ),
    ("three tanks, turned round since", replace(THREE, before=OTHER_WAY, change=BEYOND), "effect of the regime"),
    (
        "no card, changed",
        replace(PAIR, absolute=False, change=Interval(0.009, 0.002, 0.016)),
        "difference changed after the regimes began",
    ),
    (
        "change under the camera",
        replace(PAIR, camera_term=0.0095, change=Interval(0.009, 0.002, 0.016)),
        "these two tanks differ",
    ),
]


@pytest.mark.parametrize(("numbers", "rule"), [case[1:] for case in CASES], ids=[case[0] for case in CASES])
def test_design_and_result_give_the_rule(numbers: Numbers, rule: Rule) -> None:
    assert decide(numbers) == rule


def test_every_rule_of_the_model_has_its_text() -> None:
    assert set(texts()["text"]) == {*get_args(Rule), "not distinguishable from the camera, no card"}


def test_every_measure_has_its_plain_words() -> None:
    assert set(texts()["more"]) == set(texts()["less"]) == set(MEASURES)


@pytest.mark.parametrize(("spread", "percent"), [(0.10, 31), (0.20, 57)])
def test_what_one_pair_cannot_call_is_what_the_method_study_found(spread: float, percent: int) -> None:
    """The study's two figures, to their last digit; an error of 7 % of the pair's ratio is what gives them both."""
    half = 1.96 * 0.07 * 0.035
    numbers = replace(PAIR, spread=spread, effect=Interval(0.01, 0.01 - half, 0.01 + half), arm_values=(0.030, 0.040))
    bound = usual_bound(numbers)
    assert bound is not None
    assert round(100 * bound) == percent


def test_the_bound_of_equal_tanks_is_that_of_the_level_it_is_held_to() -> None:
    """By hand: z is 1.959964 at 95 % and 2.575829 at 99 %; the same error of 0.001 behind both intervals."""
    for level, z in ((0.95, 1.959964), (0.99, 2.575829)):
        effect = Interval(0.01, 0.01 - z * 0.001, 0.01 + z * 0.001)
        bound = usual_bound(replace(PAIR, spread=0.2, effect=effect, arm_values=(0.03, 0.04), level=level))
        assert bound == pytest.approx(z * math.sqrt(2 * 0.2**2 + (0.001 / 0.035) ** 2), rel=1e-6)
    seen = usual_bound(replace(PAIR, spread=0.2, spread_df=6, effect=effect, arm_values=(0.03, 0.04), level=0.99))
    assert seen == pytest.approx(3.707428 * math.sqrt(2 * 0.2**2 + (0.001 / 0.035) ** 2), rel=1e-6)  # t(6) at 99.5 %
    # a ratio between the two bounds is called at 95 % and not at 99 %
    near = replace(PAIR, spread=0.1, arm_values=(0.030, 0.040), effect=Interval(0.01, 0.009, 0.011))
    assert decide(near) == "larger than equal tanks usually show"
    assert decide(replace(near, level=0.99)) == "these two tanks differ"


def compared(
    make_trial: Callable[..., Trial], numbers: Numbers, *, measure: str = "height growth"
) -> tuple[Trial, Compared]:
    question = Question("q", "Which?", measure, primary=True)
    trial = make_trial(question, tanks_per_arm=numbers.tanks_per_arm)
    values = tuple(
        ArmValue(arm.key, tank, value, value * 0.9, value * 1.1, 40)
        for arm, value in zip(trial.arms, numbers.arm_values, strict=True)
        for tank in arm.tanks
    )
    effect = Estimate.normal(numbers.effect.value, spread=(numbers.effect.high - numbers.effect.low) / 3.92)
    of = Compared(question, MEASURES[measure].unit, arms=values, effect=effect, tanks_per_arm=numbers.tanks_per_arm)
    return trial, of


CAUSE = ("effect", "because", "caus", "due to", "thanks to", "led to", "results from", "prove", "no difference between")


@pytest.mark.parametrize("measure", ["height growth", "cover growth", "compactness", "redness", "algae"])
@pytest.mark.parametrize("case", [case for case in CASES if case[1].tanks_per_arm < 3], ids=lambda case: case[0])
def test_no_sentence_of_cause_below_three_tanks_per_arm(
    case: tuple[str, Numbers, Rule], measure: str, make_trial: Callable[..., Trial]
) -> None:
    _, numbers, rule = case
    trial, of = compared(make_trial, numbers, measure=measure)
    said = " ".join(
        (
            wording(trial, of, rule, numbers, level=0.95),
            detail(trial, of, rule, numbers, level=0.95),
            rule_text(of, rule, level=0.95, further=3),
            next_step(trial, of, rule),
            design_text(trial, of),
        )
    ).lower()
    assert [word for word in CAUSE if word in said.replace("no proof of equality", "")] == []


def test_sentences_read_as_written(make_trial: Callable[..., Trial]) -> None:
    trial, of = compared(make_trial, PAIR)
    end = (
        " Relative growth rate of canopy height: right tank (full) 4.00 % per day, left tank (sparing) 3.00 % per day; "
        "difference +1.00 percentage points per day (95 % interval +0.40 to +1.60)."
    )
    assert wording(trial, of, "these two tanks differ", PAIR, level=0.95) == (
        f"Right tank (full) grew faster: a difference between these two tanks; tank or regime, unknown.{end}"
    )
    assert wording(trial, of, "larger than equal tanks usually show", PAIR, level=0.95) == (
        "Right tank (full) grew faster: larger than equal tanks usually show (assumed spread 20 %); "
        f"tank or regime, unknown.{end}"
    )
    changed = replace(PAIR, before=AROUND_ZERO, change=Interval(0.009, 0.002, 0.016))
    assert wording(trial, of, "difference changed after the regimes began", changed, level=0.95) == (
        "Right tank (full) grew faster: the difference between the tanks changed by +0.90 percentage points per day "
        f"(95 % interval +0.20 to +1.60) after the regimes began; why, unknown.{end}"
    )


def test_cannot_tell_prints_the_half_width(make_trial: Callable[..., Trial]) -> None:
    numbers = replace(PAIR, effect=AROUND_ZERO, arm_values=(0.030, 0.031))
    trial, of = compared(make_trial, numbers)
    said = wording(trial, of, "cannot tell", numbers, level=0.9833)
    assert said.startswith("Cannot tell; a difference under 0.50 percentage points per day could have been missed.")
    assert "(98.3 % interval −0.40 to +0.60)" in said


def test_three_tanks_per_arm_may_speak_of_the_regime(make_trial: Callable[..., Trial]) -> None:
    numbers = replace(PAIR, tanks_per_arm=3)
    trial, of = compared(make_trial, numbers)
    assert "effect of the regime (3 tanks per arm)." in wording(trial, of, "effect of the regime", numbers, level=0.95)


def test_tanks_that_differed_before_are_described_however_many_there_are(make_trial: Callable[..., Trial]) -> None:
    numbers = replace(THREE, before=BEYOND, change=AROUND_ZERO)
    trial, of = compared(make_trial, numbers)
    rule = decide(numbers)
    said = wording(trial, of, rule, numbers, level=0.95)
    assert "a difference between these tanks, as there was before the regimes began; why, unknown." in said
    assert "so it did before the regimes began" in rule_text(of, rule, level=0.95, further=1)
    assert "fewer than three" not in rule_text(of, rule, level=0.95, further=1)
    assert cannot_show(trial, of, rule).startswith("It cannot show whether the regime did it: the arms differed before")


def test_a_design_that_gave_no_answer_is_told_as_it_was_laid_out(make_trial: Callable[..., Trial]) -> None:
    trial, of = compared(make_trial, replace(PAIR, tanks_per_arm=4))
    nothing = Compared(of.question, of.unit, missing="no photo was measured")
    assert design_text(trial, nothing).startswith("4 tanks per arm, ")
    pairs = replace(trial, plan=Plan("pairs", pairs=tuple(zip(*(arm.tanks for arm in trial.arms), strict=True))))
    assert design_text(pairs, nothing).startswith("4 pairs of tanks, ")


def test_one_tank_against_three_is_not_two_tanks(make_trial: Callable[..., Trial]) -> None:
    trial, of = compared(make_trial, THREE)
    of = replace(of, arms=(of.arms[0], *of.arms[3:]), tanks_per_arm=1)
    said = wording(trial, of, "these two tanks differ", PAIR, level=0.95)
    assert "a difference between these tanks; tank or regime, unknown." in said


def test_what_was_expected_is_said_beside_a_claim_and_nowhere_else(make_trial: Callable[..., Trial]) -> None:
    trial, of = compared(make_trial, PAIR)
    of = replace(of, question=replace(of.question, expect=("full", "lower")))
    assert detail(trial, of, "these two tanks differ", PAIR, level=0.95).endswith(
        "Expected beforehand: full lower; the opposite was seen."
    )
    assert "Expected" not in detail(trial, of, "cannot tell", PAIR, level=0.95)
