"""Doses of one's own bottles against a slow search over every combination."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from littoral.feeding.bottles import Bottle
from littoral.feeding.matched import matched

MACRO = Bottle("macro", "macro", content_mg_per_ml={"nitrate": 40.0, "potassium": 30.0})
PHOSPHATE = Bottle("p", "p", content_mg_per_ml={"phosphate": 5.0, "potassium": 2.0}, drop_ml=0.05)
IRON = Bottle("iron", "iron", content_mg_per_ml={"iron": 7.0}, stroke_ml=1.1)
SALT = Bottle("kno3", "KNO3", content_mg_per_g={"nitrate": 613.0, "potassium": 387.0}, dry_formula="KNO3")


def missed(asked: dict[str, float], amounts: tuple[float, ...], bottles: tuple[Bottle, ...], litres: float) -> float:
    total = 0.0
    for key, want in asked.items():
        added = sum(a * b.content_mg_per_ml.get(key, 0.0) for a, b in zip(amounts, bottles, strict=True)) / litres
        total += ((added - want) / want) ** 2
    return total


@settings(max_examples=25)
@given(st.floats(0.5, 10), st.floats(0.05, 1), st.floats(0.5, 10))
def test_no_combination_of_steps_misses_much_less(nitrate: float, phosphate: float, potassium: float) -> None:
    asked, bottles = {"nitrate": nitrate, "phosphate": phosphate, "potassium": potassium}, (MACRO, PHOSPHATE)
    found = {dose.of: dose.amount for dose in matched(asked, bottles, net_volume_l=50.0).doses}
    mine = missed(asked, tuple(found.get(bottle.key, 0.0) for bottle in bottles), bottles, 50.0)
    grid = product([0.5 * step for step in range(40)], [0.5 * step for step in range(40)])
    assert mine <= min(missed(asked, amounts, bottles, 50.0) for amounts in grid) + 0.03  # rounded to 0.1 mL and drops


def test_a_bottle_that_holds_it_alone_gives_just_that() -> None:
    one = matched({"iron": 0.154}, [MACRO, IRON, SALT], net_volume_l=100.0)
    assert [(dose.of, dose.written) for dose in one.doses] == [("iron", "2 strokes")]
    assert one.added_mg_per_l == pytest.approx({"iron": 0.154})
    dry = matched({"nitrate": 6.13, "potassium": 3.87}, [SALT], net_volume_l=100.0)
    assert [dose.written for dose in dry.doses] == ["1 g"]


def test_nothing_is_dosed_for_nothing() -> None:
    assert matched({"iron": 0.1}, [MACRO], net_volume_l=50.0).doses == ()
    assert matched({}, [MACRO], net_volume_l=50.0).doses == ()
    with pytest.raises(ValueError, match="above zero"):
        matched({"iron": 0.1}, [IRON], net_volume_l=0.0)
