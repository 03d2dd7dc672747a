"""How finely a photo's numbers are said: to the digit that their doubt supports, and never finer than photos are read.

A tank's glass is measured to the millimetre, and a pixel of a whole tank's photo is about half of one: no height is
said to less than 0.1 cm. Shares, colours and residuals go no further than one decimal either: common practice, no
source.
"""

from __future__ import annotations

import math

from littoral.findings.photo_measures import KNOWN, PhotoMeasure
from littoral.findings.showing import MINUS, decimals_for

SHORT_UNITS = {"% of the region": "%", "% of the plant": "%", "% of its outline": "%", "% of the first photos": "%"}
NO_DECIMALS = ("height_px",)
WRITTEN = 2
"""Decimals of a photo's values in files: one more than is said, so that sums do not gather the rounding."""


def digits_of(measure: PhotoMeasure, doubt: float) -> int:
    """Return how many decimals a doubt (a half-width in the measure's unit) leaves: its first digit, at most one."""
    if measure.field in NO_DECIMALS:
        return 0
    if measure not in KNOWN:
        return decimals_for(doubt)
    if not math.isfinite(doubt) or doubt <= 0:
        return 1
    return min(1, max(0, -math.floor(math.log10(doubt))))


def plain_number(value: float, digits: int, *, signed: bool = False) -> str:
    """Return a number with so many decimals, a true minus, and no sign before a zero."""
    rounded = round(value, digits) + 0.0
    text = f"{rounded:+.{digits}f}" if signed and rounded else f"{rounded:.{digits}f}"
    return text.replace("-", MINUS)


def half_number(half: float, digits: int) -> str:
    """Return a half-width or a spread with so many decimals; where that would be 0, that it is below the last digit."""
    return plain_number(half, digits) if round(half, digits) > 0 or half <= 0 else f"below {10**-digits:.{digits}f}"


def unit_of(measure: PhotoMeasure) -> str:
    """Return a measure's unit as it stands behind a number."""
    return SHORT_UNITS.get(measure.unit, measure.unit)


def value_said(
    measure: PhotoMeasure, value: float, half: float | None, *, doubt: float = 0.0, unit: bool = True
) -> str:
    """Return a photo's value (the measure's unit) with half of what it leaves open at 95 %: "9.8 ± 0.1 cm".

    `doubt` sets the digits where no half-width is known; a half below the last digit is said as one of that.
    """
    digits = digits_of(measure, half or doubt)
    text = plain_number(value, digits)
    if half is not None:
        text = f"{text} ± {max(half, 10**-digits):.{digits}f}"
    return f"{text} {unit_of(measure)}".rstrip() if unit else text


def written(value: float | None) -> float | None:
    """Return a number as it goes into a file; large ones with six digits."""
    if value is None:
        return None
    return round(value, WRITTEN) + 0.0 if abs(value) < 10_000 else float(f"{value:.6g}")
