"""Yield, regrowth, onset of algae and scores: from entries and measured photos to findings, by hand."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from littoral.findings.aims import reached
from littoral.findings.answers import answer
from littoral.findings.decide import decide_next
from littoral.findings.history import history_of
from littoral.findings.measured import Measured
from littoral.findings.model import Finding
from littoral.findings.pooled import KeepersError, keeper_result
from littoral.trial.entries import Score, Trim
from littoral.trial.model import Question, Trial
from littoral.trial.plan import Plan, alternating

Make = Callable[..., Any]
NOTHING = Measured((), "test")
ONSET = Question("onset", "When did algae come?", "algae onset", primary=True)
REGROWTH = Question("regrowth", "Did it grow back sooner?", "regrowth", ("red-stem",), primary=True)
CONDITION = Question("condition", "In better condition?", "condition", primary=True)
YIELD = Question("yield", "Which gave more?", "yield", primary=True)


def only(findings: tuple[Finding, ...]) -> Finding:
    assert len(findings) == 1
    return findings[0]


def algae_from(first: Mapping[str, int | None]) -> Callable[[int, str], dict[str, float]]:
    """Clean until a day, 8 % from it on."""
    return lambda day, tank: {"algae": 0.08 if (at := first[tank]) is not None and day >= at else 0.01}


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


def growing(doubling: Mapping[str, float], trims: Mapping[str, tuple[float, ...]]) -> Any:
    """Stems that double in so many days, cut to half at each trim."""

    def take(day: int, tank: str) -> dict[str, float]:
        at = day + 0.5
        cut = sum(at > trim for trim in trims[tank])
        return {"height_cm": 10 * 2 ** (at / doubling[tank]) * 0.5**cut, "cover": 0.3}

    return take


def regrown(
    make_trial: Make, make_measured: Make, make_book: Make, doubling: Mapping[str, float],
    trims: Mapping[str, tuple[float, ...]], **more: Any,
) -> Finding:  # fmt: skip
    trial = replace(make_trial(REGROWTH, tanks_per_arm=len(doubling) // 2), **more)
    book = make_book(trial)
    for tank, days in trims.items():
        for day in days:
            book.note(day, tank, Trim("red-stem", None, 10.0))
    return only(answer(book, trial, measured=make_measured(trial, {"red-stem": growing(doubling, trims)})))


def test_regrowth_is_counted_from_each_trim(make_trial: Make, make_measured: Make, make_book: Make) -> None:
    """Halves that double in 7 days are back 7 days after the photo before: 6.5 after a trim at midnight; 13.5 of 14."""
    found = regrown(
        make_trial, make_measured, make_book, {"left": 7.0, "right": 14.0},
        {"left": (10.0, 20.0, 34.0, 52.0), "right": (20.0, 30.0, 40.0)},
    )  # fmt: skip
    assert found.rule == "description of these tanks"
    assert found.arms[0].value == pytest.approx(6.5)
    assert found.arms[0].text == "half after 6.5 days (3 trims, 2 back)"  # the one of day 10 is of the baseline
    assert found.arms[1].text == "half after 13.5 days (3 trims, 1 back)"
    assert found.effect == pytest.approx(7.0)
    assert found.effect_words == "7 days longer"
    assert found.wording.startswith(
        "Right tank (full) took longer to grow back: a description of these two tanks; tank or regime, unknown. Canopy"
    )
    assert found.parts[0].text == (
        "red stem plant: left tank: trim of day 20 back after 6.5 days; trim of day 34 back after 6.5 days; trim of "
        "day 52 not back in 3.5 days. right tank: trim of day 20 not back in 9.5 days; trim of day 30 not back in 9.5 "
        "days; trim of day 40 back after 13.5 days"
    )
    assert len(found.evidence.entries) == 6
    assert [curve.count for curve in found.curves] == [3, 3]


def test_trims_of_four_tanks_are_dealt_by_tank(make_trial: Make, make_measured: Make, make_book: Make) -> None:
    doubling = {f"left{n}": 5.0 + 0.5 * i for i, n in enumerate(("", "2", "3", "4"))}
    doubling |= {f"right{n}": 9.0 + 0.5 * i for i, n in enumerate(("", "2", "3", "4"))}
    trims = dict.fromkeys(doubling, (16.0, 28.0, 40.0))
    found = regrown(make_trial, make_measured, make_book, doubling, trims)
    assert found.rule == "effect of the regime"
    assert found.p_value == pytest.approx(2 / 70)  # of 24 trims it would have been far less
    assert (
        "full after 12 of 12 trims in 4 tanks, half of them by 9.0 days; sparing" in found.wording
    )  # 8.5, 9, 9.5 and 10, three times each
    assert "keeps all its trims together" in found.rule_text


def test_without_a_trim_there_is_no_regrowth(make_trial: Make, make_measured: Make, make_book: Make) -> None:
    found = regrown(
        make_trial, make_measured, make_book, {"left": 7.0, "right": 14.0}, {"left": (20.0,), "right": (8.0,)}
    )
    assert found.missing == "right tank: no trim since the regimes began that took 14 % of the canopy height or more"


def scored(make_trial: Make, make_book: Make, steps: Mapping[str, list[int]], **more: Any) -> Finding:
    """Score each tank every seventh day from day 14 on."""
    trial = replace(make_trial(more.pop("question", CONDITION), tanks_per_arm=len(steps) // 2), **more)
    book = make_book(trial)
    for tank, given in steps.items():
        for week, step in enumerate(given):
            book.note(14.4 + 7 * week, tank, Score("plants", step))
    return only(answer(book, trial, measured=NOTHING))


def test_scores_of_one_pair_are_counted_by_week(make_trial: Make, make_book: Make) -> None:
    found = scored(make_trial, make_book, {"left": [2, 2, 3, 2, 2, 2], "right": [3, 3, 2, 3, 3, 2]})
    assert found.rule == "description of these tanks"
    assert found.wording == (
        "Right tank (full) scored higher in 4 of 6 weeks: a description of these two tanks; tank or regime, unknown. "
        "Middle score of plants: right tank (full) step 3 of 4 (good) (6 scores), left tank (sparing) step 2 of 4 "
        "(middling) (6 scores)."
    )
    assert found.effect == pytest.approx((4 - 1) / 6)
    assert found.effect_words == "higher in 4 of 6 weeks, lower in 1"
    assert found.p_value is None
    same = scored(make_trial, make_book, {"left": [2, 2], "right": [2, 2]})
    assert same.wording.startswith("The tanks scored the same every time: a description of these two tanks. Middle")
    half = scored(make_trial, make_book, {"left": [2, 3], "right": [2, 2]})
    assert half.arms[0].text == "between steps 2 (middling) and 3 (good) of 4"


def test_scores_of_tanks_are_compared_by_rank(make_trial: Make, make_book: Make) -> None:
    """Four against four without overlap: 2 of 70 dealings, net share 1; the Mann-Whitney test's p."""
    steps = {"left": [1, 1], "left2": [2, 2], "left3": [1, 1], "left4": [2, 2],
             "right": [3, 3], "right2": [4, 4], "right3": [3, 3], "right4": [4, 4]}  # fmt: skip
    found = scored(make_trial, make_book, steps)
    assert found.rule == "effect of the regime"
    assert found.p_value == pytest.approx(2 / 70)
    assert (found.effect, found.high) == (1.0, 1.0)
    assert found.low is not None
    assert 0 < found.low < 0.9
    assert found.wording.startswith("Full scored higher: effect of the regime (4 tanks per arm). Middle score of")
    assert found.effect_words == "higher in 16 of 16 comparisons of tanks, lower in 0"
    mixed = scored(make_trial, make_book, steps | {"right": [1, 1], "left": [4, 4]})
    assert mixed.rule == "cannot tell"
    assert mixed.effect == pytest.approx((9 - 4) / 16)  # by hand: 16 pairs of tanks, 9 higher, 4 lower, 3 ties


