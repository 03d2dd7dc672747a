"""The day algae came: from measured photos to findings, by hand, and against a published example."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest
from tests.findings.measures_asked import (
    ONSET,
    Make,
    algae_from,
    only,
    shelves,
)

from littoral.findings.answers import answer
from littoral.findings.measured import Measured
from littoral.trial.plan import Plan


def onset(make_trial: Make, make_measured: Make, make_book: Make, first: Mapping[str, int | None], **more: Any) -> Any:
    trial = make_trial(replace(ONSET, **more.pop("question", {})), tanks_per_arm=len(first) // 2)
    trial = replace(trial, **more)
    return trial, only(answer(make_book(trial), trial, measured=make_measured(trial, {"stone": algae_from(first)})))


def test_one_pair_is_told_when_algae_came_and_nothing_more(
    make_trial: Make, make_measured: Make, make_book: Make
) -> None:
    _, found = onset(make_trial, make_measured, make_book, {"left": 23, "right": None})
    assert found.rule == "description of these tanks"
    assert found.wording == (
        "Right tank (full) had algae later: a description of these two tanks; tank or regime, unknown. "
        "Algae on 5 % or more of a place: right tank (full) not by day 55, left tank (sparing) from day 23."
    )
    assert found.effect_words == "at least 32 days later"
    assert (found.effect, found.low, found.p_value, found.claim) == (None, None, None, None)
    assert [(value.text, value.days) for value in found.arms] == [("from day 23", 56), ("not by day 55", 56)]
    assert found.arms[0].value == 23.5
    assert math.isnan(found.arms[1].value)
    assert found.rule_text.startswith("Fewer than three tanks per arm, so nothing is tested")
    assert "Held to" not in found.rule_text
    assert len(found.evidence.photos) == 112
    assert found.parts[0].text == "stone: left tank from day 23; right tank not by day 55"


def test_both_days_known_give_their_difference(make_trial: Make, make_measured: Make, make_book: Make) -> None:
    _, found = onset(make_trial, make_measured, make_book, {"left": 40, "right": 23})
    assert found.effect == -17.0
    assert found.effect_words == "17 days earlier"
    assert found.wording.startswith("Right tank (full) had algae earlier: a description of these two tanks;")
    _, alike = onset(make_trial, make_measured, make_book, {"left": 40, "right": 40})
    assert alike.wording.startswith("The same day in both: a description of these two tanks. Algae")
    _, neither = onset(make_trial, make_measured, make_book, {"left": None, "right": None})
    assert neither.wording.startswith("Algae had not come in any of these tanks: a description of these two tanks. ")


def test_the_threshold_of_the_question_is_the_one_used(make_trial: Make, make_measured: Make, make_book: Make) -> None:
    def rising(day: int, tank: str) -> dict[str, float]:
        return {"algae": 0.005 * max(0, day - 14) * (2 if tank == "right" else 1)}

    for points, left, right in ((5.0, 24, 19), (10.0, 34, 24)):
        trial = make_trial(replace(ONSET, threshold_points=points))
        found = only(answer(make_book(trial), trial, measured=make_measured(trial, {"stone": rising})))
        assert [int(value.value) for value in found.arms] == [left, right]
        assert f"Algae on {points:g} % or more" in found.wording
    # by the slopes: 0.5 and 1 points a day, so 3.4 points off are 6.8 and 3.4 days
    assert "Right tank (full): first on stone; day 21 if photos show 3.4 points too few, day 28 if too many." in (
        found.detail
    )


def test_photos_far_apart_leave_a_gap_in_the_day(make_trial: Make, make_measured: Make, make_book: Make) -> None:
    trial = make_trial(ONSET)
    measured = make_measured(trial, {"stone": algae_from({"left": 23, "right": None})}, skip=range(20, 25))
    found = only(answer(make_book(trial), trial, measured=measured))
    assert found.arms[0].text == "between day 19 and day 25"


def test_algae_of_the_baseline_are_no_answer(make_trial: Make, make_measured: Make, make_book: Make) -> None:
    _, found = onset(make_trial, make_measured, make_book, {"left": 8, "right": 30})
    assert found.rule == "not answered"
    assert found.missing == "left tank: algae had come on day 8, before the regimes began"


FOUR = {"left": 20, "left2": 24, "left3": 28, "left4": 30, "right": 40, "right2": 45, "right3": None, "right4": None}


def test_four_tanks_per_arm_are_tested_as_tanks(make_trial: Make, make_measured: Make, make_book: Make) -> None:
    """Complete separation: 2 of the 70 dealings of eight tanks are as far apart. Medians by hand: 24.5 and 45.5."""
    _, found = onset(make_trial, make_measured, make_book, FOUR)
    assert found.rule == "effect of the regime"
    assert found.p_value == pytest.approx(2 / 70)
    assert found.effect == 21.0
    assert found.wording == (
        "Full had algae later: effect of the regime (4 tanks per arm). Algae on 5 % or more of a place: full in 2 of 4 "
        "tanks, half of all by day 45; sparing in 4 of 4 tanks, half of them by day 24."
    )
    assert found.rule_text.startswith("At least three tanks per arm: log-rank test on one day for each tank")
    assert [curve.median_day for curve in found.curves] == [24.5, 45.5]
    assert found.curves[1].share == (1.0, 0.75, 0.5)
    assert found.curves[1].censored == (55.5, 55.5)


def test_with_three_tanks_per_arm_even_a_split_is_luck(make_trial: Make, make_measured: Make, make_book: Make) -> None:
    three = {key: day for key, day in FOUR.items() if "4" not in key}
    _, found = onset(make_trial, make_measured, make_book, three)
    assert found.rule == "cannot tell"
    assert found.p_value == pytest.approx(0.1)
    assert found.wording.startswith(
        "Cannot tell: with 3 tanks per arm even the clearest outcome comes by luck alone in 10 of 100 draws. Algae on"
    )
    assert "at least 4 tanks per arm, or 6 pairs" in found.next_step
    mixed = FOUR | {"left": 50, "right": 21}
    _, found = onset(make_trial, make_measured, make_book, mixed)
    assert found.wording.startswith("Cannot tell: a difference as large comes by luck alone in ")
    _, found = onset(make_trial, make_measured, make_book, dict.fromkeys(FOUR))
    assert (found.rule, found.p_value) == ("cannot tell", 1.0)
    assert found.wording.startswith("Cannot tell: it has not come in any tank, so there is nothing to compare.")


def test_six_pairs_are_tested_as_pairs(make_trial: Make, make_measured: Make, make_book: Make) -> None:
    """Each second tank is later than its partner: all signs alike, 2 of 64."""
    keys = ["", "2", "3", "4", "5", "6"]
    first = {f"left{key}": 18 + 5 * n for n, key in enumerate(keys)}
    second = {f"right{key}": 20 + 5 * n for n, key in enumerate(keys)}
    pairs = tuple((f"left{key}", f"right{key}") for key in keys)
    _, found = onset(make_trial, make_measured, make_book, first | second, plan=Plan("pairs", pairs=pairs))
    assert found.rule == "effect of the regime"
    assert found.p_value == pytest.approx(2 / 64)
    assert "(6 pairs)" in found.wording
    assert found.design.startswith("6 pairs of tanks")
    _, apart = onset(make_trial, make_measured, make_book, first | second)
    assert apart.rule == "cannot tell"


def test_one_photo_tells_neither_that_algae_came_nor_that_they_did_not(
    make_trial: Make, make_measured: Make, make_book: Make
) -> None:
    """Half of the stone is green on the only photo: not "free of algae until then"."""
    trial = make_trial(ONSET)
    for days, rule in (
        ({30}, "not answered"),
        ({30, 31}, "not answered"),
        ({30, 31, 32}, "description of these tanks"),
    ):
        skip = sorted({*range(56)} - days)
        measured = make_measured(trial, {"stone": lambda day, tank: {"algae": 0.5}}, skip=skip)
        found = only(answer(make_book(trial), trial, measured=measured))
        assert found.rule == rule
    assert "from day 30" in found.wording
    measured = make_measured(trial, {"stone": lambda day, tank: {"algae": 0.5}}, skip=range(1, 56))
    said = only(answer(make_book(trial), trial, measured=measured)).missing
    assert said == "left tank and right tank: at least 3 photos are needed to see that algae stay"


def test_waiting_times_in_blocks_and_pairs_are_dealt_within_them(
    make_trial: Make, make_measured: Make, make_book: Make
) -> None:
    """Earlier by 1 day on each of six shelves that differ by 6 days each: 2 of 64; dealt among all it would be lost."""
    days = {f"{side}{n or ''}": 18 + 6 * k - up
            for k, n in enumerate((0, 2, 3, 4, 5, 6)) for side, up in (("left", 0), ("right", 1))}  # fmt: skip
    _, found = onset(make_trial, make_measured, make_book, days, plan=shelves(6))
    assert found.rule == "effect of the regime"
    assert found.p_value == pytest.approx(2 / 64)
    assert found.wording.startswith("Full had algae earlier: effect of the regime")
    assert "of each block's own tanks" in found.rule_text
    assert "by every dealing of the tanks to the arms within each block" in found.method
    _, loose = onset(make_trial, make_measured, make_book, days)
    assert loose.rule == "cannot tell"
    assert loose.method.endswith("by every dealing of the tanks to the arms.")
    pairs = Plan("pairs", pairs=tuple((left, right) for _, (left, right) in shelves(6).blocks))
    _, paired = onset(make_trial, make_measured, make_book, days, plan=pairs)
    assert (paired.p_value, paired.method.endswith("within each pair.")) == (found.p_value, True)


# Freireich et al. 1963, days in remission as in Gehan 1965, Biometrika 52:203-223; R 4.2.2, survival, survfit
TREATED = (6, 6, 6, 6, 7, 9, 10, 10, 11, 13, 16, 17, 19, 20, 22, 23, 25, 32, 32, 34, 35)
ENDED = (1, 1, 1, 0, 1, 0, 1, 0, 0, 1, 1, 0, 0, 0, 1, 1, 0, 0, 0, 0, 0)
PLACEBO = (1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23)
SHARES = (0.85714, 0.80672, 0.75294, 0.69020, 0.62745, 0.53782, 0.44818)


def test_published_waiting_times_come_out_of_photos_as_printed(
    make_trial: Make, make_measured: Make, make_book: Make
) -> None:
    """Each patient a tank: algae come on the day of the relapse; a patient lost is a tank photographed no longer."""
    trial = make_trial(ONSET, baseline_days=0.0, tanks_per_arm=21)
    sides = zip(trial.arms, (zip(PLACEBO, (1,) * 21, strict=True), zip(TREATED, ENDED, strict=True)), strict=True)
    times = {tank: one for arm, some in sides for tank, one in zip(arm.tanks, some, strict=True)}
    first = {tank: day if came else None for tank, (day, came) in times.items()}
    every_day = make_measured(trial, {"stone": algae_from(first)})
    photos = tuple(one for one in every_day.photos if times[one.view][1] or one.day < times[one.view][0] + 1)
    found = only(answer(make_book(trial), trial, measured=Measured(photos, "test")))
    placebo, treated = found.curves
    assert (placebo.median_day, treated.median_day) == (8.5, 23.5)  # printed 8 and 23, and photos are taken at noon
    assert [round(one, 5) for one in treated.share[1:]] == list(SHARES)
    assert (found.rule, found.effect_words) == ("effect of the regime", "15 days later")
    assert (
        "full in 9 of 21 tanks, half of all by day 23; sparing in 21 of 21 tanks, half of them by day 8"
        in found.wording
    )
    assert any("not photographed equally long" in remark for remark in found.evidence.remarks)
