"""Numbers that are not certain: low, likely and high, reckoned with by interval arithmetic.

Every low end is combined with every low end, so a range holds all that could be, and is wider than a 95 % interval of
independent parts. Only numbers of zero or more occur, so sums and products are exact at both ends, also where one
number enters twice, unless it divides in one place and multiplies in another: then the range is too wide, never too
narrow.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from littoral.errors import LittoralError


class RangeError(LittoralError):
    """A range cannot be: `what` is wrong, `right` would do."""

    def __init__(self, *, what: str, right: str) -> None:
        self.what = what
        self.right = right
        super().__init__(f"range: {what}. {right}")


@dataclass(frozen=True, slots=True)
class Range:
    """A number of zero or more, of any unit, with the ends it may have."""

    low: float
    likely: float
    high: float

    def __post_init__(self) -> None:
        """Raise RangeError for ends that are negative, no number, or out of order."""
        if not (0 <= self.low <= self.likely <= self.high and not math.isnan(self.high)):
            what = f"{self.low:g} to {self.high:g}, likely {self.likely:g}"
            raise RangeError(what=what, right="Give zero or more, in the order low, likely, high.")

    def __add__(self, other: Range) -> Range:
        return Range(self.low + other.low, self.likely + other.likely, self.high + other.high)

    def __mul__(self, other: Range) -> Range:
        return Range(self.low * other.low, self.likely * other.likely, self.high * other.high)

    def __truediv__(self, other: Range) -> Range:
        if other.low <= 0:
            raise RangeError(what="division by a range that touches zero", right="Give a divisor above zero.")
        return Range(self.low / other.high, self.likely / other.likely, self.high / other.low)

    @property
    def certain(self) -> bool:
        """Whether low and high are the same."""
        return self.low == self.high

    def shown(self, digits: int = 2) -> str:
        """Return the range for reading: "1.20", or "1.20 (0.90 to 1.60)"."""
        likely = f"{self.likely:.{digits}f}"
        return likely if self.certain else f"{likely} ({self.low:.{digits}f} to {self.high:.{digits}f})"


def exactly(value: float) -> Range:
    """Return a certain number as a range. Raises RangeError for a negative one."""
    return Range(value, value, value)


def give_or_take(value: float, share: float) -> Range:
    """Return a number (any unit) give or take a share (0 to 1) of it. Raises RangeError."""
    if not 0 <= share <= 1:
        raise RangeError(what=f"give or take {share:g}", right="Give a share from 0 to 1.")
    return Range(value * (1 - share), value, value * (1 + share))


def as_range(value: float | Range) -> Range:
    """Return a range as it is, and a plain number as certain. Raises RangeError."""
    return value if isinstance(value, Range) else exactly(value)


def total(parts: list[Range]) -> Range:
    """Return the sum of ranges; zero for none."""
    return Range(*(math.fsum(getattr(part, end) for part in parts) for end in ("low", "likely", "high")))