def test_a_margin_of_steps_is_held_against_the_interval(make_trial: Make, make_book: Make) -> None:
    steps = {f"{side}{n or ''}": [1 + n % 3] * 2 for side in ("left", "right") for n in (0, *range(2, 13))}
    wide = scored(make_trial, make_book, steps, question=replace(CONDITION, smallest=0.6))
    assert wide.rule == "no larger than"
    assert wide.wording.startswith("No difference larger than 0.60 net share, the margin set beforehand. Middle")
    assert scored(make_trial, make_book, steps, question=replace(CONDITION, smallest=0.2)).rule == "cannot tell"


def test_scores_of_pairs_are_signs(make_trial: Make, make_book: Make) -> None:
    keys = ("", "2", "3", "4", "5", "6", "7")
    steps = {f"left{key}": [n % 3] for n, key in enumerate(keys)} | {
        f"right{key}": [n % 3 + 1] for n, key in enumerate(keys)
    }
    plan = Plan("pairs", pairs=tuple((f"left{key}", f"right{key}") for key in keys))
    found = scored(make_trial, make_book, steps | {"right7": [0]}, plan=plan)
    assert found.effect_words == "higher in 6 of 7 pairs, lower in 0"
    assert found.p_value == pytest.approx(2 / 64)
    assert found.rule == "effect of the regime"
    same = scored(make_trial, make_book, {key: [2] for key in steps}, plan=plan)
    assert (same.rule, same.p_value) == ("cannot tell", 1.0)


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


