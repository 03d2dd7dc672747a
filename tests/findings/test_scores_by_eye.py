"""Scores of condition and algae: from entries to findings, by hand, and against a published example."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest
from tests.findings.measures_asked import (
    CONDITION,
    NOTHING,
    Make,
    only,
    shelves,
)

from littoral.findings.answers import answer
from littoral.findings.model import Finding
from littoral.trial.entries import Score
from littoral.trial.model import Question
from littoral.trial.plan import Plan


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
