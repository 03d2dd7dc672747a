"""What a person may write, what is refused, and that printing and reading undo each other."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.quantities.amounts import AmountError, parse_amount, parse_counted, show_amount
from littoral.quantities.numbers import has_decimal_comma, two_readings
from littoral.quantities.units import kinds


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("5 ml", "volume", 0.005),
        ("5ml", "dose volume", 5.0),
        ("0.5 gal", "volume", 1.892705892),
        ("2 imp gal", "volume", 9.09218),
        ("500 g", "mass", 500.0),
        ("2.5 mg", "mass", 0.0025),
        ("60 cm", "length", 60.0),
        ("24 in", "length", 60.96),
        ("8 weeks", "duration", 56.0),
        ("90 min", "duration", 0.0625),
        ("12 mg/L", "concentration", 12.0),
        ("12 MG/l", "concentration", 12.0),
        ("10 µg per litre", "concentration", 0.01),
        ("3 ppm", "concentration", 3.0),
        ("40 %", "fraction", 0.4),
        ("0.4", "fraction", 0.4),
        ("1.06 kg/L", "density", 1.06),
        ("1060 kg/m3", "density", 1.06),
        ("9 % per day", "rate", 0.09),
        ("0.3/day", "rate", 0.3),
        ("70 % per week", "rate", 0.1),
        ("1.4 L per week", "flow", 0.2),
        ("77 °F", "temperature", 25.0),
        ("−5 °C", "temperature", -5.0),
        ("293.15 K", "temperature", 20.0),
        ("1,5 ml", "dose volume", 1.5),
        ("0,500 L", "volume", 0.5),
        ("1,25 L", "volume", 1.25),
        ("1,234,567 g", "mass", 1234567.0),
        ("1.234.567,5 g", "mass", 1234567.5),
        ("1,234.5 g", "mass", 1234.5),
        ("1\u00a0ml", "dose volume", 1.0),
    ],
)
def test_what_a_person_writes(text: str, kind: str, value: float) -> None:
    assert parse_amount(text, kind=kind) == pytest.approx(value, rel=1e-14)


@pytest.mark.parametrize(
    ("text", "kind", "reason"),
    [
        ("5", "volume", "the unit is missing"),
        ("5 furlong", "volume", '"furlong" is no unit of volume'),
        ("5 mg/L", "mass", '"mg/L" is no unit of mass'),
        ("-5 ml", "volume", "it is below zero"),
        ("140 %", "fraction", "it is above 100 %"),
        ("-300 °C", "temperature", "it is below -273.15 °C"),
        ("1e999 g", "mass", "the number is too large"),
        ("1.2.3 g", "mass", '"1.2.3" is no number'),
        ("12,34,5 g", "mass", '"12,34,5" is no number'),
        ("", "mass", "it does not begin with a number"),
        ("some", "mass", "it does not begin with a number"),
        ("nan g", "mass", "it does not begin with a number"),
        ("½ g", "mass", "it does not begin with a number"),
        ("٣ g", "mass", "it does not begin with a number"),
        ("9**9**9 L", "volume", '"**9**9 L" is no unit of volume'),
        ("1" * 1000 + " g", "mass", "it does not begin with a number"),
    ],
)
def test_a_refusal_says_what_is_wrong_and_what_is_right(text: str, kind: str, reason: str) -> None:
    with pytest.raises(AmountError) as refusal:
        parse_amount(text, kind=kind)
    assert refusal.value.reason == reason
    assert reason in str(refusal.value)
    known = kinds()[kind]
    assert all(unit in refusal.value.right for unit in known.shown if not known.bare)


@pytest.mark.parametrize(
    ("text", "kind", "said"),
    [
        ("1,500 mL", "dose volume", '"1,500" may be 1.5 or 1500. Write 1.5 mL or 1500 mL.'),
        ("12,340 g", "mass", '"12,340" may be 12.34 or 12340. Write 12.34 g or 12340 g.'),
        ("1,234 %", "fraction", '"1,234" may be 1.2340 or 1234. Write 1.2340 % or 1234 %.'),
        ("-5,000 °C", "temperature", '"5,000" may be 5 or 5000. Write -5 °C or -5000 °C.'),
    ],
)
def test_a_number_with_two_readings_is_refused_and_both_are_named(text: str, kind: str, said: str) -> None:
    with pytest.raises(AmountError) as refusal:
        parse_amount(text, kind=kind)
    assert str(refusal.value).endswith(said)


@given(st.integers(1, 999), st.integers(0, 999), st.sampled_from(",."))
def test_both_readings_offered_are_clear_everywhere_and_a_thousandfold_apart(whole: int, rest: int, mark: str) -> None:
    readings = two_readings(f"{whole}{mark}{rest:03}", points_are_decimal=False)
    assert readings is not None
    assert all(two_readings(reading, points_are_decimal=False) is None for reading in readings)
    small, large = (parse_amount(f"{reading} g", kind="mass") for reading in readings)
    assert large == pytest.approx(1000 * small, rel=1e-12)


@pytest.mark.parametrize("digits", ["0.500", "0,500", "1.5", "1,5", "1500", "1.500,5", "1,500.5", "1.2345", "1000.500"])
def test_what_means_one_thing_wherever_it_is_written(digits: str) -> None:
    assert two_readings(digits, points_are_decimal=False) is None


def test_a_point_before_three_digits_is_decimal_where_that_is_known() -> None:
    assert two_readings("1.500") is None
    assert parse_amount("1.500 mL", kind="dose volume") == 1.5


@pytest.mark.parametrize(
    ("digits", "found"),
    [("5,5", True), (",5", True), ("0,500", True), ("1.500,5", True), ("1,500", False), ("5.5", False),
     ("1,500.5", False), ("1.500.000", False), ("5", False)],
)  # fmt: skip
def test_decimal_commas_are_told_from_other_commas(digits: str, found: bool) -> None:
    assert has_decimal_comma(digits) is found


def test_no_such_kind_is_the_programmers_mistake() -> None:
    with pytest.raises(KeyError):
        parse_amount("5 ml", kind="wetness")


@pytest.mark.parametrize(
    ("text", "counted"),
    [
        ("1 stroke", (1.0, "stroke")),
        ("2.5 Strokes", (2.5, "stroke")),
        ("8 drops", (8.0, "drop")),
        ("1,2 mL", (1.2, "mL")),
        ("0.01 L", (10.0, "mL")),
        ("500 mg", (0.5, "g")),
    ],
)
def test_doses_as_a_person_measures_them(text: str, counted: tuple[float, str]) -> None:
    assert parse_counted(text) == counted


@pytest.mark.parametrize("text", ["3 cups", "5", "-1 stroke", "-1 mL", "1e999 drops", "stroke", "1,500 mL"])
def test_no_dose(text: str) -> None:
    with pytest.raises(AmountError, match=r"is not clear as (a dose|dose volume)"):
        parse_counted(text)


def test_printing() -> None:
    assert show_amount(0.07, kind="fraction") == "7 %"
    assert show_amount(0.2, kind="flow", unit="L/week", digits=3) == "1.4 L/week"
    assert show_amount(25.0, kind="temperature", unit="°F") == "77 °F"
    assert show_amount(1 / 3, kind="volume", digits=3) == "0.333 L"
    with pytest.raises(AmountError, match='"stone" is no unit of mass'):
        show_amount(1.0, kind="mass", unit="stone")
    with pytest.raises(AmountError, match="no number to show"):
        show_amount(math.nan, kind="mass")


@given(st.sampled_from(sorted(kinds())), st.just(0.0) | st.floats(1e-9, 1.0), st.integers(-12, 12), st.data())
def test_units_round_trip(kind: str, share: float, power: int, data: st.DataObject) -> None:
    known = kinds()[kind]
    unit = data.draw(st.sampled_from(sorted(known.factors)))
    value = share if kind == "fraction" else share * 10.0**power
    shown = show_amount(value, kind=kind, unit=unit)
    back = parse_amount(shown, kind=kind)
    # a temperature offset costs digits of numbers near zero: 273.15 K has its own rounding
    slack = 1e-13 if known.offsets else 0.0
    assert back == pytest.approx(value, rel=4e-16 * 2, abs=slack)


@given(st.floats(min_value=0.0, allow_infinity=False, allow_nan=False))
def test_the_canonical_unit_round_trips_exactly(value: float) -> None:
    for kind in ("volume", "mass", "concentration", "duration"):
        assert parse_amount(show_amount(value, kind=kind), kind=kind) == value


@given(st.text(max_size=70))
def test_any_text_is_read_or_refused_in_our_own_words(text: str) -> None:
    for kind in kinds():
        try:
            value = parse_amount(text, kind=kind)
        except AmountError:
            continue
        assert math.isfinite(value)


@given(st.floats(min_value=0.0, max_value=999.0).map(lambda x: round(x, 2)))
def test_a_decimal_comma_means_a_decimal_point(value: float) -> None:
    assert parse_amount(f"{value:.2f} g".replace(".", ","), kind="mass") == parse_amount(f"{value:.2f} g", kind="mass")


def test_no_two_units_of_a_kind_differ_by_case_alone() -> None:
    for kind in kinds().values():
        folded: dict[str, float] = {}
        for name, factor in kind.factors.items():
            assert folded.setdefault(name.casefold(), factor) == factor, (kind.name, name)
        assert all(kind.factor_and_offset(unit) for unit in kind.shown)
