"""The calendar of a regime: which dose and which change falls on which day of a trial.

Days are whole and half-open: from `from_day`, up to and without `to_day`. Day 0 is the trial's start date.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from littoral.feeding.regimes import PlannedChange, PlannedDose, Regime, falls_on


def planned(
    regime: Regime, *, start: date, from_day: int, to_day: int
) -> Iterator[tuple[int, PlannedDose | PlannedChange]]:
    """Yield (day, dose or change) by ascending day; on one day changes come before doses, each in the regime's order.

    `start` is the date of day 0; days may be negative. Yields nothing where `to_day` is not after `from_day`. Raises
    OverflowError for days beyond the calendar of `datetime.date`.
    """
    acts: tuple[PlannedDose | PlannedChange, ...] = (*regime.changes, *regime.doses)
    for day in range(from_day, to_day):
        weekday = (start + timedelta(days=day)).weekday()
        for act in acts:
            if falls_on(act, day=day, weekday=weekday):
                yield day, act
