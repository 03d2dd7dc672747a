"""What leaving out each day would do, roughly but for all days at once: to choose those to do in full."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from littoral.findings.tank_values import GROWTH, TankSeries, day_by_day
from littoral.stats.compare import LEVEL_STRUCTURES, levels_model
from littoral.stats.estimate import Estimate
from littoral.stats.growth import ALL_STRUCTURES, growth_model
from littoral.stats.leave_out import models_without
from littoral.stats.regression import fit
from littoral.stats.series import Series

AS_REPLICATES = 3
"""From so many tanks or pairs on, the spread between them is the error."""


@dataclass(frozen=True, slots=True)
class Rough:
    """A number (the measure's unit) with its standard deviation."""

    value: float
    spread: float

    def minus(self, other: Rough) -> Rough:
        """Return the difference from an independent number."""
        return Rough(self.value - other.value, math.hypot(self.spread, other.spread))


@dataclass(frozen=True, slots=True)
class Both:
    """A number after the change, and its change from before it (None without a baseline)."""

    after: Rough
    change: Rough | None


@dataclass(frozen=True, slots=True)
class _Unit:
    """What one pair or one tank says with all days, and without each; None where it must be done in full."""

    whole: Both
    without: Mapping[int, Both | None]

    def on(self, day: int) -> Both | None:
        return self.without.get(day, self.whole)


def rough_differences(
    measure: str,
    pairs: Sequence[tuple[TankSeries, TankSeries]],
    arms: Sequence[Sequence[TankSeries]],
    *,
    change_day: float,
) -> tuple[Both, dict[int, Both | None]]:
    """Return second arm minus first with all days, and without each whole day.

    `pairs` are (first arm's tank, second arm's) where tanks stand in pairs; else `arms` are compared. Raises what
    `growth_model` and `levels_model` raise.
    """
    units, joined = _units(measure, pairs, arms, change_day=change_day, days=True)
    whole = _together([unit.whole for unit in units], joined)
    assert whole is not None
    days = sorted({day for unit in units for day in unit.without})
    return whole, {day: _together([unit.on(day) for unit in units], joined) for day in days}


def rough_whole(
    measure: str,
    pairs: Sequence[tuple[TankSeries, TankSeries]],
    arms: Sequence[Sequence[TankSeries]],
    *,
    change_day: float,
) -> Both:
    """Return second arm minus first with all days, for the arguments of `rough_differences`."""
    units, joined = _units(measure, pairs, arms, change_day=change_day, days=False)
    whole = _together([unit.whole for unit in units], joined)
    assert whole is not None
    return whole


def _units(
    measure: str,
    pairs: Sequence[tuple[TankSeries, TankSeries]],
    arms: Sequence[Sequence[TankSeries]],
    *,
    change_day: float,
    days: bool,
) -> tuple[list[_Unit], Callable[[Sequence[Rough]], Rough]]:
    """Return what is compared, pair by pair or tank by tank, and how it is joined into one difference."""
    if not pairs and len(arms[0]) == len(arms[1]) == 1:
        pairs = [(arms[0][0], arms[1][0])]
    if pairs:
        units = [_pair(measure, second, first, change_day=change_day, days=days) for first, second in pairs]
        return units, lambda several: _mean(several, between=len(several) >= AS_REPLICATES)
    first = len(arms[0])
    between = min(len(arm) for arm in arms) >= AS_REPLICATES

    def difference(several: Sequence[Rough]) -> Rough:
        return _mean(several[first:], between=between).minus(_mean(several[:first], between=between))

    tanks = (tank for arm in arms for tank in arm)
    return [_unit(measure, tank.series, tank.trims, change_day=change_day, days=days) for tank in tanks], difference


def _together(several: Sequence[Both | None], joined: Callable[[Sequence[Rough]], Rough]) -> Both | None:
    known = [one for one in several if one is not None]
    if len(known) < len(several):
        return None
    changes = [one.change for one in known if one.change is not None]
    return Both(joined([one.after for one in known]), joined(changes) if len(changes) == len(known) else None)


def _mean(several: Sequence[Rough], *, between: bool) -> Rough:
    values = np.array([one.value for one in several])
    if between:
        return Rough(float(values.mean()), float(values.std(ddof=1)) / math.sqrt(values.size))
    return Rough(float(values.mean()), math.hypot(*(one.spread for one in several)) / values.size)


def _pair(measure: str, second: TankSeries, first: TankSeries, *, change_day: float, days: bool) -> _Unit:
    both = day_by_day(measure, second, first, change_day=change_day)
    if both is not None:
        return _unit(measure, both, sorted({*second.trims, *first.trims}), change_day=change_day, days=days)
    of = [_unit(measure, tank.series, tank.trims, change_day=change_day, days=days) for tank in (second, first)]
    seen = {day for unit in of for day in unit.without}
    return _Unit(_less(of[0].whole, of[1].whole), {day: _less_or_none(*(unit.on(day) for unit in of)) for day in seen})


def _less_or_none(second: Both | None, first: Both | None) -> Both | None:
    return None if second is None or first is None else _less(second, first)


def _less(second: Both, first: Both) -> Both:
    change = None if second.change is None or first.change is None else second.change.minus(first.change)
    return Both(second.after.minus(first.after), change)


def _unit(measure: str, series: Series, trims: Sequence[float], *, change_day: float, days: bool) -> _Unit:
    if measure in GROWTH:
        model, structures = growth_model(series, trims, change_day=change_day or None), ALL_STRUCTURES
    else:
        model, structures = levels_model(series, change_day=change_day), LEVEL_STRUCTURES
    whole = fit(model.day, model.response, model.design, structures=structures, what=model.what)
    change = None if model.change is None else whole.contrast(model.change)
    labels = np.floor(model.day).astype(int)
    without = models_without(model, labels, structures=structures) if days else {}
    return _Unit(
        _both(whole.contrast(model.after), change),
        {day: None if one is None else _both(one.after, one.change) for day, one in without.items()},
    )


def _both(after: Estimate, change: Estimate | None) -> Both:
    return Both(_rough(after), None if change is None else _rough(change))


def _rough(estimate: Estimate) -> Rough:
    away = estimate.location - estimate.value
    return Rough(estimate.value, math.sqrt(float(estimate.weight @ (estimate.scale**2 + away**2))))