def shelves(count: int) -> Plan:
    keys = ("", *map(str, range(2, count + 1)))
    return Plan(blocks=tuple((f"shelf {key}", (f"left{key}", f"right{key}")) for key in keys))


def test_scores_in_blocks_are_dealt_within_them_as_they_were_drawn(make_trial: Make, make_book: Make) -> None:
    """Blocks of one tank each are pairs: four cannot tell (2 of 16), though 4 against 4 would be called (2 of 70)."""
    four = {f"{side}{n}": [step] for side, step in (("left", 1), ("right", 3)) for n in ("", 2, 3, 4)}
    assert scored(make_trial, make_book, four).rule == "effect of the regime"
    found = scored(make_trial, make_book, four, plan=shelves(4))
    assert (found.rule, found.effect) == ("cannot tell", 1.0)
    assert found.p_value == pytest.approx(2 / 16)
    assert found.effect_words == "higher in 4 of 4 comparisons of tanks within blocks, lower in 0"
    assert found.next_step.startswith("Cheapest next step: do the same with more blocks")
    keys = ("", 2, 3, 4, 5, 6)
    shared = {f"{side}{n}": [k % 3 + up] for k, n in enumerate(keys) for side, up in (("left", 0), ("right", 1))}
    six = scored(make_trial, make_book, shared, plan=shelves(6))  # shelves differ by more than the arms do
    assert six.rule == "effect of the regime"
    assert six.p_value == pytest.approx(2 / 64)
    assert "within its block" in six.rule_text
    assert scored(make_trial, make_book, shared).rule == "cannot tell"


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


def test_scores_left_in_no_block_together_are_not_tested(make_trial: Make, make_book: Make) -> None:
    steps = {f"left{n}": [1] for n in ("", 2, 3)} | {f"right{n}": [3] for n in (4, 5, 6)}
    trial_steps = steps | {f"right{n}": [] for n in ("", 2, 3)} | {f"left{n}": [] for n in (4, 5, 6)}
    found = scored(make_trial, make_book, trial_steps, plan=shelves(6))
    assert (found.rule, found.p_value) == ("cannot tell", 1.0)


def test_scores_of_stands_are_those_asked_about(make_trial: Make, make_book: Make) -> None:
    trial = make_trial(replace(CONDITION, of=("carpet",)), Question("algae", "Algae?", "algae score"))
    book = make_book(trial)
    for tank, step in (("left", 1), ("right", 3)):
        book.note(20.0, tank, Score("plants", step, "carpet"))
        book.note(20.0, tank, Score("plants", 2, "red-stem"))
        book.note(20.0, tank, Score("algae", 4 - step))
        book.note(5.0, tank, Score("plants", 2, "carpet"))
    condition, algae = answer(book, trial, measured=NOTHING)
    assert "Middle score of grass-like carpet: right tank (full) step 3 of 4 (good) (1 score)" in condition.wording
    assert condition.detail == (
        "Before the regimes began: right tank step 2 of 4 (middling), left tank step 2 of 4 (middling)."
    )
    assert "scored lower in 1 of 1 week" in algae.wording
    whole = replace(trial, questions=(CONDITION,))
    assert only(answer(book, whole, measured=NOTHING)).missing == (
        "left tank: only stands were scored; name them in the question's `of`"
    )


def harvest(make_trial: Make, make_book: Make, *cuts: tuple[float, str, Trim], **more: Any) -> Finding:
    trial = replace(make_trial(more.pop("question", YIELD), tanks_per_arm=more.pop("tanks", 1)), **more)
    book = make_book(trial)
    for day, tank, cut in cuts:
        book.note(day, tank, cut)
    return only(answer(book, trial, measured=NOTHING))


