"""From measures and entries to findings, on a small trial whose truth is known."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from tests.findings.answers_asked import GROWTH, Make, Noise, heights, only

from littoral.findings.answers import answer
from littoral.findings.measured import Measured
from littoral.imaging.results import PARTLY_HIDDEN
from littoral.trial.entries import Care, Dose, Trim
from littoral.trial.model import Question


def test_a_change_after_a_baseline_is_seen_and_worded(
    make_trial: Make, make_measured: Make, make_book: Make, noise: Noise
) -> None:
    trial = make_trial(GROWTH)
    measured = make_measured(trial, {"red-stem": heights(noise, {"left": 0.02, "right": 0.035})})
    finding = only(answer(make_book(trial), trial, measured=measured))
    assert finding.rule == "difference changed after the regimes began"
    assert finding.low is not None
    assert finding.high is not None
    assert finding.low < 0.015 < finding.high
    assert finding.change is not None
    assert finding.before is not None
    assert finding.change.low < 0.015 < finding.change.high
    assert finding.before.low < 0 < finding.before.high
    assert [(value.arm, value.tank, value.days) for value in finding.arms] == [
        ("sparing", "left", 42),
        ("full", "right", 42),
    ]
    assert finding.effect is not None
    assert finding.relative_percent == pytest.approx(100 * finding.effect / finding.arms[0].value, rel=1e-9)
    # 75 % by the rates put in; its error by those of slopes over 42 days with a noise of 0.02 (before and after share
    # their bend, which only adds knowledge): r = (b - a) / a, SD 1 / a * sqrt(SD(b)² + (1 + r)² SD(a)²)
    slope = 0.02 / np.sqrt(np.sum((np.arange(42) - 20.5) ** 2))
    assert finding.relative_percent == pytest.approx(75, abs=2.58 * 100 * slope / 0.02 * np.hypot(1, 1.75))
    assert set(finding.evidence.series) == {"left", "left/red-stem", "right", "right/red-stem"}
    assert len(finding.evidence.photos) == 112
    assert (finding.tanks_per_arm, finding.level, finding.missing) == (1, 0.95, "")


def test_equal_tanks_cannot_be_told_apart_and_the_half_width_is_said(
    make_trial: Make, make_measured: Make, make_book: Make, noise: Noise
) -> None:
    trial = make_trial(GROWTH, baseline_days=0.0)
    measured = make_measured(trial, {"red-stem": heights(noise, {"left": 0.02, "right": 0.02})})
    finding = only(answer(make_book(trial), trial, measured=measured))
    assert finding.rule == "cannot tell"
    assert "could have been missed" in finding.wording
    assert finding.before is None
    margin = replace(trial, questions=(replace(GROWTH, smallest=0.01),))
    finding = only(answer(make_book(margin), margin, measured=measured))
    assert finding.rule == "no larger than"
    assert "No difference larger than 1.0 percentage points per day" in finding.wording


def test_trims_written_down_do_not_change_the_rate_and_are_evidence(
    make_trial: Make, make_measured: Make, make_book: Make, noise: Noise
) -> None:
    trial = make_trial(GROWTH)
    grown = heights(noise, {"left": 0.03, "right": 0.03})

    def trimmed(day: int, tank: str) -> dict[str, float]:
        take = grown(day, tank)
        return take | {"height_cm": take["height_cm"] * (0.5 if tank == "right" and day >= 30 else 1.0)}

    book = make_book(trial)
    trim = book.note(30.2, "right", Trim("red-stem", 12.0, 30.0))
    other = book.note(30.2, "right", Trim("carpet", 2.0, 5.0))
    finding = only(answer(book, trial, measured=make_measured(trial, {"red-stem": trimmed})))
    assert finding.rule == "cannot tell"
    assert finding.arms[1].value == pytest.approx(0.03, abs=0.003)
    assert finding.evidence.entries == (trim.id,)
    assert other.id not in finding.evidence.entries
    assert finding.evidence.remarks == ()


def test_a_trim_nobody_wrote_down_is_asked_about(
    make_trial: Make, make_measured: Make, make_book: Make, noise: Noise
) -> None:
    trial = make_trial(GROWTH)
    grown = heights(noise, {"left": 0.03, "right": 0.03})

    def trimmed(day: int, tank: str) -> dict[str, float]:
        take = grown(day, tank)
        return take | {"height_cm": take["height_cm"] * (0.5 if tank == "right" and day >= 30 else 1.0)}

    finding = only(answer(make_book(trial), trial, measured=make_measured(trial, {"red-stem": trimmed})))
    assert finding.arms[1].value == pytest.approx(0.03, abs=0.003)
    asked, without = finding.evidence.remarks
    assert "red stem plant, right tank: between days 29.5 and 30.5 its size fell" in asked
    assert without.startswith("If no such fall was a trim: right tank ")
    assert "percentage points per day (95 % interval" in without
    reason = "right tank, day 30: red stem plant fell to 52 %, taken for a trim that nobody wrote down"
    assert finding.evidence.disturbed_by == {"photo-right-30": reason}


def test_a_plant_that_dies_back_is_not_taken_for_one_that_was_trimmed(
    make_trial: Make, make_measured: Make, make_book: Make, noise: Noise
) -> None:
    """It loses 30 % a day for five days and grows on at its old rate: a loss, and no rate may hide it."""
    trial = make_trial(GROWTH)
    grown = heights(noise, {"left": 0.03, "right": 0.03})

    def dying(day: int, tank: str) -> dict[str, float]:
        take = grown(day, tank)
        lost = 0.7 ** min(5, max(0, day - 29)) if tank == "right" else 1.0
        return take | {"height_cm": take["height_cm"] * lost}

    finding = only(answer(make_book(trial), trial, measured=make_measured(trial, {"red-stem": dying})))
    assert finding.evidence.remarks == ()
    assert finding.evidence.disturbed_by == {}
    assert finding.arms[1].value < 0


def test_two_stands_are_one_tank(make_trial: Make, make_measured: Make, make_book: Make, noise: Noise) -> None:
    """The same stem measured as two stands must not give a narrower interval than once."""
    grown = heights(noise, {"left": 0.02, "right": 0.026})
    once, twice = make_trial(GROWTH), make_trial(replace(GROWTH, of=()))
    takes = {"red-stem": grown, "carpet": grown}
    one = only(answer(make_book(once), once, measured=make_measured(once, takes)))
    two = only(answer(make_book(twice), twice, measured=make_measured(twice, takes)))
    assert (two.low, two.high) == pytest.approx((one.low, one.high))
    assert [part.region for part in two.parts] == ["red-stem", "carpet"]


def test_stands_of_one_finding_have_equal_digits(
    make_trial: Make, make_measured: Make, make_book: Make, noise: Noise
) -> None:
    def growing(spread: float) -> Callable[[int, str], dict[str, float]]:
        return lambda day, tank: {"height_cm": float(np.exp(0.025 * day + noise(day, f"{tank}{spread}", spread)))}

    trial = make_trial(Question("growth", "Faster?", "height growth", primary=True))
    measured = make_measured(trial, {"red-stem": growing(0.002), "carpet": growing(0.1)})
    parts = only(answer(make_book(trial), trial, measured=measured)).parts
    digits = {len(number) for part in parts for number in re.findall(r"\d\.(\d+) %", part.text)}
    assert len(parts) == 2
    assert len(digits) == 1


def test_places_that_plants_hid_in_part_are_named(make_trial: Make, make_measured: Make, make_book: Make) -> None:
    trial = make_trial(Question("algae", "Where did algae come?", "algae", primary=True))
    measured = make_measured(
        trial,
        {
            "stone": lambda day, tank: {
                "algae": 0.1 + 0.001 * (day % 3),
                "flags": (PARTLY_HIDDEN,) if tank == "left" and day >= 50 else (),
            }
        },
    )
    limits = " ".join(only(answer(make_book(trial), trial, measured=measured)).evidence.remarks)
    assert "stone, left tank: plants hid part of it on 6 photos" in limits
    assert "stone, right tank" not in limits


def test_three_tanks_per_arm_speak_of_the_regime_by_tanks(
    make_trial: Make, make_measured: Make, make_book: Make, noise: Noise
) -> None:
    trial = make_trial(GROWTH, tanks_per_arm=3)
    rates = {"left": 0.020, "left2": 0.022, "left3": 0.021, "right": 0.030, "right2": 0.031, "right3": 0.033}
    finding = only(answer(make_book(trial), trial, measured=make_measured(trial, {"red-stem": heights(noise, rates)})))
    assert finding.rule == "effect of the regime"
    assert finding.tanks_per_arm == 3
    assert "effect of the regime (3 tanks per arm)" in finding.wording
    wide = rates | {"left2": 0.034, "right3": 0.018}
    finding = only(answer(make_book(trial), trial, measured=make_measured(trial, {"red-stem": heights(noise, wide)})))
    assert finding.rule == "cannot tell"


def test_further_questions_are_held_to_more_than_95_percent(
    make_trial: Make, make_measured: Make, make_book: Make, noise: Noise
) -> None:
    further = [
        Question("cover", "Cover?", "cover growth", ("red-stem",)),
        Question("compact", "Compact?", "compactness", ("red-stem",)),
        Question("carpet", "Carpet?", "height growth", ("carpet",)),
    ]
    trial = make_trial(GROWTH, *further)
    same = heights(noise, {"left": 0.02, "right": 0.02})
    findings = answer(make_book(trial), trial, measured=make_measured(trial, {"red-stem": same, "carpet": same}))
    assert findings[0].level == 0.95
    assert all(one.level >= 0.95 for one in findings)
    assert max(one.level for one in findings[1:]) == pytest.approx(1 - 0.05 / 3)
    for one in findings:
        assert one.claim is not None
        assert one.low is not None
        assert one.high is not None
        assert one.claim.low <= one.low <= one.high <= one.claim.high


def test_minutes_and_costs_are_accounts(make_trial: Make, make_measured: Make, make_book: Make) -> None:
    trial = make_trial(Question("care", "Care?", "care minutes", primary=True), Question("cost", "Cost?", "cost"))
    book = make_book(trial)
    for day in range(56):
        book.note(day + 0.4, "left", Care(2.0))
        book.note(day + 0.4, "right", Care(3.0))
        book.note(day + 0.5, "left", Dose("macro", ml=10.0, given=day != 20))
        book.note(day + 0.5, "right", Dose("macro", ml=30.0))
    care, cost = answer(book, trial, measured=Measured((), "test"))
    assert (care.rule, cost.rule) == ("exact account", "exact account")
    assert [value.value for value in care.arms] == pytest.approx([14.0, 21.0])
    assert care.effect == pytest.approx(7.0)
    assert (care.low, care.high, care.p_value, care.claim) == (None, None, None, None)
    assert len(care.evidence.entries) == 84
    # By hand: 41 and 42 doses of 10 and 30 mL in six weeks, at 10 EUR for 500 mL
    assert [value.value for value in cost.arms] == pytest.approx([410 / 500 * 10 / 6, 1260 / 500 * 10 / 6])
    assert cost.unit == "EUR per week"
    assert "macro stock runs out first, after 2 weeks" in cost.detail
    assert list(cost.evidence.disturbed_by.values()) == ["left tank, day 20: dose of macro stock missed"]


def test_trimmed_mass_is_the_account_of_the_stands_asked_about(make_trial: Make, make_book: Make) -> None:
    trial = make_trial(Question("mass", "Mass?", "trimmed mass", ("red-stem",), primary=True))
    book = make_book(trial)
    book.note(10.2, "left", Trim("red-stem", 10.0, 50.0))  # in the baseline
    book.note(30.2, "left", Trim("red-stem", 10.0, 12.0))
    book.note(30.3, "left", Trim("carpet", 2.0, 9.0))
    book.note(55.9, "right", Trim("red-stem", 10.0, 24.0))
    finding = only(answer(book, trial, measured=Measured((), "test")))
    assert [value.value for value in finding.arms] == pytest.approx([2.0, 4.0])


@pytest.mark.parametrize(
    ("measure", "missing"),
    [
        ("height growth", "left tank and right tank: no photo was measured"),
        ("algae", "left tank and right tank: no photo was measured"),
        ("care minutes", "no minutes of care was noted since the regimes began"),
        ("trimmed mass", "no wet mass of trimmings was noted since the regimes began"),
    ],
)
def test_a_question_without_data_says_what_is_missing(
    measure: str, missing: str, make_trial: Make, make_book: Make
) -> None:
    trial = make_trial(Question("q", "Q?", measure, primary=True))
    book = make_book(trial)
    book.note(55.5, "left", Dose("macro", ml=10.0))
    finding = only(answer(book, trial, measured=Measured((), "test")))
    assert (finding.rule, finding.effect, finding.missing) == ("not answered", None, missing)
    assert finding.wording == f"Not answered: {missing}."


def test_a_cost_that_is_not_known_yet_says_why(make_trial: Make, make_book: Make) -> None:
    """A fresh trial whose tanks are described, and one whose first tank is not."""
    fresh = make_trial(Question("cost", "Cost?", "cost", primary=True))
    nothing = Measured((), "test")
    missing = only(answer(make_book(fresh), fresh, measured=nothing)).missing
    assert missing == "no dose has been noted since the regimes began"
    bare = replace(fresh, tanks={key: replace(tank, vessel=None) for key, tank in fresh.tanks.items()})
    book = make_book(bare)
    book.note(55.5, "left", Dose("macro", ml=10.0))
    assert only(answer(book, bare, measured=nothing)).missing == "left tank: its water is not described"


def test_too_few_photos_after_the_baseline_say_so(
    make_trial: Make, make_measured: Make, make_book: Make, noise: Noise
) -> None:
    trial = make_trial(GROWTH)
    measured = make_measured(trial, {"red-stem": heights(noise, {"left": 0.02, "right": 0.02})}, skip=range(17, 56))
    finding = only(answer(make_book(trial), trial, measured=measured))
    assert finding.rule == "not answered"
    assert "3 values are too few to estimate it, at least 4 are needed" in finding.missing


def test_photos_set_aside_are_named(make_trial: Make, make_measured: Make, make_book: Make, noise: Noise) -> None:
    trial = make_trial(GROWTH)
    measured = make_measured(trial, {"red-stem": heights(noise, {"left": 0.02, "right": 0.02})})
    bad = replace(measured.photos[20], regions=(), excluded="the photo is nearly black")
    measured = replace(measured, photos=(*measured.photos[:20], bad, *measured.photos[21:]))
    finding = only(answer(make_book(trial), trial, measured=measured))
    assert finding.evidence.remarks == ("1 photo was set aside: the photo is nearly black",)
    assert finding.evidence.disturbed_by == {
        bad.entry_id: "left view, day 20: photo set aside, the photo is nearly black"
    }
    assert bad.entry_id not in finding.evidence.photos
