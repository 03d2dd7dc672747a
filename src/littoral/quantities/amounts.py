"""Amounts with units: reading what a person types, printing what a person reads.

Inside, Littoral uses plain floats in the canonical unit of each kind (see `units.kinds`); only here do units exist.
"""

from __future__ import annotations

import math
import re
from typing import Literal

from littoral.errors import LittoralError
from littoral.quantities.units import Kind, kinds

Counted = Literal["mL", "g", "stroke", "drop"]

LONGEST_AMOUNT = 60  # characters
_AMOUNT = re.compile(
    r"([+-]?)([0-9][0-9.,]*|[.,][0-9]+)(e[+-]?[0-9]{1,3})?\s*(.*)", re.ASCII | re.DOTALL | re.IGNORECASE
)
_COUNTED = {"stroke": "stroke", "strokes": "stroke", "drop": "drop", "drops": "drop"}


class AmountError(LittoralError):
    """A text is not an amount of the kind asked for; `reason` says why, `right` what would do."""

    def __init__(self, text: str, *, kind: str, reason: str, right: str) -> None:
        self.text = text
        self.kind = kind
        self.reason = reason
        self.right = right
        super().__init__(f'"{text[:LONGEST_AMOUNT]}" is not clear as {kind}: {reason}. {right}')


def parse_amount(text: str, *, kind: str) -> float:
    """Return the amount that a person wrote, in the kind's canonical unit.

    Kinds and canonical units: volume L, dose volume mL, mass g, length cm, duration days, concentration mg/L,
    fraction 0..1, density kg/L, rate 1/day (a first-order rate: "9 % per day" is 0.09), flow L/day, temperature °C,
    hardness mmol/L, alkalinity meq/L. A decimal comma is read where it can mean nothing else ("1,5 ml"); "1,500 ml" is
    refused. "per" and "/" are the same; case does not matter. Only a fraction may lack its unit.

    Raises AmountError (unclear number, unknown or missing unit, out of the kind's range), KeyError for no such kind.
    """
    return _read(text, kinds()[kind])[0]


def parse_counted(text: str) -> tuple[float, Counted]:
    """Return a dose as a person measures it: a number, and "mL", "g", "stroke" or "drop".

    Volumes and masses in other units are turned into mL and g. Raises AmountError.
    """
    right = "Write it like 5 mL, 0.5 g, 2 strokes or 8 drops."
    _, unit = _split(text, kind="a dose", right=right)
    for kind in ("dose volume", "mass"):
        if _find(unit, kinds()[kind]) is not None:
            return _read(text, kinds()[kind])[0], "mL" if kind == "dose volume" else "g"
    counted = _COUNTED.get(unit.casefold())
    if counted is None:
        reason = f'"{unit}" is no unit of a dose' if unit else "the unit is missing"
        raise AmountError(text, kind="a dose", reason=reason, right=right)
    number, _ = _split(text, kind="a dose", right=right)
    if number < 0:
        raise AmountError(text, kind="a dose", reason="it is below zero", right=right)
    return number, "stroke" if counted == "stroke" else "drop"


def show_amount(value: float, *, kind: str, unit: str | None = None, digits: int | None = None) -> str:
    """Return an amount for reading, in `unit` (the canonical one unless given), without rounding unless asked.

    `value` is in the kind's canonical unit; `digits` is the number of significant digits, None for as many as the value
    has. A fraction is shown in %. What is returned can be parsed again. Raises AmountError for an unknown unit.
    """
    known = kinds()[kind]
    unit = unit or {"fraction": "%", "rate": "1/day"}.get(kind, known.unit)
    factor = _find(unit, known)
    if factor is None or not math.isfinite(value):
        reason = f'"{unit}" is no unit of {kind}' if factor is None else f"{value} is no number to show"
        raise AmountError(unit, kind=kind, reason=reason, right=_right(known))
    number = _from_canonical(value, factor)
    written = repr(number) if digits is None else f"{number:.{digits}g}"
    written = written.removesuffix(".0")
    return f"{written} {unit}"


