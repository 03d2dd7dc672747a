"""What the findings say of the rendered demo is held against the truth it was drawn from."""

from __future__ import annotations

import json
from typing import Any

import pytest

from littoral.findings.answers import answer
from littoral.findings.measuring import measure_photos
from littoral.findings.model import Finding
from littoral.logbook.book import Logbook
from littoral.trial.model import Trial

DIFFERENT = {
    "these two tanks differ",
    "larger than equal tanks usually show",
    "difference changed after the regimes began",
    "effect of the regime",
}
NOTHING_CLAIMED = {"cannot tell", "not distinguishable from the camera"}


@pytest.fixture(scope="module")
def answered(small_demo) -> tuple[Trial, dict[str, Finding], dict[str, Any]]:
    with Logbook.open(small_demo.logbook) as book:
        trial = book.trial(book.trials()[0])
        findings = answer(book, trial, measured=measure_photos(book, trial))
    truth = json.loads((small_demo.files / "truth" / "truth.json").read_text(encoding="utf-8"))["answers"]
    return trial, {finding.question: finding for finding in findings}, truth


def true_difference(trial: Trial, answer: dict[str, Any], when: str = "after") -> float:
    first, second = (arm.tanks[0] for arm in trial.arms)
    return answer[when][second] - answer[when][first]


@pytest.mark.parametrize("question", ["care", "cost"])
def test_accounts_are_exactly_what_was_done(answered, question: str) -> None:
    trial, findings, truth = answered
    finding = findings[question]
    assert {value.tank: value.value for value in finding.arms} == pytest.approx(truth[question]["after"], rel=1e-9)
    assert finding.effect == pytest.approx(true_difference(trial, truth[question]), rel=1e-9)


@pytest.mark.parametrize("question", ["growth", "compact", "red", "algae"])
def test_the_true_difference_lies_inside_the_stated_interval(answered, question: str) -> None:
    trial, findings, truth = answered
    finding = findings[question]
    assert finding.low <= true_difference(trial, truth[question]) <= finding.high


def test_each_tank_s_true_redness_lies_inside_its_interval(answered) -> None:
    _, findings, truth = answered
    for value in findings["red"].arms:
        assert value.low <= truth["red"]["after"][value.tank] <= value.high, value.tank


def test_algae_of_tanks_and_places_lie_inside_their_intervals(answered) -> None:
    """Ten 95 % intervals: more than two miss in 1.2 % of cases (binomial)."""
    _, findings, truth = answered
    places = truth["algae"]["places"]
    finding = findings["algae"]
    assert {part.region for part in finding.parts} == set(places)
    stated = [(value, truth["algae"]["after"][value.tank]) for value in finding.arms]
    stated += [(value, places[part.region][value.tank]) for part in finding.parts for value in part.arms]
    assert len(stated) == 10
    assert sum(not value.low <= true <= value.high for value, true in stated) <= 2


def test_no_question_gets_a_wrong_claim(answered) -> None:
    trial, findings, truth = answered
    smallest = {question.key: question.smallest for question in trial.questions}
    assert set(findings) == set(truth)
    for key, finding in findings.items():
        true = true_difference(trial, truth[key])
        if finding.rule == "no larger than":
            assert abs(true) < smallest[key], key
        elif finding.rule in DIFFERENT:
            assert finding.effect * true > 0, key
        else:
            assert finding.rule in NOTHING_CLAIMED | {"exact account"}, key
        if finding.rule == "difference changed after the regimes began":
            changed = true - true_difference(trial, truth[key], "before")
            assert finding.change.low <= changed <= finding.change.high, key
