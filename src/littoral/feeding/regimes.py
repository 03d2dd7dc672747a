"""Regimes: repeating patterns of doses and water changes, by weekday or every n days."""

from __future__ import annotations

import math
from dataclasses import dataclass

from littoral.errors import LittoralError

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
LONGEST_PERIOD_DAYS = 366
"""No pattern repeats more slowly, and no two patterns of one regime may need longer to meet again."""


class RegimeError(LittoralError):
    """A regime cannot be: `what` is wrong, `right` would do."""

    def __init__(self, *, what: str, right: str) -> None:
        self.what = what
        self.right = right
        super().__init__(f"regime: {what}. {right}")


@dataclass(frozen=True, slots=True)
class EveryDays:
    """Every `days` days, counted from day 0 of the trial through month and year ends; the first on day `offset`.

    2 is every other day. Unlike weekdays it drifts through the week unless `days` is a multiple of 7.
    """

    days: int
    offset: int = 0

    def __post_init__(self) -> None:
        """Raise RegimeError for a period outside 1 to 366 days, or an offset that is not within one period."""
        if not 1 <= self.days <= LONGEST_PERIOD_DAYS:
            raise RegimeError(what=f"every {self.days} days", right=f"Give 1 to {LONGEST_PERIOD_DAYS} days.")
        if not 0 <= self.offset < self.days:
            what = f"every {self.days} days, first on day {self.offset}"
            raise RegimeError(what=what, right=f"Give a first day from 0 to {self.days - 1}.")


@dataclass(frozen=True, slots=True)
class PlannedDose:
    """A dose of one bottle (mL) or dry salt (g) on some weekdays, 0 is Monday; `written` keeps the person's unit.

    With `every` the dose comes every so many days instead, and `weekdays` is empty.
    """

    of: str
    weekdays: tuple[int, ...]
    ml: float | None = None
    g: float | None = None
    written: str = ""
    every: EveryDays | None = None

    def __post_init__(self) -> None:
        """Raise RegimeError where the pattern cannot be."""
        _check_pattern(self)


@dataclass(frozen=True, slots=True)
class PlannedChange:
    """A water change of `share` (0 to 1) of the net volume on some weekdays; it comes before that day's doses.

    With `every` it comes every so many days instead, and `weekdays` is empty.
    """

    share: float
    weekdays: tuple[int, ...]
    every: EveryDays | None = None

    def __post_init__(self) -> None:
        """Raise RegimeError where the pattern cannot be."""
        _check_pattern(self)


@dataclass(frozen=True, slots=True)
class Regime:
    """One regime: what is dosed and changed, repeating."""

    key: str
    name: str
    doses: tuple[PlannedDose, ...]
    changes: tuple[PlannedChange, ...] = ()


def falls_on(act: PlannedDose | PlannedChange, *, day: int, weekday: int) -> bool:
    """Return whether a dose or change falls on `day` (days since day 0), which is `weekday` (0 is Monday)."""
    if act.every is not None:
        return (day - act.every.offset) % act.every.days == 0
    return weekday in act.weekdays


def times_per_week(act: PlannedDose | PlannedChange) -> float:
    """Return how often a dose or change comes, per week: a whole number for weekdays, 3.5 for every other day."""
    return 7.0 / act.every.days if act.every is not None else float(len(set(act.weekdays)))


def period_days(regime: Regime) -> int:
    """Return after how many days a regime repeats itself: 7 for weekdays, 14 for weekdays and every other day.

    Raises RegimeError where its patterns meet again only after more than 366 days.
    """
    acts: tuple[PlannedDose | PlannedChange, ...] = (*regime.changes, *regime.doses)
    weekly = {7} if any(act.every is None for act in acts) or not acts else set()
    days = math.lcm(*weekly, *(act.every.days for act in acts if act.every is not None))
    if days > LONGEST_PERIOD_DAYS:
        what = f'"{regime.name}" repeats only after {days} days'
        raise RegimeError(what=what, right="Use periods that fit into one another, such as 2, 7 and 14 days.")
    return days


def when_words(act: PlannedDose | PlannedChange) -> str:
    """Return when a dose or change comes, in words: "Sun, Wed", "daily", "every other day", "every 3 days from day 1".

    The forms read these words back as the same pattern.
    """
    if act.every is not None:
        if act.every.offset:
            return f"every {act.every.days} days from day {act.every.offset}"
        known = {1: "daily", 2: "every other day", 7: "every week", 14: "every other week"}
        return known.get(act.every.days, f"every {act.every.days} days")
    if len(set(act.weekdays)) == 7:
        return "daily"
    return ", ".join(WEEKDAYS[day] for day in dict.fromkeys(act.weekdays)) or "never"


def _check_pattern(act: PlannedDose | PlannedChange) -> None:
    wrong = next((day for day in act.weekdays if day not in range(7)), None)
    if wrong is not None:
        raise RegimeError(what=f"weekday {wrong}", right="Weekdays are 0 (Monday) to 6 (Sunday).")
    if act.every is not None and act.weekdays:
        raise RegimeError(what="both weekdays and every so many days", right="Give one of the two.")