def _read(text: str, kind: Kind) -> tuple[float, str]:
    right = _right(kind)
    number, unit = _split(text, kind=kind.name, right=right)
    if not unit and not kind.bare:
        raise AmountError(text, kind=kind.name, reason="the unit is missing", right=right)
    factor = _find(unit, kind)
    if factor is None:
        raise AmountError(text, kind=kind.name, reason=f'"{unit}" is no unit of {kind.name}', right=right)
    value = _to_canonical(number, factor)
    if not math.isfinite(value):
        raise AmountError(text, kind=kind.name, reason="the number is too large", right=right)
    if not kind.low <= value <= kind.high:
        limits = f"below {kind.low:g}" if value < kind.low else f"above {kind.high:g}"
        limits = "below zero" if limits == "below 0" else f"{limits} {kind.unit}".rstrip()
        if kind.name == "fraction" and value > 1:
            limits = "above 100 %"
        raise AmountError(text, kind=kind.name, reason=f"it is {limits}", right=right)
    return value, unit


def _right(kind: Kind) -> str:
    if kind.bare:
        return "Write it like 40 % or 0.4."
    return f"Write a number and one of: {', '.join(kind.shown)}."


def _split(text: str, *, kind: str, right: str) -> tuple[float, str]:
    """Split into a number and a unit's text."""
    cleaned = text.strip().replace("\u00a0", " ").replace("\u202f", " ").replace("−", "-")
    match = _AMOUNT.fullmatch(cleaned) if len(cleaned) <= LONGEST_AMOUNT else None
    if match is None:
        raise AmountError(text, kind=kind, reason="it does not begin with a number", right=right)
    sign, digits, exponent, unit = match.groups()
    plain = _plain_number(digits)
    if plain is None:
        reason = f'"{digits}" may be read in two ways' if _AMBIGUOUS.fullmatch(digits) else f'"{digits}" is no number'
        raise AmountError(text, kind=kind, reason=reason, right=f"Use a decimal point and no separators. {right}")
    return float(f"{sign}{plain}{exponent or ''}"), unit.strip()


_POINT = re.compile(r"[0-9]+\.?[0-9]*|\.[0-9]+", re.ASCII)
_AMBIGUOUS = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}", re.ASCII)  # 1,500: one and a half, or fifteen hundred?
_COMMA = re.compile(r"[0-9]*,[0-9]+", re.ASCII)
_GROUPED_COMMA = re.compile(r"[1-9][0-9]{0,2}((,[0-9]{3}){2,}|(,[0-9]{3})+\.[0-9]+)", re.ASCII)
_GROUPED_POINT = re.compile(r"[1-9][0-9]{0,2}((\.[0-9]{3}){2,}|(\.[0-9]{3})+,[0-9]+)", re.ASCII)


def _plain_number(digits: str) -> str | None:
    """Return digits with a decimal point and no separators of thousands; None where that is not certain."""
    if _POINT.fullmatch(digits):
        return digits
    if _AMBIGUOUS.fullmatch(digits):
        return None
    if _COMMA.fullmatch(digits):
        return digits.replace(",", ".")
    if _GROUPED_COMMA.fullmatch(digits):
        return digits.replace(",", "")
    if _GROUPED_POINT.fullmatch(digits):
        return digits.replace(".", "").replace(",", ".")
    return None


Factor = tuple[float, float]  # canonical = factor * written + offset


def _find(unit: str, kind: Kind) -> Factor | None:
    if kind.name == "temperature":
        return _TEMPERATURES.get(unit.casefold().lstrip("°").strip())
    if not unit:
        return (1.0, 0.0) if kind.bare else None
    spelled = re.sub(r"\s*/\s*|\s+per\s+", "/", f" {unit}", flags=re.IGNORECASE).strip()
    spelled = f"1{spelled}" if spelled.startswith("/") else spelled
    factor = kind.factors.get(spelled)
    if factor is None:
        factor = {name.casefold(): value for name, value in kind.factors.items()}.get(spelled.casefold())
    return None if factor is None else (factor, 0.0)


_TEMPERATURES: dict[str, Factor] = {"c": (1.0, 0.0), "f": (5 / 9, -160 / 9), "k": (1.0, -273.15)}


def _to_canonical(number: float, factor: Factor) -> float:
    return factor[0] * number + factor[1]


def _from_canonical(value: float, factor: Factor) -> float:
    return (value - factor[1]) / factor[0]
