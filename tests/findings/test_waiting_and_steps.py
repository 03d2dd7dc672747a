"""Yield, regrowth, onset of algae and scores together: what they share, and what may not be said of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.findings.measures_asked import (
    CONDITION,
    NOTHING,
    ONSET,
    REGROWTH,
    YIELD,
    Make,
    algae_from,
    growing,
    only,
)

from littoral.findings.aims import reached
from littoral.findings.answers import answer
from littoral.findings.decide import decide_next
from littoral.findings.history import history_of
from littoral.findings.model import Finding
from littoral.findings.pooled import KeepersError, keeper_result
from littoral.trial.entries import Score, Trim
from littoral.trial.model import Question, Trial
from littoral.trial.plan import Plan, alternating


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