def test_yield_is_what_was_cut_and_what_stood_at_the_end(make_trial: Make, make_book: Make) -> None:
    found = harvest(
        make_trial, make_book,
        (10.0, "left", Trim("red-stem", 8.0, 99.0)),  # in the baseline
        (25.0, "left", Trim("red-stem", 8.0, 12.0)), (40.0, "left", Trim("red-stem", 8.0, 14.0)),
        (55.5, "left", Trim("red-stem", 0.0, 30.0)), (55.5, "left", Trim("carpet", 0.0, 20.0)),
        (30.0, "right", Trim("red-stem", 8.0, 25.0)), (55.6, "right", Trim(None, 0.0, 61.0)),
    )  # fmt: skip
    assert found.rule == "exact account"
    assert [value.value for value in found.arms] == [76.0, 86.0]
    assert (found.effect, found.low, found.unit) == (10.0, None, "g")
    assert found.wording.startswith("Right tank (full) yielded more. Yield, wet mass: right tank (full) 86.0 g, left")
    assert found.detail == (
        "Right tank (full): 25 g trimmed, 61 g standing at the end; left tank (sparing): 26 g trimmed, 50 g standing "
        "at the end."
    )
    assert found.relative_percent == pytest.approx(100 * 10 / 76)


def test_what_only_one_tank_weighed_at_the_end_is_left_out_of_both(make_trial: Make, make_book: Make) -> None:
    found = harvest(
        make_trial, make_book,
        (25.0, "left", Trim("red-stem", 8.0, 12.0)), (55.5, "left", Trim("red-stem", 0.0, 30.0)),
        (25.0, "right", Trim("red-stem", 8.0, 15.0)),
    )  # fmt: skip
    assert [value.value for value in found.arms] == [12.0, 15.0]
    assert (
        found.detail == "What stood at the end was not weighed in every tank, so this is the mass of trimmings alone."
    )
    assert any(
        "30 g of red stem plant stood at the end; not weighed in every tank" in one for one in found.evidence.remarks
    )
    some = harvest(
        make_trial, make_book,
        (55.0, "left", Trim("red-stem", 0.0, 30.0)), (55.0, "left", Trim("carpet", 0.0, 7.0)),
        (55.0, "right", Trim("red-stem", 0.0, 15.0)),
    )  # fmt: skip
    assert [value.value for value in some.arms] == [30.0, 15.0]
    assert some.detail.endswith("Of what stood at the end only red stem plant counts.")


def test_a_cut_to_the_ground_that_grew_on_is_a_trim(make_trial: Make, make_book: Make) -> None:
    found = harvest(
        make_trial, make_book,
        (25.0, "left", Trim("carpet", 0.0, 12.0)), (50.0, "left", Trim("carpet", 1.0, 5.0)),
        (25.0, "right", Trim("carpet", 1.0, 9.0)),
        question=replace(YIELD, of=("carpet",)),
    )  # fmt: skip
    assert [value.value for value in found.arms] == [17.0, 9.0]


def test_yield_of_three_tanks_per_arm_is_welchs_test(make_trial: Make, make_book: Make) -> None:
    """By hand: means 12 and 22, variances 4 and 4: difference 10, error sqrt(8/3), t(4) at 97.5 % 2.776445."""
    grams = {"left": 10.0, "left2": 12.0, "left3": 14.0, "right": 20.0, "right2": 22.0, "right3": 24.0}
    found = harvest(
        make_trial, make_book, *((30.0, tank, Trim("red-stem", 8.0, g)) for tank, g in grams.items()), tanks=3
    )
    half = 2.776445 * math.sqrt(8 / 3)
    assert found.rule == "effect of the regime"
    unsure = harvest(make_trial, make_book, *weighed(grams | {"right": 2.0}), tanks=3)
    assert unsure.rule == "cannot tell"
    # a crossover could not answer it, and there are more tanks than one pair
    assert [word for word in ("swap", "one pair", "same pair", "photos") if word in unsure.next_step] == [], (
        unsure.next_step
    )
    assert (found.effect, found.low, found.high) == pytest.approx((10.0, 10 - half, 10 + half), rel=1e-6)
    plan = Plan("pairs", pairs=(("left", "right"), ("left2", "right2"), ("left3", "right3")))
    grams |= {"right3": 25.0}
    paired = harvest(
        make_trial,
        make_book,
        *((30.0, tank, Trim("red-stem", 8.0, g)) for tank, g in grams.items()),
        tanks=3,
        plan=plan,
    )
    # differences 10, 10, 11: mean 31/3, error 1/3, t(2) at 97.5 % 4.302653
    assert (paired.low, paired.high) == pytest.approx((31 / 3 - 4.302653 / 3, 31 / 3 + 4.302653 / 3), rel=1e-6)
    assert "paired t-test" in paired.rule_text


