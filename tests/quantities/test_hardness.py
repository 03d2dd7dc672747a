"""Degrees of hardness against their definitions and published conversion factors."""

from __future__ import annotations

import pytest

from littoral.quantities.amounts import AmountError, factor_of, parse_amount
from littoral.quantities.hardness import (
    alkalinity_in,
    alkalinity_in_every_unit,
    alkalinity_meq_per_l,
    hardness_in,
    hardness_in_every_unit,
    hardness_mmol_per_l,
)


def test_one_german_degree() -> None:
    # internetchemie.info: 1 °dH = 17.8 mg/L CaCO3 = 0.357 mval/L = 0.1783 mmol/L
    assert round(hardness_mmol_per_l(1.0, unit="dGH"), 4) == 0.1783
    assert round(hardness_in(hardness_mmol_per_l(1.0, unit="dGH"), unit="ppm CaCO3"), 1) == 17.8
    assert round(alkalinity_meq_per_l(1.0, unit="dKH"), 3) == 0.357


def test_the_misprint_of_a_widely_read_page() -> None:
    """17.86 mg/L beside 0.17832 mmol/L, and "the same as °fH", cannot all be true: 17.848 and 1.785 °fH are."""
    degree = hardness_mmol_per_l(1.0, unit="dGH")
    assert round(hardness_in(degree, unit="ppm CaCO3"), 3) == 17.848
    assert round(hardness_in(degree, unit="°fH"), 3) == 1.785
    assert round(degree, 6) == 0.178325


@pytest.mark.parametrize(("unit", "degrees"), [("°fH", 0.5603), ("°e", 0.7986), ("gpg", 0.9591), ("mmol/L", 5.608)])
def test_other_degrees_in_german_ones(unit: str, degrees: float) -> None:
    digits = 3 if unit == "mmol/L" else 4
    assert round(hardness_in(hardness_mmol_per_l(1.0, unit=unit), unit="dGH"), digits) == degrees


def test_acid_capacity_to_carbonate_hardness() -> None:
    # DIN 38409-7: °KH = KS4.3 x 2.804 (from memory)
    assert round(alkalinity_in(1.0, unit="dKH"), 3) == 2.804


def test_as_a_person_writes_it() -> None:
    assert parse_amount("4 dGH", kind="hardness") == pytest.approx(hardness_mmol_per_l(4.0, unit="dGH"))
    assert parse_amount("4 °dKH", kind="alkalinity") == pytest.approx(alkalinity_meq_per_l(4.0, unit="dKH"))
    with pytest.raises(AmountError, match="ppm CaCO3"):
        hardness_mmol_per_l(1.0, unit="grains")


def test_a_temperature_has_no_factor_alone() -> None:
    with pytest.raises(ValueError, match="temperature has no factor alone"):
        factor_of("°F", kind="temperature")


def test_in_every_unit() -> None:
    hardness = hardness_in_every_unit(1.0)
    assert {unit: round(value, 3) for unit, value in hardness.items()} == {
        "dGH": 5.608,
        "°fH": 10.009,
        "°e": 7.022,
        "ppm CaCO3": 100.087,
        "mmol/L": 1.0,
        "meq/L": 2.0,
    }
    alkalinity = alkalinity_in_every_unit(1.0)
    assert {unit: round(value, 3) for unit, value in alkalinity.items()} == {
        "dKH": 2.804,
        "°fH": 5.004,
        "°e": 3.511,
        "ppm CaCO3": 50.043,
        "mg/L HCO3": 61.017,
        "meq/L": 1.0,
    }


def test_hardness_and_alkalinity_degrees_are_the_same_water() -> None:
    """A water of calcium bicarbonate alone has as many degrees of hardness as of alkalinity, in every system."""
    hardness, alkalinity = hardness_in_every_unit(1.3), alkalinity_in_every_unit(2.6)
    for unit in ("°fH", "°e", "ppm CaCO3", "meq/L"):
        assert hardness[unit] == pytest.approx(alkalinity[unit])
    assert hardness["dGH"] == pytest.approx(alkalinity["dKH"])
    assert parse_amount("122 mg/L HCO3", kind="alkalinity") == pytest.approx(2.0, abs=1e-3)
    assert parse_amount("2 mval/L", kind="hardness") == pytest.approx(1.0)
