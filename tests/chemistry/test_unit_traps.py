"""The sentences at fields where a unit bites: the factors are the published ones."""

from __future__ import annotations

import pytest

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.unit_traps import unit_trap


@pytest.mark.parametrize(
    ("nutrient", "factor"),
    [
        # formula weights; recomputed independently
        ("nitrate", "4.4268"),
        ("nitrite", "3.2845"),
        ("ammonium", "1.2878"),
        ("phosphate", "3.0662"),
        ("phosphate", "0.4364"),  # P2O5 to P
        ("potassium", "0.8301"),  # K2O to K
        ("magnesium", "0.6030"),
        ("calcium", "0.7147"),
        ("silicate", "2.1393"),
        ("bicarbonate", "1.2193"),  # as CaCO3 to HCO3: 2 x 61.017 / 100.087
        ("boron", "0.1748"),
        ("copper", "1000 µg/L"),
    ],
)
def test_factors(nutrient: str, factor: str) -> None:
    trap = unit_trap(nutrient)
    assert trap is not None
    assert factor in trap


def test_every_nutrient_has_an_answer() -> None:
    without = [key for key in NUTRIENTS if unit_trap(key) is None]
    assert without == ["chloride"]
    with pytest.raises(KeyError):
        unit_trap("lead")