def weighed(grams: Mapping[str, float | None]) -> list[tuple[float, str, Trim]]:
    return [(30.0, tank, Trim("red-stem", 8.0, g)) for tank, g in grams.items()]


THREE = ("left", "left2", "left3", "right", "right2", "right3")


@pytest.mark.parametrize("last", [None, "no trim"])
def test_a_mass_that_nobody_noted_is_no_zero_in_a_test(make_trial: Make, make_book: Make, last: str | None) -> None:
    """Three tanks whose trims were never weighed against three that gave 10 to 12 g: not an effect of 11 g."""
    grams = dict(zip(THREE, (10.0, 11.0, 12.0, None, None, None), strict=True))
    if last == "no trim":
        grams = {tank: g for tank, g in grams.items() if g is not None}
    found = harvest(make_trial, make_book, *weighed(grams), tanks=3)
    assert (found.rule, found.p_value, found.low) == ("exact account", None, None)
    assert "right tank and right2 tank and right3 tank have a trim without one, or no trim at all" in found.detail
    one = dict(zip(THREE, (10.0, 11.0, 12.0, 20.0, 21.0, None), strict=True))
    assert harvest(make_trial, make_book, *weighed(one), tanks=3).rule == "exact account"
    zero = dict(zip(THREE, (10.0, 11.0, 12.0, 0.0, 0.0, 0.0), strict=True))  # weighed, and it was nothing
    assert harvest(make_trial, make_book, *weighed(zero), tanks=3).rule == "effect of the regime"


@pytest.mark.parametrize("second", [(15.3, 15.3, 15.3), (10.1, 10.1, 10.1)])
def test_tanks_exactly_alike_leave_nothing_to_test_against(
    make_trial: Make, make_book: Make, second: tuple[float, ...]
) -> None:
    grams = dict(zip(THREE, (10.1, 10.1, 10.1, *second), strict=True))
    found = harvest(make_trial, make_book, *weighed(grams), tanks=3)
    assert (found.rule, found.p_value) == ("exact account", None)
    assert "no spread to test against" in found.detail
    plan = Plan("pairs", pairs=tuple(zip(THREE[:3], THREE[3:], strict=True)))
    assert harvest(make_trial, make_book, *weighed(grams), tanks=3, plan=plan).rule == "exact account"


def test_yield_in_blocks_takes_out_what_a_block_shares(make_trial: Make, make_book: Make) -> None:
    """By hand: differences within blocks 3, 4, 5: mean 4, error 1/sqrt(3), t(2) at 97.5 % 4.302653, as if paired."""
    grams = dict(zip(THREE, (10.0, 20.0, 40.0, 13.0, 24.0, 45.0), strict=True))
    blocks = tuple((f"shelf {n}", pair) for n, pair in enumerate(zip(THREE[:3], THREE[3:], strict=True)))
    found = harvest(make_trial, make_book, *weighed(grams), tanks=3, plan=Plan(blocks=blocks))
    half = 4.302653 / math.sqrt(3)
    assert (found.effect, found.low, found.high) == pytest.approx((4.0, 4 - half, 4 + half), rel=1e-6)
    assert "in blocks: t-test" in found.rule_text
    assert "what each block shares taken out" in found.method


@pytest.mark.parametrize(
    ("question", "instead"),
    [(ONSET, "`algae`"), (REGROWTH, "`height growth`"), (CONDITION, "side by side"), (YIELD, "`trimmed mass`")],
)
def test_a_crossover_says_why_it_cannot_answer(
    question: Question, instead: str, make_trial: Make, make_book: Make
) -> None:
    trial = replace(
        make_trial(question, baseline_days=0.0), plan=Plan("crossover", 14, 3.0, alternating(4), "alternating")
    )
    found = only(answer(make_book(trial), trial, measured=NOTHING))
    assert found.rule == "not answered"
    assert instead in found.missing


