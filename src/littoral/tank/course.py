"""What happens to one nutrient in one tank that depends on no draw: events by minute, litres, and plants' biomass.

Prepared once, a course serves any number of kinetics. Events of a minute count as `tank.balance` says at its head.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from littoral.tank.balance import TopUpWater
from littoral.tank.events import BalanceError, FloatArray, TankEvent, by_minute


@dataclass(frozen=True, slots=True, eq=False)
class Biomass:
    """Plants' biomass, no unit (1 where the kinetics hold): linear between `day` (n,), constant beyond its ends.

    `grown` and `moment` (n,) are the integrals, from the first day to each, of biomass and of biomass times days.
    """

    day: FloatArray
    value: FloatArray
    grown: FloatArray
    moment: FloatArray

    def integrals(self, at: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the integrals of biomass (days) and of biomass times days since `day[0]` (days²) up to `at`."""
        last = np.clip(np.searchsorted(self.day, at, side="right") - 1, 0, len(self.day) - 1)
        along, value = at - self.day[last], self.value[last]
        inside = (at >= self.day[0]) & (last < len(self.day) - 1)
        following = np.minimum(last + 1, len(self.day) - 1)
        width = np.where(inside, self.day[following] - self.day[last], 1.0)
        slope = np.where(inside, (self.value[following] - value) / width, 0.0)
        grown = along * (value + slope * along / 2)
        moment = (self.day[last] - self.day[0]) * grown + along**2 * (value / 2 + slope * along / 3)
        return self.grown[last] + grown, self.moment[last] + moment


