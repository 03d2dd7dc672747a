"""Yield: from the masses that were noted to findings, by hand."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest
from tests.findings.measures_asked import (
    NOTHING,
    YIELD,
    Make,
    only,
)

from littoral.findings.answers import answer
from littoral.findings.model import Finding
from littoral.trial.entries import Trim
from littoral.trial.plan import Plan


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
