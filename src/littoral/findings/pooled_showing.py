"""Printing what was pooled: differences in the measure's own unit, ratios (held as logarithms) in percent."""

from __future__ import annotations

import math
from typing import Literal

from littoral.findings.model import Interval
from littoral.findings.showing import GROWTH, MINUS, decimals_for, percent, unit_of

Scale = Literal["difference", "ratio"]


def as_seen(measure: str, scale: Scale, value: float) -> float:
    """Return a pooled value as it is shown: percent of change of a log ratio, percent of a growth rate, else as is."""
    if scale == "ratio":
        return 100 * math.expm1(value)
    return 100 * value if measure in GROWTH else value


def unit_text(measure: str, scale: Scale, currency: str, *, difference: bool) -> str:
    """Return the unit of what is shown; of a `difference` between growth rates it says percentage points."""
    if scale == "ratio":
        return "%"
    if measure in GROWTH:
        return "percentage points per day" if difference else "% per day"
    return unit_of(measure, currency)


def number_text(measure: str, scale: Scale, value: float, *, of: Interval, signed: bool) -> str:
    """Return a value as text without its unit, with the digits that half the interval `of` leaves."""
    low, high, seen = (as_seen(measure, scale, one) for one in (of.low, of.high, value))
    digits = decimals_for((high - low) / 2)
    rounded = round(seen, digits) + 0.0  # no minus before a zero
    return (f"{rounded:+.{digits}f}" if signed and rounded else f"{rounded:.{digits}f}").replace("-", MINUS)


def range_text(measure: str, scale: Scale, one: Interval) -> str:
    """Return a value and its ends without unit: "+29 (+20 to +38)"."""
    number, low, high = (
        number_text(measure, scale, value, of=one, signed=True) for value in (one.value, one.low, one.high)
    )
    return f"{number} ({low} to {high})"


def interval_text(measure: str, scale: Scale, one: Interval, *, level: float, currency: str = "") -> str:
    """Return a difference or ratio with its unit and its interval at `level` (0 to 1)."""
    number, low, high = (
        number_text(measure, scale, value, of=one, signed=True) for value in (one.value, one.low, one.high)
    )
    unit = unit_text(measure, scale, currency, difference=True)
    return f"{number} {unit} ({percent(level)} interval {low} to {high})"
