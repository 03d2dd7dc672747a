"""The line of one tank over days, broken where photos or readings are missing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Row = dict[str, float | None]
"""A row of a chart's data: "day" and "value", and "low" and "high" where there is a band."""


@dataclass(frozen=True, slots=True, eq=False)
class ArmLine:
    """Values of one tank over days, both shape (n,); `low` and `high` bound a band where there is one.

    `faint` draws a thin line without label, as for an upper bound; `whole` is a computed line that has no gaps. Other
    lines are broken at `breaks` (days), as at a trim, and where values are missing; `flagged`, shape (n,), tells the
    values of photos with something wrong.
    """

    arm: str
    tank: str
    day: NDArray[np.float64]
    value: NDArray[np.float64]
    low: NDArray[np.float64] | None = None
    high: NDArray[np.float64] | None = None
    faint: bool = False
    whole: bool = False
    breaks: Sequence[float] = ()
    flagged: NDArray[np.bool_] | None = None


def gap_days(day: NDArray[np.float64]) -> float:
    """Return the distance in days beyond which two photos or readings are no longer joined by a line."""
    return 1.9 * float(np.median(np.diff(day))) if day.size > 1 else 0.0


def with_gaps(line: ArmLine) -> list[Row]:
    """Return the line's rows, with an empty row in each gap and at each break so that it is drawn broken there."""
    limit = gap_days(line.day)
    rows: list[Row] = []
    for i in range(line.day.size):
        cut = any(line.day[i - 1] < at <= line.day[i] for at in line.breaks)
        if i and not line.whole and (cut or line.day[i] - line.day[i - 1] > limit):
            rows.append({"day": short((line.day[i] + line.day[i - 1]) / 2), "value": None, "low": None, "high": None})
        row: Row = {"day": short(line.day[i]), "value": short(line.value[i])}
        if line.low is not None and line.high is not None:
            row |= {"low": short(line.low[i]), "high": short(line.high[i])}
        rows.append(row)
    return rows


def alone(rows: Sequence[Row]) -> list[Row]:
    """Return the rows with an empty row (or nothing) on both sides: a line alone would not show them."""
    empty = [True, *(row["value"] is None for row in rows), True]
    return [row for i, row in enumerate(rows) if not empty[i + 1] and empty[i] and empty[i + 2]]


def short(number: float) -> float:
    """Round for the specification only, to six significant digits: what is drawn needs no more."""
    return float(f"{number:.6g}")
