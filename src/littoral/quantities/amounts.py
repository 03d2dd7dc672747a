"""Amounts with units: reading what a person types, printing what a person reads.

Inside, Littoral uses plain floats in the canonical unit of each kind (see `units.kinds`); only here do units exist.
"""

from __future__ import annotations

import math
import re
from typing import Literal

from littoral.errors import LittoralError
from littoral.quantities.numbers import plain_number, two_readings
from littoral.quantities.units import Kind, kinds
from littoral.speech.say import later, say

Counted = Literal["mL", "g", "stroke", "drop"]

LONGEST_AMOUNT = 60  # characters
_AMOUNT = re.compile(
    r"([+-]?)([0-9][0-9.,]*|[.,][0-9]+)(e[+-]?[0-9]{1,3})?\s*(.*)", re.ASCII | re.DOTALL | re.IGNORECASE
)
_COUNTED = {
    "stroke": "stroke",
    "strokes": "stroke",
    "pump": "stroke",
    "pumps": "stroke",
    "drop": "drop",
    "drops": "drop",
}
KINDS_SAID = (
    later("a dose"), later("volume"), later("dose volume"), later("mass"), later("length"), later("duration"),
    later("concentration"), later("fraction"), later("density"), later("rate"), later("flow"), later("temperature"),
    later("hardness"), later("alkalinity"),
)  # fmt: skip
"""What messages call the kinds of `units.kinds`, and a dose that is counted."""


class AmountError(LittoralError):
    """A text is not an amount of the kind asked for; `reason` says why, `right` what would do."""

    def __init__(self, text: str, *, kind: str, reason: str, right: str) -> None:
        self.text = text
        self.kind = kind
        self.reason = reason
        self.right = right
        super().__init__(
            say(
                '"{text}" is not clear as {kind}: {reason}. {right}',
                text=text[:LONGEST_AMOUNT],
                kind=say(kind),
                reason=reason,
                right=right,
            )
        )


def parse_amount(text: str, *, kind: str) -> float:
    """Return the amount that a person wrote, in the kind's canonical unit.

    Kinds and canonical units: volume L, dose volume mL, mass g, length cm, duration days, concentration mg/L,
    fraction 0..1, density kg/L, rate 1/day (a first-order rate: "9 % per day" is 0.09), flow L/day, temperature °C,
    hardness mmol/L, alkalinity meq/L. A decimal comma is read where it can mean nothing else ("1,5 ml"); "1,500 ml" is
    refused, "1.500 ml" is 1.5. "per" and "/" are the same; case does not matter. Only a fraction may lack its unit.

    Raises AmountError (unclear number, unknown or missing unit, out of the kind's range), KeyError for no such kind.
    """
    return _read(text, kinds()[kind])


def parse_counted(text: str) -> tuple[float, Counted]:
    """Return a dose as a person measures it: a number, and "mL", "g", "stroke" or "drop".

    Volumes and masses in other units are turned into mL and g. Raises AmountError.
    """
    right = say("Write it like 5 mL, 0.5 g, 2 strokes or 8 drops.")
    number, unit = _split(text, kind="a dose", right=right)
    for kind in ("dose volume", "mass"):
        if kinds()[kind].factor_and_offset(unit) is not None:
            return _read(text, kinds()[kind]), "mL" if kind == "dose volume" else "g"
    counted = _COUNTED.get(unit.casefold())
    if counted is None:
        reason = say('"{unit}" is no unit of a dose', unit=unit) if unit else say("the unit is missing")
        raise AmountError(text, kind="a dose", reason=reason, right=right)
    if not 0 <= number < math.inf:
        reason = say("it is below zero") if number < 0 else say("the number is too large")
        raise AmountError(text, kind="a dose", reason=reason, right=right)
    return number, "stroke" if counted == "stroke" else "drop"


