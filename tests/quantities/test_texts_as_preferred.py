"""Amounts inside sentences, and in fields, in the unit somebody chose; what is sent back is what it was."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from littoral.quantities.amounts import factor_of, parse_amount
from littoral.quantities.numbers import two_readings
from littoral.quantities.preferred import amounts, filled_in, in_chosen_unit, plain_digits, read_as
from littoral.speech.manner import UNITS, Manner, speaking

AMERICAN = Manner(volume="gal", dose="fl oz", temperature="°F", length="in", mass="oz", hardness="ppm CaCO3")
GERMAN = Manner(language="de")
KINDS = {"L": "volume", "mL": "dose volume", "g": "mass", "cm": "length", "°C": "temperature", "dGH": "hardness"}
MANNERS = st.builds(Manner, st.sampled_from(("en", "de")), *(st.sampled_from(units) for units in UNITS.values()))


@pytest.mark.parametrize(
    ("text", "american", "german"),
    [
        ("give 30 mL today", "give 1.01 fl oz today", None),
        ("4 to 6 mL", "0.135 to 0.203 fl oz", None),
        ("between 4.4 and 6 mL", "between 0.149 and 0.203 fl oz", "between 4,4 and 6 mL"),
        ("60 × 30 × 27.5 cm", "23.6 × 11.8 × 10.8 in", "60 × 30 × 27,5 cm"),
        ("2.5 g (2 to 3 g)", "0.0882 oz (0.0705 to 0.106 oz)", "2,5 g (2 to 3 g)"),
        ("5 mL per 100 L", "0.169 fl oz per 26.4 gal", None),
        ("1.79 mg/L, 0.5 g/L, 12.5 mg/mL", None, "1,79 mg/L, 0,5 g/L, 12,5 mg/mL"),
        ("10 dGH and 2.8 dKH", "178 ppm CaCO3 and 50 ppm CaCO3", "10 dGH and 2,8 dKH"),
        ("doses of 2.5, 4 and 8 mL", None, "doses of 2,5, 4 and 8 mL"),
        ("33 g KNO3, 8 g K2SO4", "1.16 oz KNO3, 0.282 oz K2SO4", None),
        ("8.7 to 9.4 mL (+0.7)", None, "8,7 to 9,4 mL (+0,7)"),
        ("9.6 ± 0.2 cm tall", None, "9,6 ± 0,2 cm tall"),
        ("9.6 ± 0.2 g", "0.339 ± 0.00705 oz", "9,6 ± 0,2 g"),
        ("2.5 °C warmer", None, "2,5 °C warmer"),
        ("on 2026-03-02 at 14:30, version 1.2.3, v1.2", None, None),
        ("photo-1.5.jpg and 10.1016/j.x and R3.1b", None, None),
        ("he wrote “5.5 mL in 60 L”", None, None),
        ("from -0.25 to +0.5", None, "from \u22120,25 to +0,5"),
        ("p = 0.036.", None, "p = 0,036."),
        ("4, 5, 6 and 1.5", None, "4, 5, 6 and 1,5"),
    ],
)
def test_a_text_in_the_chosen_units(text: str, american: str | None, german: str | None) -> None:
    assert amounts(text) == text
    with speaking(AMERICAN):
        assert amounts(text) == (american or text)
    with speaking(GERMAN):
        assert amounts(text) == (german or text)


def test_what_was_said_in_german_is_turned_too() -> None:
    with speaking(Manner(language="de", dose="fl oz")):
        assert amounts("29,57 mL bis 1,5 mL") == "0,9999 fl oz bis 0,0507 fl oz"


@settings(max_examples=40)
@given(manner=MANNERS, value=st.floats(0.001, 5000), unit=st.sampled_from(list(KINDS)), digits=st.integers(1, 9))
def test_nothing_is_turned_twice(manner: Manner, value: float, unit: str, digits: int) -> None:
    text = f"give {plain_digits(value, digits)} {unit}, or {value:.2f} to {2 * value:.2f} {unit}"
    with speaking(manner):
        once = amounts(text)
        assert amounts(once) == once


@settings(max_examples=40)
@given(manner=MANNERS, value=st.floats(0.001, 5000), unit=st.sampled_from(list(KINDS)), digits=st.integers(3, 9))
def test_what_is_filled_into_a_field_is_read_back(manner: Manner, value: float, unit: str, digits: int) -> None:
    with speaking(manner):
        text = filled_in(value, unit, digits=digits)
    there = parse_amount(text, kind=KINDS[unit])
    as_before = parse_amount(f"{plain_digits(value, digits)} {unit}", kind=KINDS[unit])
    exactly = parse_amount(f"{value!r} {unit}", kind=KINDS[unit])
    assert there == as_before or there == pytest.approx(exactly, rel=1e-11)
    if manner.language == "de":  # clear even where commas are known to be decimal
        assert two_readings(text.partition(" ")[0], points_are_decimal=False) is None


def test_a_field_has_the_chosen_unit_where_it_comes_out_even() -> None:
    with speaking(AMERICAN):
        assert filled_in(20 * factor_of("gal", kind="volume"), "L", digits=4) == "20 gal"
        assert filled_in(60, "L", digits=4) == "60 L"
    with speaking(GERMAN):
        assert [filled_in(value, "L") for value in (1.234, 54.5, 0.125)] == ["1,2340 L", "54,5 L", "0,125 L"]


@settings(max_examples=40)
@given(value=st.floats(0.01, 500), unit=st.sampled_from(list(KINDS)))
def test_the_number_and_the_unit_go_together(value: float, unit: str) -> None:
    with speaking(AMERICAN):
        shown, (_, chosen) = read_as(value, unit, digits=12), in_chosen_unit(value, unit)
    assert shown.endswith(f" {chosen}")
    assert parse_amount(shown, kind=KINDS[unit]) == pytest.approx(
        parse_amount(f"{value!r} {unit}", kind=KINDS[unit]), rel=1e-9, abs=1e-9
    )