@dataclass(frozen=True, slots=True, eq=False)
class Exchanged:
    """What a minute's change and top-ups do, before its dose: the mass then, what came with water, what went; mg."""

    mass_mg: FloatArray
    from_source_mg: FloatArray
    removed_mg: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """A tank's events for one nutrient, shapes (m,): the start, then each minute with events.

    `share` of the net volume changed, `dose_mg`, `topped_up_l`, `refill_l` (the top-up that goes before a change),
    litres `before_l` and `after_l`. `top_up_is_source` says what the tank is topped up with.
    """

    day: FloatArray
    share: FloatArray
    dose_mg: FloatArray
    topped_up_l: FloatArray
    refill_l: FloatArray
    before_l: FloatArray
    after_l: FloatArray
    net_volume_l: float
    evaporation_l_per_day: float
    top_up_is_source: bool
    biomass: Biomass | None

    def biomass_at(self, day: float) -> float:
        """Return the biomass on a day, no unit."""
        return 1.0 if self.biomass is None else float(np.interp(day, self.biomass.day, self.biomass.value))

    def biomass_range(self, from_day: float, to_day: float) -> tuple[float, float]:
        """Return the least and the most biomass between two days, no unit."""
        if self.biomass is None:
            return 1.0, 1.0
        inside = (self.biomass.day > from_day) & (self.biomass.day < to_day)
        values = [*self.biomass.value[inside], self.biomass_at(from_day), self.biomass_at(to_day)]
        return float(min(values)), float(max(values))

    def biomass_days(self, from_day: float, to: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return biomass times days from a day to each of `to`, and days to its middle (half the biomass-days' weight).

        Both in days and of the shape of `to`; the middle is where water that falls linearly has its weighted mean.
        """
        if self.biomass is None:
            return to - from_day, (to - from_day) / 2
        ends, moments = self.biomass.integrals(np.append(to, from_day))
        grown = np.maximum(ends[:-1] - ends[-1], 0.0)
        weighted = moments[:-1] - moments[-1] - (from_day - self.biomass.day[0]) * grown
        span = to - from_day
        safe = np.where(grown > 0, grown, 1.0)
        middle = np.where(grown > 0, np.clip(weighted / safe, 0.0, span), span / 2)
        return grown, middle

    def exchange(self, segment: int, mass_mg: FloatArray, source_mg_per_l: FloatArray) -> Exchanged:
        """Return what change and top-ups of event number `segment` make of a mass just before it; shapes (draws,)."""
        share, refill_l = self.share[segment], self.refill_l[segment]
        top_up = source_mg_per_l if self.top_up_is_source else np.zeros_like(source_mg_per_l)
        brought = top_up * (refill_l + self.topped_up_l[segment]) + source_mg_per_l * (share * self.net_volume_l)
        removed = (mass_mg + top_up * refill_l) * share
        return Exchanged(mass_mg + brought - removed, brought, removed)

    def litres(self, segment: int, days: FloatArray) -> FloatArray:
        """Return litres at days after event number `segment`, before the next. Raises BalanceError when it is dry."""
        litres: FloatArray = self.after_l[segment] - self.evaporation_l_per_day * (days - self.day[segment])
        if not (litres > 0).all():
            raise _dry(float(days[litres <= 0].min()))
        return litres


def prepare(
    events: Iterable[TankEvent],
    *,
    net_volume_l: float,
    evaporation_l_per_day: float = 0.0,
    topped_up_with: TopUpWater = "pure water",
    start_day: float = 0.0,
    nutrient: int = 0,
    nutrients: int = 1,
    biomass_day: ArrayLike | None = None,
    biomass: ArrayLike | None = None,
) -> Course:
    """Prepare one nutrient's course over events in any order; the tank starts full at `start_day`.

    `nutrient` is its row of the `nutrients` in each event's `adds_mg`. `biomass` (n,), 1 where the kinetics hold, is
    measured on `biomass_day` (n,), ascending; none of it means 1 throughout. A dose missed is left out, a doubled one
    is there twice. Raises BalanceError as `tank.balance.solve`, or for days and biomass that do not fit.
    """
    if not (math.isfinite(net_volume_l) and net_volume_l > 0):
        raise BalanceError(what=f"a net volume of {net_volume_l:g} L", right="Give litres above zero.")
    if not (math.isfinite(evaporation_l_per_day) and evaporation_l_per_day >= 0):
        what = f"evaporation of {evaporation_l_per_day:g} L/day"
        raise BalanceError(what=what, right="Give litres per day of zero or more.")
    minutes = by_minute(events, start_day=start_day, nutrients=nutrients)
    day = np.array([start_day, *(event.day for event in minutes)])
    before, after, refill = np.full((3, len(day)), net_volume_l)
    refill[0] = 0.0
    for i, event in enumerate(minutes, start=1):
        before[i] = after[i - 1] - evaporation_l_per_day * (day[i] - day[i - 1])
        if before[i] <= 0:
            raise _dry(event.day)
        refill[i] = net_volume_l - before[i] if event.share_changed > 0 else 0.0
        after[i] = min(net_volume_l, before[i] + refill[i] + event.topped_up_l)
    return Course(
        day=day,
        share=np.array([0.0, *(event.share_changed for event in minutes)]),
        dose_mg=np.array([0.0, *(0.0 if one.adds_mg is None else one.adds_mg[nutrient] for one in minutes)]),
        topped_up_l=np.array([0.0, *(event.topped_up_l for event in minutes)]),
        refill_l=refill,
        before_l=before,
        after_l=after,
        net_volume_l=net_volume_l,
        evaporation_l_per_day=evaporation_l_per_day,
        top_up_is_source=topped_up_with == "source water",
        biomass=_biomass(biomass_day, biomass),
    )


def _biomass(days: ArrayLike | None, values: ArrayLike | None) -> Biomass | None:
    if days is None and values is None:
        return None
    day = np.asarray([] if days is None else days, dtype=np.float64)
    value = np.asarray([] if values is None else values, dtype=np.float64)
    fits = day.ndim == 1 and day.shape == value.shape and day.size > 0
    if not fits or not (np.isfinite(day).all() and np.isfinite(value).all() and (value >= 0).all()):
        what = f"biomass of shape {value.shape} on days of shape {day.shape}, or below zero, or no number"
        raise BalanceError(what=what, right="Give one biomass of zero or more for each day.")
    if not (np.diff(day) > 0).all():
        raise BalanceError(what="the days of the biomass do not ascend", right="Give each day once, in order.")
    width, slope = np.diff(day), np.diff(value) / np.diff(day)
    grown = np.append(0.0, np.cumsum(width * (value[:-1] + value[1:]) / 2))
    parts = (day[:-1] - day[0]) * np.diff(grown) + width**2 * (value[:-1] / 2 + slope * width / 3)
    return Biomass(day, value, grown, np.append(0.0, np.cumsum(parts)))


def _dry(day: float) -> BalanceError:
    return BalanceError(
        what=f"by day {day:.4g} evaporation would have emptied the tank",
        right="Note the top-ups, or state a smaller evaporation.",
    )
