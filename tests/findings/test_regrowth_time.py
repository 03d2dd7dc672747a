"""Days to grow back after a trim: from trims and measured photos to findings, by hand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest
from tests.findings.measures_asked import (
    REGROWTH,
    Make,
    growing,
    only,
)

from littoral.findings.answers import answer
from littoral.findings.model import Finding
from littoral.trial.entries import Trim


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
