"""What a table is: cells ready to read."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Table:
    """A table: the first column is text; `units` has one (or "") for each column; `numbers` says to align right."""

    title: str
    columns: tuple[str, ...]
    units: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""
    numbers: bool = True


def figure(value: float, *, digits: int = 3) -> str:
    """Return a number to `digits` significant digits without an exponent: "0.0123", "4.50", "1230"."""
    if not math.isfinite(value):
        return "–"
    if value == 0:
        return "0"
    decimals = digits - 1 - math.floor(math.log10(abs(value)))
    return f"{round(value, decimals):.{max(decimals, 0)}f}"
