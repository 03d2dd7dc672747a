"""What is done to a tank, as the mass balance takes it, and which of it happens in the same minute."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from littoral.errors import LittoralError

FloatArray = NDArray[np.float64]

MINUTES_PER_DAY = 1440.0


class BalanceError(LittoralError):
    """A mass balance cannot be computed: `what` is wrong, `right` is what would do."""

    def __init__(self, *, what: str, right: str) -> None:
        self.what = what
        self.right = right
        super().__init__(f"mass balance: {what}. {right}")


@dataclass(frozen=True, slots=True, eq=False)
class TankEvent:
    """Something done to a tank at `day` (days since day 0), to the minute.

    `adds_mg` is the mass dosed of each nutrient, shape (n_nutrients,), or None; `share_changed` the share (0 to 1) of
    the net volume replaced; `topped_up_l` litres added.
    """

    day: float
    adds_mg: FloatArray | None = None
    share_changed: float = 0.0
    topped_up_l: float = 0.0


def minute_of(day: float) -> int:
    """Return the minute (count since day 0) that an event's day falls in; a millionth of a minute is forgiven."""
    return math.floor(day * MINUTES_PER_DAY + 1e-6)


def by_minute(events: Iterable[TankEvent], *, start_day: float, nutrients: int) -> list[TankEvent]:
    """Return one event for each minute that has any, ascending, at the day of its earliest.

    Doses and top-ups add up; changes follow each other, so what they leave of the old water multiplies.
    Raises BalanceError: an event before the start, a share outside 0 to 1, a negative or non-finite amount.
    """
    merged: dict[int, TankEvent] = {}
    for event in events:
        _check_event(event, start_day=start_day, nutrients=nutrients)
        other = merged.get(minute_of(event.day))
        merged[minute_of(event.day)] = event if other is None else _together(event, other)
    return [merged[minute] for minute in sorted(merged)]


def _together(one: TankEvent, other: TankEvent) -> TankEvent:
    doses = [event.adds_mg for event in (one, other) if event.adds_mg is not None]
    return TankEvent(
        day=min(one.day, other.day),
        adds_mg=sum(doses[1:], start=doses[0]) if doses else None,
        share_changed=one.share_changed + other.share_changed - one.share_changed * other.share_changed,
        topped_up_l=one.topped_up_l + other.topped_up_l,
    )


def _check_event(event: TankEvent, *, start_day: float, nutrients: int) -> None:
    if not math.isfinite(event.day) or event.day < start_day:
        right = f"The tank begins at day {start_day:g}."
        raise BalanceError(what=f"an event at day {event.day:g}, before the start", right=right)
    if not 0 <= event.share_changed <= 1:
        what = f"day {event.day:g}: a change of {event.share_changed:g} of the water"
        raise BalanceError(what=what, right="Give a share from 0 to 1.")
    if not (math.isfinite(event.topped_up_l) and event.topped_up_l >= 0):
        what = f"day {event.day:g}: a top-up of {event.topped_up_l:g} L"
        raise BalanceError(what=what, right="Give litres of zero or more.")
    if event.adds_mg is not None:
        if event.adds_mg.shape != (nutrients,):
            what = f"day {event.day:g}: a dose of shape {event.adds_mg.shape} for {nutrients} nutrients"
            raise BalanceError(what=what, right="Give one mass for each nutrient.")
        if not (np.isfinite(event.adds_mg).all() and (event.adds_mg >= 0).all()):
            raise BalanceError(what=f"day {event.day:g}: a negative dose", right="Give masses of zero or more.")