def show_amount(value: float, *, kind: str, unit: str | None = None, digits: int | None = None) -> str:
    """Return an amount for reading, in `unit` (the canonical one unless given), without rounding unless asked.

    `value` is in the kind's canonical unit; `digits` is the number of significant digits, None for as many as the value
    has. A fraction is shown in %. What is returned can be parsed again. Raises AmountError for an unknown unit.
    """
    known = kinds()[kind]
    unit = unit or {"fraction": "%"}.get(kind, known.unit)
    factor, offset = _factor_and_offset(unit, known)
    if not math.isfinite(value):
        raise AmountError(str(value), kind=kind, reason=say("it is no number to show"), right=_right(known))
    number = (value - offset) / factor
    if digits is not None:
        return f"{float(f'{number:.{digits}g}'):.15g} {unit}"  # rounded first: 1230 and not 1.23e+03
    # the shortest digits that are read back as the same value: 7 %, not 7.000000000000001 %
    written = (f"{number:.{count}g}" for count in range(1, 17))
    exact = (text for text in written if factor * float(text) + offset == value)
    return f"{next(exact, repr(number))} {unit}"


def factor_of(unit: str, *, kind: str) -> float:
    """Return what one of `unit` is in the kind's canonical unit. Raises AmountError for a unit it does not have.

    Not for temperatures, which have an offset besides: ValueError.
    """
    factor, _ = _factor_and_offset(unit, kinds()[kind])
    if kinds()[kind].offsets:
        raise ValueError(f"{kind} has no factor alone; use parse_amount")
    return factor


def _factor_and_offset(unit: str, kind: Kind) -> tuple[float, float]:
    found = kind.factor_and_offset(unit)
    if found is None:
        raise AmountError(
            unit,
            kind=kind.name,
            reason=say('"{unit}" is no unit of {name}', unit=unit, name=say(kind.name)),
            right=_right(kind),
        )
    return found


def _read(text: str, kind: Kind) -> float:
    right = _right(kind)
    number, unit = _split(text, kind=kind.name, right=right)
    if not unit and not kind.bare:
        raise AmountError(text, kind=kind.name, reason=say("the unit is missing"), right=right)
    found = kind.factor_and_offset(unit)
    if found is None:
        raise AmountError(
            text,
            kind=kind.name,
            reason=say('"{unit}" is no unit of {name}', unit=unit, name=say(kind.name)),
            right=right,
        )
    value = found[0] * number + found[1]
    if not math.isfinite(value):
        raise AmountError(text, kind=kind.name, reason=say("the number is too large"), right=right)
    if not kind.low <= value <= kind.high:
        below = value < kind.low
        limits = say("below {low:g}", low=kind.low) if below else say("above {high:g}", high=kind.high)
        limits = say("below zero") if below and kind.low == 0 else f"{limits} {kind.unit}".rstrip()
        if kind.name == "fraction" and value > 1:
            limits = say("above 100 %")
        raise AmountError(text, kind=kind.name, reason=say("it is {limits}", limits=limits), right=right)
    return value


def _right(kind: Kind) -> str:
    if kind.bare:
        return say("Write it like 40 % or 0.4.")
    return say("Write a number and one of: {units}.", units=", ".join(kind.shown))


def _split(text: str, *, kind: str, right: str) -> tuple[float, str]:
    """Split into a number and a unit's text."""
    cleaned = text.strip().replace("\u00a0", " ").replace("\u202f", " ").replace("−", "-")
    match = _AMOUNT.fullmatch(cleaned) if len(cleaned) <= LONGEST_AMOUNT else None
    if match is None:
        raise AmountError(text, kind=kind, reason=say("it does not begin with a number"), right=right)
    sign, digits, exponent, unit = match.groups()
    plain = plain_number(digits)
    if plain is None:
        readings = two_readings(digits)
        if readings is not None:
            small, large = (f"{sign}{number}{exponent or ''} {unit}".strip() for number in readings)
            reason = say(
                '"{digits}" may be {small} or {large}',
                digits=digits,
                small=readings[0],
                large=readings[1],
            )
            raise AmountError(
                text, kind=kind, reason=reason, right=say("Write {small} or {large}.", small=small, large=large)
            )
        right = say("Use a decimal point and no separators. {right}", right=right)
        raise AmountError(text, kind=kind, reason=say('"{digits}" is no number', digits=digits), right=right)
    return float(f"{sign}{plain}{exponent or ''}"), unit.strip()
