"""The parts of a comparison that can be left out of it, and what is left without each."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from littoral.findings.compared import Compared
from littoral.findings.photo_remarks import in_pairs
from littoral.findings.tank_values import TankSeries, without_place
from littoral.stats.series import BoolArray, FloatArray, Series
from littoral.trial.model import Trial
from littoral.trial.periods import Period, pairs_of, periods_of

Arms = tuple[tuple[TankSeries, ...], ...]
Parts = dict[str, tuple[str, Arms]]
"""By the key of what is left out: its name, and what is left."""


def without_day(arms: Sequence[Sequence[TankSeries]], day: int) -> Arms:
    """Return the tanks without the values of one whole day."""
    return _kept(arms, lambda days: np.floor(days) != day)


def in_pairs_left(trial: Trial, arms: Sequence[Sequence[TankSeries]]) -> list[tuple[TankSeries, TankSeries]]:
    """Return the pairs of which both tanks are still there, first arm's first."""
    left = {tank.tank for arm in arms for tank in arm}
    return in_pairs(_with_pairs(trial, left), arms)


def _with_pairs(trial: Trial, left: set[str]) -> Trial:
    pairs = pairs_of(trial)
    whole = tuple(pair for pair in pairs if set(pair) <= left)
    return trial if len(whole) == len(pairs) else replace(trial, plan=replace(trial.plan, pairs=whole))


def _kept(arms: Sequence[Sequence[TankSeries]], keep: Callable[[FloatArray], BoolArray]) -> Arms:
    def of(series: Series) -> Series:
        at = keep(series.day)
        return Series(series.name, series.unit, series.kind, series.day[at], series.value[at])

    return tuple(tuple(replace(tank, series=of(tank.series)) for tank in arm) for arm in arms)


def places(compared: Compared) -> Parts:
    """Return what is left without each stand or region, where every tank has another one."""
    tanks = [tank for arm in compared.tanks for tank in arm]
    names = {member.place.region: member.place.name for tank in tanks for member in tank.used}
    measure = compared.question.measure
    found: Parts = {}
    for region, name in names.items():
        if all(any(member.place.region != region for member in tank.used) for tank in tanks):
            found[region] = (
                f"“{name}”",
                tuple(tuple(without_place(measure, tank, region) for tank in arm) for arm in compared.tanks),
            )
    return found


def tanks(trial: Trial, compared: Compared) -> Parts:
    """Return what is left without each tank, where arms have several that do not stand in pairs."""
    if in_pairs(trial, compared.tanks) or min(len(arm) for arm in compared.tanks) < 2:
        return {}
    return {
        tank.tank: (trial.tanks[tank.tank].name, _less(compared.tanks, {tank.tank}))
        for arm in compared.tanks
        for tank in arm
    }


def pairs(trial: Trial, compared: Compared) -> Parts:
    """Return what is left without each pair of tanks, where there are several."""
    found = in_pairs(trial, compared.tanks)
    return {
        f"{first.tank}/{second.tank}": (
            f"the pair {trial.tanks[first.tank].name} and {trial.tanks[second.tank].name}",
            _less(compared.tanks, {first.tank, second.tank}),
        )
        for first, second in (found if len(found) > 1 else ())
    }


def _less(arms: Arms, out: set[str]) -> Arms:
    return tuple(tuple(tank for tank in arm if tank.tank not in out) for arm in arms)


def periods(trial: Trial, compared: Compared) -> Parts:
    """Return what is left without each period of a crossover that has a photo after its washout."""
    if trial.plan.kind != "crossover":
        return {}

    def left(period: Period) -> Arms:
        return _kept(compared.tanks, lambda days: ~((days >= period.from_day) & (days < period.to_day)))

    seen = [day for arm in compared.tanks for tank in arm for day in tank.series.day]
    return {
        str(one.number): (f"period {one.number}", left(one))
        for one in periods_of(trial)
        if any(one.measured_from <= day < one.to_day for day in seen)
    }