def every(make_trial: Make, make_measured: Make, make_book: Make, tanks: int = 1) -> tuple[Trial, tuple[Finding, ...]]:
    trial = make_trial(
        ONSET, replace(REGROWTH, primary=False), replace(CONDITION, primary=False), replace(YIELD, primary=False),
        Question("algae", "Algae by eye?", "algae score"), tanks_per_arm=tanks,
    )  # fmt: skip
    doubling = {tank: 7.0 if tank.startswith("left") else 9.0 for tank in trial.tanks}
    trims = dict.fromkeys(trial.tanks, (20.0, 34.0))
    book = make_book(trial)
    for tank in trial.tanks:
        for day in trims[tank]:
            book.note(day, tank, Trim("red-stem", 5.0, 10.0 + 5 * tank.startswith("right") + len(tank)))
        for week in range(6):
            book.note(14.5 + 7 * week, tank, Score("plants", 3 if tank.startswith("right") else 2))
            book.note(14.5 + 7 * week, tank, Score("algae", 1 if tank.startswith("right") else 2))
    first = {tank: 20 if tank.startswith("left") else None for tank in trial.tanks}
    measured = make_measured(trial, {"red-stem": growing(doubling, trims), "stone": algae_from(first)})
    return trial, answer(book, trial, measured=measured)


CAUSE = ("effect", "because", "caus", "due to", "thanks to", "led to", "results from", "prove", "no difference between")


@pytest.mark.parametrize("tanks", [1, 2])
def test_no_sentence_of_cause_for_fewer_than_three_tanks_per_arm(
    tanks: int, make_trial: Make, make_measured: Make, make_book: Make
) -> None:
    for found in every(make_trial, make_measured, make_book, tanks)[1]:
        assert found.rule == ("exact account" if found.measure == "yield" else "description of these tanks")
        said = (found.wording, found.detail, found.rule_text, found.next_step, found.design, found.method,
                found.effect_words, *found.evidence.remarks, *(part.text for part in found.parts),
                *(value.text for value in found.arms))  # fmt: skip
        assert [word for word in CAUSE if word in " ".join(said).lower()] == [], found.measure
        assert "nan" not in " ".join(said)


def test_exact_tests_are_held_to_holms_levels(make_trial: Make, make_measured: Make, make_book: Make) -> None:
    """Four further questions of four tanks per arm: 2/70 is over 0.05/4, so what would be called alone is not."""
    _, found = every(make_trial, make_measured, make_book, 4)
    by = {one.measure: one for one in found}
    assert by["algae onset"].rule == "effect of the regime"  # the primary question
    assert by["regrowth"].level > 0.98
    assert by["regrowth"].rule == by["condition"].rule == "cannot tell"
    assert "by luck alone in 2.9 of 100 draws, and this question is held to 1.7." in by["regrowth"].wording


def test_descriptions_are_not_weighed_pooled_or_lost(make_trial: Make, make_measured: Make, make_book: Make) -> None:
    trial, found = every(make_trial, make_measured, make_book)
    of = reached(trial, found, rng=np.random.default_rng(1), wanted={"yield": "higher"})
    assert [aim.measure for aim in of.aims] == ["yield"]
    assert any(line.startswith("algae onset: told in words (at least 35 days later);") for line in of.left_out)
    assert decide_next(trial, found, rng=np.random.default_rng(1)).reached.aims == ()
    with pytest.raises(KeepersError, match="waiting times or ranks"):
        keeper_result("one", next(one for one in found if one.measure == "condition"))
    (past,) = history_of([(trial, found)]).trials
    assert "higher in 6 of 6 weeks, lower in 0" in [cell[0] for cell in past.cells if cell]


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


def test_published_scores_come_out_of_entries_as_printed(make_trial: Make, make_book: Make) -> None:
    """Brunner & Munzel 2000, Biom J 42:17-25, pain scores: P = 0.788961 (R's lawstat, from memory), steps less 1."""
    first, second = (1, 2, 1, 1, 1, 1, 1, 1, 1, 1, 2, 4, 1, 1), (3, 3, 4, 3, 1, 2, 3, 1, 1, 5, 4)
    trial = make_trial(CONDITION, tanks_per_arm=14)
    sparing, full = trial.arms
    trial = replace(trial, arms=(sparing, replace(full, tanks=full.tanks[:11])))
    book = make_book(trial)
    for arm, scores in zip(trial.arms, (first, second), strict=True):
        for tank, score in zip(arm.tanks, scores, strict=True):
            book.note(20.0, tank, Score("plants", score - 1))
    found = only(answer(book, trial, measured=NOTHING))
    assert found.effect == pytest.approx(2 * 0.788961 - 1, abs=1e-6)
    assert found.rule == "effect of the regime"
    assert found.tanks_per_arm == 11
