"""Tanks photographed unequally long: the test looks at all of them until the last day of the shortest, and says so."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest

from littoral.findings.answers import answer
from littoral.findings.measured import Measured
from littoral.findings.model import Finding
from littoral.trial.model import Question

Make = Callable[..., Any]
ONSET = Question("onset", "When did algae come?", "algae onset", primary=True)
TANKS = tuple(f"{side}{n}" for side in ("left", "right") for n in ("", "2", "3", "4"))


@pytest.fixture
def told(make_trial: Make, make_measured: Make, make_book: Make) -> Callable[..., Finding]:
    def told(first: Mapping[str, int | None], until: Mapping[str, int], *, tanks: int = 4) -> Finding:
        """`first` is when algae come (None: never), `until` the last day on which a tank is photographed."""
        trial = make_trial(ONSET, tanks_per_arm=tanks)

        def clean_until(day: int, tank: str) -> dict[str, float]:
            came = first[tank]
            return {"algae": 0.08 if came is not None and day >= came else 0.01}

        every_day = make_measured(trial, {"stone": clean_until})
        photos = tuple(one for one in every_day.photos if int(one.day) <= until.get(one.view, 99))
        (found,) = answer(make_book(trial), trial, measured=Measured(photos, "test"))
        return found

    return told


def test_the_test_is_that_of_tanks_all_watched_as_long_as_the_shortest(told: Callable[..., Finding]) -> None:
    rng = np.random.default_rng(5)
    differed = 0
    for _ in range(4):
        days = rng.permutation(np.arange(18, 54))[:8]
        first: dict[str, int | None] = {tank: int(day) for tank, day in zip(TANKS, days, strict=True)}
        end = int(rng.integers(30, 40))
        unequal = told(first, {"left2": end, "right3": end + 6})
        alike = told(first, dict.fromkeys(TANKS, end))
        assert unequal.p_value == alike.p_value
        differed += unequal.p_value != told(first, {}).p_value
        assert f"until the last day of the one that was photographed least long: day {end}." in unequal.method
        said = f"(until day {end} to day 55): the test looks at all of them until day {end} only."
        assert any(remark.endswith(said) for remark in unequal.evidence.remarks)
        # what is described stays what was seen
        assert {value.tank: value.text for value in unequal.arms} == {
            tank: f"from day {came}" if came + 2 <= (last := {"left2": end, "right3": end + 6}.get(tank, 55))
            else f"not by day {min(came, last)}"
            for tank, came in first.items() if came is not None
        }  # fmt: skip
    assert differed


def test_an_arm_watched_longer_has_no_effect_of_that_alone(told: Callable[..., Finding]) -> None:
    first = {tank: 40 + n if tank.startswith("left") else None for n, tank in enumerate(TANKS)}
    found = told(first, {tank: 30 for tank in TANKS if tank.startswith("right")})
    assert (found.rule, found.p_value) == ("cannot tell", 1.0)
    assert "it had not come in any tank by the last day on which all were watched" in found.wording
    assert "sparing in 4 of 4 tanks" in found.wording
    pair = told({"left": 40, "right": None}, {"right": 30}, tanks=1)
    assert any(
        "it is taken that this has nothing to do with the feeding regime" in one for one in pair.evidence.remarks
    )


def test_tanks_watched_alike_hear_nothing_of_it(told: Callable[..., Finding]) -> None:
    found = told(dict.fromkeys(TANKS, 30), {})
    assert not any("equally long" in one for one in found.evidence.remarks)
    assert found.method.endswith("by every dealing of the tanks to the arms.")
