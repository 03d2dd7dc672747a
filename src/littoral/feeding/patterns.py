"""Ways to lay a week's amount over its days: evenly, more after the water change, macro and micro apart."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

from littoral.feeding.regimes import EveryDays, PlannedDose, RegimeError

DoseUnit = Literal["mL", "g"]


def weekday_number(name: str) -> int:
    """Return 0 (Monday) to 6 of a weekday's name or its first three letters, in any case. Raises RegimeError."""
    full = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
    asked = name.strip().casefold()
    for number, weekday in enumerate(full):
        if asked in (weekday, weekday[:3]):
            return number
    raise RegimeError(what=f'unknown weekday "{name[:20]}"', right="Write Mon, Tue, Wed, Thu, Fri, Sat or Sun.")


def spread_evenly(of: str, *, per_week: float, unit: DoseUnit, weekdays: Sequence[int]) -> tuple[PlannedDose, ...]:
    """Return one week's amount (mL or g) in equal doses on some weekdays (0 is Monday). Raises RegimeError."""
    days = _days(weekdays)
    _check_amount(per_week, unit)
    return (_dose(of, days, per_week / len(days), unit),)


def every_other_day(of: str, *, per_week: float, unit: DoseUnit, first_on_day: int = 0) -> tuple[PlannedDose, ...]:
    """Return one week's amount (mL or g) as doses every other day, 3.5 a week on the average.

    `first_on_day` is 0 or 1, days since day 0 of the trial. Raises RegimeError.
    """
    _check_amount(per_week, unit)
    return (_dose(of, (), per_week / 3.5, unit, EveryDays(2, first_on_day)),)


def front_loaded(
    of: str, *, per_week: float, unit: DoseUnit, change_weekday: int, share_after_change: float, weekdays: Sequence[int]
) -> tuple[PlannedDose, ...]:
    """Return one week's amount with `share_after_change` (0 to 1) of it right after the water change.

    The rest is given in equal doses on `weekdays` (0 is Monday) without the change's own day. Where the share is 1,
    those days get nothing. Raises RegimeError for a share outside 0 to 1, or no other day left for the rest.
    """
    _check_amount(per_week, unit)
    if not 0 <= share_after_change <= 1:
        what = f"{share_after_change:g} of the week's dose after the change"
        raise RegimeError(what=what, right="Give a share from 0 to 1.")
    change_day = _days([change_weekday])
    others = tuple(day for day in dict.fromkeys(weekdays) if day != change_weekday)
    first = per_week * share_after_change
    rest = per_week - first
    doses = [_dose(of, change_day, first, unit)] if first > 0 else []
    if rest > 0:
        doses.append(_dose(of, _days(others), rest / len(_days(others)), unit))
    return tuple(doses)


def macro_and_micro_days(
    *, change_weekday: int, rest_before_change: bool = True
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Return weekdays for macro and for micro bottles, in turn from the water change on; 0 is Monday.

    Macro on the day of the change and every second day after it, micro on the days between, so that phosphate and
    metals never meet in one dose; the day before the next change is free (or a macro day, if no rest is wanted).
    Common practice, no source. Raises RegimeError for a weekday that is none.
    """
    (first,) = _days([change_weekday])
    macro = tuple((first + step) % 7 for step in ((0, 2, 4) if rest_before_change else (0, 2, 4, 6)))
    return macro, tuple((first + step) % 7 for step in (1, 3, 5))


def _dose(
    of: str, weekdays: tuple[int, ...], amount: float, unit: DoseUnit, every: EveryDays | None = None
) -> PlannedDose:
    ml, g = (amount, None) if unit == "mL" else (None, amount)
    return PlannedDose(of, weekdays, ml=ml, g=g, written=f"{amount:.4g} {unit}", every=every)


def _days(weekdays: Sequence[int]) -> tuple[int, ...]:
    days = tuple(dict.fromkeys(weekdays))
    if not days:
        raise RegimeError(what="no day to dose on", right="Name at least one weekday.")
    wrong = next((day for day in days if day not in range(7)), None)
    if wrong is not None:
        raise RegimeError(what=f"weekday {wrong}", right="Weekdays are 0 (Monday) to 6 (Sunday).")
    return days


def _check_amount(per_week: float, unit: DoseUnit) -> None:
    if not (math.isfinite(per_week) and per_week > 0):
        raise RegimeError(what=f"{per_week:g} {unit} a week", right="Give an amount above zero.")
