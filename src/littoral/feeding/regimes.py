"""Regimes: repeating weekly patterns of doses and water changes."""

from __future__ import annotations

from dataclasses import dataclass

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


@dataclass(frozen=True, slots=True)
class PlannedDose:
    """A dose of one bottle (mL) or dry salt (g) on some weekdays, 0 is Monday; `written` keeps the person's unit."""

    of: str
    weekdays: tuple[int, ...]
    ml: float | None = None
    g: float | None = None
    written: str = ""


@dataclass(frozen=True, slots=True)
class PlannedChange:
    """A water change of `share` (0 to 1) of the net volume on some weekdays; it comes before that day's doses."""

    share: float
    weekdays: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Regime:
    """One regime, per week."""

    key: str
    name: str
    doses: tuple[PlannedDose, ...]
    changes: tuple[PlannedChange, ...] = ()
