"""What single days, stands, tanks and periods do to a finding: against doing each by itself, plainly."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from tests.findings.test_designs import asked, grown

from littoral.findings.answers import answer, compare
from littoral.findings.left_out_parts import without_day
from littoral.findings.model import Finding, Influence
from littoral.findings.photo_remarks import in_pairs
from littoral.findings.single_days import rough_differences
from littoral.findings.tank_values import difference
from littoral.trial.model import Question

Make = Callable[..., Any]
Noise = Callable[[int, str, float], float]
GROWTH = Question("growth", "Did the stems grow faster?", "height growth", ("red-stem",), primary=True)
REDDER = Question("red", "Was it redder?", "redness", ("red-stem",), primary=True)


def stems(noise: Noise, rates: dict[str, float], *, spread: float = 0.02, at: dict[int, float] | None = None):
    def take(day: int, tank: str) -> dict[str, float]:
        log = 0.02 * min(day, 14) + rates[tank] * max(day - 14, 0) + noise(day, tank, spread)
        return {"height_cm": 10 * float(np.exp(log + (at or {}).get(day, 0.0) * (tank == "right")))}

    return take


def only(findings: tuple[Finding, ...]) -> Finding:
    assert len(findings) == 1
    return findings[0]


def of(finding: Finding, kind: str) -> Influence:
    return next(one for one in finding.evidence.influence if one.kind == kind)


def test_the_day_that_moves_most_is_that_of_answering_without_each(make_trial: Make, make_measured: Make, make_book):
    trial = make_trial(GROWTH)

    def noise(day: int, tank: str, spread: float) -> float:
        return float(np.random.default_rng([7, day, *tank.encode()]).normal(0, spread))

    take = {"red-stem": stems(noise, {"left": 0.02, "right": 0.03}, spread=0.05)}
    measured = make_measured(trial, take)
    finding = only(answer(make_book(trial), trial, measured=measured))
    found = of(finding, "day")
    assert found.tried == 56
    # the slow, obvious way: each day's photos were never taken
    compared = compare(trial, measured, (), GROWTH)
    slow = {}
    for day in range(56):
        arms = without_day(compared.tanks, day)
        slow[day] = difference("height growth", arms[1], arms[0], change_day=14.0)[0].after.value
    assert finding.claim is not None
    furthest = max(slow, key=lambda day: abs(slow[day] - finding.claim.value))
    assert found.most.key == str(furthest)
    again = only(answer(make_book(trial), trial, measured=make_measured(trial, take, skip=[furthest])))
    assert again.claim is not None
    assert (found.most.value, found.most.low, found.most.high, found.most.rule) == (
        pytest.approx(again.claim.value, rel=1e-9),
        pytest.approx(again.claim.low, rel=1e-9),
        pytest.approx(again.claim.high, rel=1e-9),
        again.rule,
    )
    rough = rough_differences("height growth", in_pairs(trial, compared.tanks), compared.tanks, change_day=14.0)[1]
    for day, value in slow.items():
        assert rough[day].after.value == pytest.approx(value, rel=0.02, abs=1e-5)


def test_a_claim_that_rests_on_one_day_is_said_to(make_trial: Make, make_measured: Make, make_book, noise: Noise):
    trial = replace(make_trial(REDDER, baseline_days=0.0), length_days=9.0)

    def take(day: int, tank: str) -> dict[str, float]:
        right, last = tank == "right", day == 8
        return {"a": 20.0 + noise(day, tank, 0.2) - 9.0 * right + 14.0 * (right and last), "colour_error": 0.5}

    measured = make_measured(trial, {"red-stem": take, "card": lambda *_: {}})
    finding = only(answer(make_book(trial), trial, measured=measured))
    found = of(finding, "day")
    assert found.most.key == "8"
    assert [one.key for one in found.changing] == ["8"]
    assert found.changing[0].rule == "these two tanks differ"
    assert finding.rule == "cannot tell"
    assert "Without day 8" in found.text
    assert found.text.endswith("The answer rests on one day.")
    assert any(one.day == 8 and "moves the number most" in one.why for one in finding.evidence.carrying)


def test_no_part_of_a_series_without_noise_moves_it(make_trial: Make, make_measured: Make, make_book) -> None:
    trial = make_trial(replace(GROWTH, of=("red-stem", "carpet")), baseline_days=0.0)

    def take(day: int, tank: str) -> dict[str, float]:
        return {"height_cm": 10 * float(np.exp({"left": 0.02, "right": 0.03}[tank] * day))}

    finding = only(answer(make_book(trial), trial, measured=make_measured(trial, {"red-stem": take, "carpet": take})))
    assert finding.claim is not None
    assert {one.kind for one in finding.evidence.influence} == {"day", "place"}
    for one in finding.evidence.influence:
        assert one.most.value == pytest.approx(finding.claim.value, rel=1e-6)
        assert one.changing == ()
        assert "stands without any single" in one.text


def test_a_stand_that_carries_the_claim_alone_is_named(make_trial: Make, make_measured: Make, make_book, noise: Noise):
    trial = make_trial(replace(GROWTH, of=("red-stem", "carpet")), baseline_days=0.0)
    measured = make_measured(
        trial,
        {
            "red-stem": stems(noise, {"left": 0.02, "right": 0.04}),
            "carpet": stems(lambda day, tank, _: noise(day + 100, tank, 0.02), {"left": 0.02, "right": 0.02}),
        },
    )
    found = of(only(answer(make_book(trial), trial, measured=measured)), "place")
    assert found.tried == 2
    assert [one.key for one in found.changing] == ["red-stem"]
    assert found.text.startswith("Without “red stem plant” ")
    assert found.text.endswith("The claim rests on one stand.")


def test_of_three_tanks_per_arm_each_carries_the_claim(make_trial: Make, make_measured: Make, make_book, noise: Noise):
    trial = make_trial(GROWTH, baseline_days=0.0, tanks_per_arm=3)
    rates = {tank: (0.02 if tank in trial.arms[0].tanks else 0.035) + 0.001 * n for n, tank in enumerate(trial.tanks)}
    finding = only(answer(make_book(trial), trial, measured=make_measured(trial, {"red-stem": stems(noise, rates)})))
    assert finding.rule == "effect of the regime"
    found = of(finding, "tank")
    assert (found.tried, len(found.changing)) == (6, 6)
    assert "the claim rests on every tank" in found.text
    assert of(finding, "day").changing == ()


def test_the_periods_of_a_crossover_are_left_out_one_by_one(make_trial: Make, make_measured: Make, make_book, noise):
    trial = asked(make_trial, GROWTH, periods=4)
    finding = only(answer(make_book(trial), trial, measured=make_measured(trial, grown(trial, noise))))
    assert finding.rule == "followed the regime in this pair"
    found = of(finding, "period")
    assert found.tried == 4
    assert len(found.changing) == 4
    assert found.text.endswith("so it rests on every period.")
    assert of(finding, "day").tried == 4 * 6


def test_pairs_are_left_out_whole(make_trial: Make, make_measured: Make, make_book, noise: Noise) -> None:
    trial = make_trial(GROWTH, baseline_days=0.0, tanks_per_arm=4)
    pairs = tuple(zip(trial.arms[0].tanks, trial.arms[1].tanks, strict=True))
    trial = replace(trial, plan=replace(trial.plan, pairs=pairs))
    rates = {tank: (0.02 if tank in trial.arms[0].tanks else 0.035) + 0.0003 * n for n, tank in enumerate(trial.tanks)}
    finding = only(answer(make_book(trial), trial, measured=make_measured(trial, {"red-stem": stems(noise, rates)})))
    found = of(finding, "pair")
    assert found.tried == 4
    assert found.changing == ()
    assert found.most.name.startswith("the pair ")


def test_an_account_has_no_influence(make_trial: Make, make_measured: Make, make_book) -> None:
    trial = make_trial(Question("cost", "What did it cost?", "cost"))
    finding = only(answer(make_book(trial), trial, measured=make_measured(trial, {})))
    assert finding.evidence.influence == ()
    assert finding.evidence.carrying == ()
