"""Degrees of hardness against their definitions and published conversion factors."""

from __future__ import annotations

import pytest

from littoral.quantities.amounts import AmountError, factor_of, parse_amount
from littoral.quantities.hardness import alkalinity_in, alkalinity_meq_per_l, hardness_in, hardness_mmol_per_l


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
