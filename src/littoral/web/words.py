"""How the page writes numbers, days and dates."""

from __future__ import annotations

import math
from datetime import date

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
MINUS = "−"


def long_date(day: date) -> str:
    """Return a date as people say it: "Thursday 19 March 2026" (English, whatever the machine's locale)."""
    return f"{WEEKDAYS[day.weekday()]} {day.day} {MONTHS[day.month - 1]} {day.year}"


def number(value: float | None, *, like: float | None = None, digits: int = 2, signed: bool = False) -> str:
    """Return a number to `digits` significant digits, with a true minus sign and no exponent; "–" for None.

    `like` sets how many decimals: an effect and the ends of its interval are all written with the decimals that the
    half-width deserves.
    """
    if value is None or not math.isfinite(value):
        return "–"
    scale = abs(like if like is not None else value)
    decimals = digits - 1 - math.floor(math.log10(scale)) if scale > 0 else digits - 1
    text = f"{abs(value):.{min(max(decimals, 0), 8)}f}"
    zero = float(text) == 0
    sign = MINUS if value < 0 and not zero else "+" if signed and not zero else ""
    return sign + text


def whole_days(days: float) -> str:
    """Return a length in days in words: "1 day", "14 days", "8 weeks"."""
    if days >= 21 and days % 7 == 0:
        return f"{days / 7:.0f} weeks"
    return "1 day" if days == 1 else f"{days:g} days"
