"""Amounts as the person who reads them prefers: in the unit and with the decimal sign of the manner in force.

Inside, and in files, amounts stay in the canonical unit of their kind; only here is what is shown turned.
"""

from __future__ import annotations

import re
from decimal import Decimal

from littoral.quantities.amounts import parse_amount, show_amount
from littoral.quantities.numbers import two_readings
from littoral.quantities.units import kinds
from littoral.speech.manner import PLAIN, cldr_language, manner
from littoral.speech.numbers import MINUS, decimal_sign, numeral, numerals

KIND_OF_UNIT = {
    "L": "volume", "mL": "dose volume", "g": "mass", "cm": "length", "°C": "temperature", "dGH": "hardness",
    "dKH": "alkalinity",
}  # fmt: skip
"""The units that amounts are written in before a person reads them, and the kind that each is of."""
_ALKALINITY = {"dGH": "dKH", "ppm CaCO3": "ppm CaCO3", "mmol/L": "meq/L"}
"""The unit of alkalinity that goes with one of hardness."""


def unit_for(kind: str) -> str:
    """Return the unit in which a kind of amount (`units.kinds`) is shown; its canonical one where none is chosen."""
    chosen = manner()
    units = {
        "volume": chosen.volume,
        "dose volume": chosen.dose,
        "temperature": chosen.temperature,
        "length": chosen.length,
        "mass": chosen.mass,
        "hardness": chosen.hardness,
        "alkalinity": _ALKALINITY[chosen.hardness],
    }
    return units[kind]


def preferred(value: float, *, kind: str, digits: int | None = None) -> str:
    """Return an amount for reading in the unit that is preferred, with its name.

    `value` is in the canonical unit of `kind`, one of those that `unit_for` knows (KeyError for another); `digits` is
    the number of significant digits, None for as many as the value has. What is returned can be parsed again, except
    where a decimal comma leaves two readings, which `parse_amount` then asks about.
    """
    number, _, unit = show_amount(value, kind=kind, unit=unit_for(kind), digits=digits).partition(" ")
    return f"{numeral(number)} {unit}"


def plain_digits(value: float, digits: int = 3) -> str:
    """Return a number with so many significant digits and a decimal point, never with an exponent: 0.000012, 1230."""
    text = f"{value:.{digits}g}"
    return f"{Decimal(text):f}" if "e" in text else text


def in_chosen_unit(value: float, unit: str) -> tuple[float, str]:
    """Return an amount, written in a unit of KIND_OF_UNIT, in the unit that is chosen; in another unit as it is.

    "L" and "mL" are also what a volume or a dose is in until somebody chooses, and then nothing is reckoned.
    """
    kind = KIND_OF_UNIT.get(unit)
    if kind is None or (chosen := unit_for(kind)) == unit:
        return value, unit
    factor, offset = _factor_and_offset(unit, kind)
    other_factor, other_offset = _factor_and_offset(chosen, kind)
    return (factor * value + offset - other_offset) / other_factor, chosen


def read_as(value: float, unit: str, *, digits: int = 3) -> str:
    """Return an amount for reading: in the chosen unit, with so many significant digits, as the language writes it."""
    value, unit = in_chosen_unit(value, unit)
    return f"{numeral(plain_digits(value, digits))} {unit}".strip()


def filled_in(value: float, unit: str, *, digits: int = 6) -> str:
    """Return an amount for a form's field, to be read back by `parse_amount` as what it was.

    It is in the chosen unit where it comes out even there (20 gal), otherwise in `unit`: nobody wants 15.85032314 gal
    for 60 L, and rounding it would change what is sent back. A number that a decimal comma leaves unclear (1,234) has a
    zero more.
    """
    text = plain_digits(value, digits)
    if manner() == PLAIN:
        return f"{text} {unit}"
    kind = KIND_OF_UNIT.get(unit)
    if kind is not None and (chosen := unit_for(kind)) != unit:
        there = plain_digits(in_chosen_unit(value, unit)[0], digits)
        written = parse_amount(f"{value!r} {unit}", kind=kind)
        if abs(parse_amount(f"{there} {chosen}", kind=kind) - written) <= 1e-12 * abs(written):
            text, unit = there, chosen
    said = numeral(text)
    return f"{said}{'' if two_readings(said.lstrip(MINUS)) is None else '0'} {unit}"


_NUMBER = r"[-−+]?\d+(?:[,\u202f]\d{3})*(?:[.,]\d+)?(?:e[-+]?\d+)?"
_SPAN = rf"{_NUMBER}(?:(?: to | bis | × |–|/| ± ){_NUMBER}| \({_NUMBER} (?:to|bis) {_NUMBER}\))*"
_WRITTEN = re.compile(
    rf"(?<![\w.,/^])(?P<numbers>between {_NUMBER} and {_NUMBER}|zwischen {_NUMBER} und {_NUMBER}|{_SPAN})"
    r"(?P<gap>[ \u00a0\u202f]|&nbsp;)(?P<unit>mL|L|cm|g|dGH|dKH)(?![\w/²³·])"
)
_ONE = re.compile(rf"(?<![\w.,]){_NUMBER}")
_MORE_BEFORE = re.compile(r"(?<![\w.,])\d[\d.,]*(?:(?<=\d),| and| or| und| oder) $")
_MORE_BEHIND = re.compile(r" \([-−+]?\d[\d.,]*\)")
_OWN = re.compile(r"(“[^“”]*”|„[^„“]*“)")


def amounts(text: str) -> str:
    """Return a text with every amount in it in the chosen unit, and every number as the language in force writes it.

    Amounts are found as Littoral writes them: "5 mL", "4 to 6 mL", "60 × 30 × 27 cm". What is left: a temperature, for
    in a text it may be a difference, without a zero to move; units divided by another, such as g/L; a length that is
    not a size ("60 × 30 cm"), which is measured on photos and in cm on the charts; an amount beside a bare number that
    may be of the same unit; what stands in “quotation marks”, for somebody wrote it; and what was turned before.
    """
    if manner() == PLAIN:
        return text
    return "".join(
        part if place % 2 else numerals(_WRITTEN.sub(_turned, part)) for place, part in enumerate(_OWN.split(text))
    )


def _turned(found: re.Match[str]) -> str:
    unit = found["unit"]
    _, chosen = in_chosen_unit(0.0, unit)
    measured = unit == "cm" and "×" not in found["numbers"]
    start, end = found.span()
    more = _MORE_BEFORE.search(found.string, max(0, start - 16), start) or _MORE_BEHIND.match(found.string, end)
    if chosen == unit or measured or more:
        return found[0]

    def turned(one: re.Match[str]) -> str:
        plain = _with_point(one[0])
        digits = sum(sign.isdigit() for sign in plain.partition("e")[0].lstrip("-0."))
        written = plain_digits(in_chosen_unit(float(plain), unit)[0], max(3, digits))
        return f"+{written}" if one[0].startswith("+") else written

    return f"{_ONE.sub(turned, found['numbers'])}{found['gap']}{chosen}"


def _with_point(written: str) -> str:
    """Return a number of a text with a decimal point: a comma in it is what it is in the language in force."""
    bare = written.replace("−", "-").replace("\u202f", "").removeprefix("+")
    return bare.replace(",", "") if decimal_sign(cldr_language()) == "." or "." in bare else bare.replace(",", ".")


def _factor_and_offset(unit: str, kind: str) -> tuple[float, float]:
    found = kinds()[kind].factor_and_offset(unit)
    if found is None:
        raise KeyError(unit)
    return found
