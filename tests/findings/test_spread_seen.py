"""The spread between equal tanks that a bench showed: when it is used, what it says, and that its bound holds."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest
from scipy import stats

from littoral.findings.answers import answer
from littoral.findings.design_power import design_power
from littoral.findings.history import history_of
from littoral.findings.measured import Measured
from littoral.findings.model import Interval
from littoral.findings.rules import Numbers, spread_for, usual_bound
from littoral.findings.spread import Spread
from littoral.findings.spread_seen import FEWEST, spreads_seen
from littoral.trial.entries import Trim
from littoral.trial.model import Question, Trial
from littoral.trial.plan import Plan

COMPACT = Question("compact", "Which stayed compact?", "compactness", of=("red-stem",), primary=True)


def past(make_trial, make_measured, make_book, number: int, rng, *, tanks: int = 1, spread: float = 0.1):
    """One earlier trial in which tanks kept alike differ by `spread`, with its findings."""
    trial = replace(
        make_trial(COMPACT, baseline_days=14.0 if tanks == 1 else 0.0, tanks_per_arm=tanks),
        key=f"past{number}",
        start=date(2024, 1, 1) + timedelta(days=60 * number),
    )
    level = {tank: 4.0 * math.exp(rng.normal(0, spread)) for tank in trial.tanks}

    def take(day: int, tank: str) -> dict[str, Any]:
        return {"height_cm": 10.0, "cover": 0.10 * level[tank] * math.exp(0.01 * math.sin(day + 7 * len(tank)))}

    book = make_book(trial)
    findings = answer(book, trial, measured=make_measured(trial, {"red-stem": take}))
    return trial, findings, level


def test_baselines_and_tanks_of_one_arm_give_the_spread(make_trial, make_measured, make_book):
    rng = np.random.default_rng(1)
    alone = [past(make_trial, make_measured, make_book, n, rng) for n in range(4)]
    several = past(make_trial, make_measured, make_book, 4, rng, tanks=2)
    assert spreads_seen([one[:2] for one in alone]) == {}  # 4 comparisons are fewer than 6
    (few,) = history_of([one[:2] for one in alone]).spreads
    assert few == (
        "Compactness: 4 comparisons of tanks kept alike; from 6 on their spread takes the place of the assumed 15 %."
    )
    (enough,) = history_of([one[:2] for one in (*alone, several)]).spreads
    assert enough.startswith("Compactness: tanks kept alike: spread ")
    assert "seen on this bench in 5 trials. Later trials are judged by it." in enough
    found = spreads_seen([one[:2] for one in (*alone, several)])["compactness"]
    assert (found.comparisons, found.trials, found.source) == (FEWEST, 5, "seen")
    squares = [2 * ((lv["right"] - lv["left"]) / (lv["right"] + lv["left"])) ** 2 for *_, lv in alone]
    squares += [float(np.log([several[2][tank] for tank in arm.tanks]).var(ddof=1)) for arm in several[0].arms]
    twin = math.sqrt(sum(squares) / 6)
    assert found.share == pytest.approx(math.ceil(100 * twin) / 100, abs=0.0101)
    assert found.low == pytest.approx(twin * math.sqrt(6 / stats.chi2.ppf(0.975, 6)), rel=0.05)
    assert found.low < twin < found.high


def test_masses_that_nobody_noted_are_no_spread_between_equal_tanks(make_trial, make_book):
    """The third tank's second trim was never weighed: its sum is too small, and shows nothing of how tanks differ."""
    trial = make_trial(Question("gave", "Which gave more?", "yield", primary=True), tanks_per_arm=4)
    for unweighed, comparisons in ((False, 6), (True, 0)):
        book = make_book(trial)
        for n, tank in enumerate(trial.tanks):
            book.note(30.0, tank, Trim("red-stem", 8.0, 10.0 + n))
            book.note(40.0, tank, Trim("red-stem", 8.0, None if unweighed and n == 2 else 9.0))
        findings = answer(book, trial, measured=Measured((), "test"))
        assert (findings[0].rule == "exact account") == unweighed
        seen = spreads_seen([(trial, findings)])
        assert (seen["yield"].comparisons if seen else 0) == comparisons


def test_it_is_used_and_said_where_there_is_enough(make_trial, make_measured, make_book):
    seen = {"compactness": Spread(0.04, "seen", 0.03, 0.09, 7, 5)}
    trial = make_trial(COMPACT, baseline_days=0.0)

    def take(day: int, tank: str) -> dict[str, Any]:
        return {"height_cm": 10.0, "cover": (0.5 if tank == "right" else 0.4) + 0.002 * math.sin(day)}

    measured = make_measured(trial, {"red-stem": take})
    before = answer(make_book(trial), trial, measured=measured)[0]
    finding = answer(make_book(trial), trial, measured=measured, seen=seen)[0]
    assert before.rule == "these two tanks differ"
    assert finding.rule == "larger than equal tanks usually show"
    assert "spread 4 % (3 % to 9 %), seen on this bench in 5 trials" in finding.wording
    assert "seen on this bench in 5 trials" in finding.next_step
    assert "assumed" not in finding.wording + finding.next_step + finding.rule_text
    found = design_power(trial, seen=seen)
    assert found is not None
    assert found.spreads.tanks == 0.04
    seen_in = "seen on this bench in 5 trials, 7 comparisons of tanks kept alike; 95 % interval 3 % to 9 %"
    assert seen_in in found.words[0]


@pytest.mark.parametrize(("written", "used"), [(None, 0.10), (0.05, 0.10), (0.20, 0.20)])
def test_a_larger_spread_written_beforehand_stays(make_trial, written, used):
    trial: Trial = replace(make_trial(COMPACT), plan=Plan(spread=written))
    seen = {"compactness": Spread(0.10, "seen", 0.07, 0.2, 8, 8)}
    found = spread_for(trial, "compactness", seen)
    assert found is not None
    assert found.share == used
    assert spread_for(trial, "redness", seen) is None
    assumed = spread_for(trial, "compactness", {})
    assert assumed is not None
    assert assumed.source == ("assumed" if written is None else "written")


@pytest.mark.parametrize("comparisons", [6, 12])
def test_equal_tanks_exceed_the_bound_as_often_as_it_says(comparisons):
    """The doubt about a spread from few comparisons is in the bound: 5 in 100, however few."""
    rng = np.random.default_rng(12)
    true, runs, beyond = 0.08, 4000, 0
    for _ in range(runs):
        share = true * math.sqrt(rng.chisquare(comparisons) / comparisons)
        ratio = math.exp(rng.normal(0, math.sqrt(2) * true))
        numbers = Numbers(
            effect=Interval(ratio - 1, ratio - 1, ratio - 1), before=None, change=None, arm_values=(1.0, ratio),
            tanks_per_arm=1, smallest=None, camera_term=None, absolute=True, spread=share, spread_df=comparisons,
        )  # fmt: skip
        bound = usual_bound(numbers)
        assert bound is not None
        beyond += abs(math.log(ratio)) > bound
    assert abs(beyond / runs - 0.05) < 3.3 * math.sqrt(0.05 * 0.95 / runs)
