"""Amounts in the unit somebody prefers: right by the handbook, and read back as what they were."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.quantities.amounts import AmountError, factor_of, parse_amount
from littoral.quantities.numbers import two_readings
from littoral.quantities.preferred import preferred, unit_for
from littoral.speech.manner import UNITS, Manner, speaking

KINDS = {
    "volume": "volume",
    "dose": "dose volume",
    "temperature": "temperature",
    "length": "length",
    "mass": "mass",
    "hardness": "hardness",
}
EVERY = [(part, unit) for part, units in UNITS.items() for unit in units]


def test_without_a_choice_it_is_metric() -> None:
    assert preferred(16.8, kind="volume", digits=3) == "16.8 L"
    assert preferred(1234.0, kind="volume", digits=3) == "1230 L"
    assert preferred(24.5, kind="temperature") == "24.5 °C"
    assert preferred(4.4, kind="dose volume") == "4.4 mL"


@pytest.mark.parametrize(("part", "unit"), EVERY)
@given(value=st.floats(0.01, 500), comma=st.booleans())
def test_what_is_shown_is_read_back(part: str, unit: str, value: float, comma: bool) -> None:
    with speaking(Manner(language="de" if comma else "en", **{part: unit})):
        shown = preferred(value, kind=KINDS[part])
    if two_readings(shown.partition(" ")[0]) is not None:
        assert comma, "a decimal point is always clear"
        with pytest.raises(AmountError, match="may be"):  # 1,500: one and a half, or fifteen hundred? Never guessed
            parse_amount(shown, kind=KINDS[part])
    else:
        assert parse_amount(shown, kind=KINDS[part]) == pytest.approx(value, rel=1e-12, abs=1e-12)


@pytest.mark.parametrize(
    ("typed", "kind", "canonical"),
    [
        ("1,5 ml", "dose volume", 1.5),
        ("0.5 gal", "volume", 0.5 * 3.785411784),
        ("0,5 gal", "volume", 0.5 * 3.785411784),
        ("76 °F", "temperature", (76 - 32) / 1.8),
        ("1 fl oz", "dose volume", 29.5735295625),
        ("12 in", "length", 30.48),
        ("100 ppm CaCO3", "hardness", 100 / 100.0869),
    ],
)
def test_input_takes_every_unit_whatever_is_chosen(typed: str, kind: str, canonical: float) -> None:
    for chosen in (Manner(), Manner(language="de", volume="gal", temperature="°F", dose="fl oz")):
        with speaking(chosen):
            assert parse_amount(typed, kind=kind) == pytest.approx(canonical, rel=1e-12)


@pytest.mark.parametrize(
    ("unit", "kind", "handbook", "digits"),
    [
        # NIST SP 811 (2008 edition), appendix B.8, from memory: factors to seven figures
        ("gal", "volume", 3.785412, 1e-6),  # gallon (U.S.) to litre
        ("imp gal", "volume", 4.54609, 1e-6),  # gallon [Canadian and U.K. (Imperial)] to litre
        ("fl oz", "dose volume", 29.57353, 1e-6),  # ounce (U.S. fluid) to millilitre
        ("in", "length", 2.54, 1e-9),  # inch to centimetre, exact
        ("oz", "mass", 28.34952, 1e-6),  # ounce (avoirdupois) to gram
    ],
)
def test_factors_are_those_of_the_handbook(unit: str, kind: str, handbook: float, digits: float) -> None:
    assert factor_of(unit, kind=kind) == pytest.approx(handbook, rel=digits)


def test_alkalinity_goes_with_hardness() -> None:
    for hardness, alkalinity in (("dGH", "dKH"), ("ppm CaCO3", "ppm CaCO3"), ("mmol/L", "meq/L")):
        with speaking(Manner(hardness=hardness)):
            assert unit_for("alkalinity") == alkalinity
    with pytest.raises(KeyError):
        unit_for("density")
