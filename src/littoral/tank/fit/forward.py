"""Levels of one nutrient in one tank for many draws: the exact balance, with doubts of its own in every draw.

As `tank.balance` and `tank.fit.quick_step`; here doses and changes also carry a draw's own error, and uptake wanders.
In a stretch between events uptake, release and litres are constant, at their values in its middle.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from littoral.tank.events import FloatArray
from littoral.tank.fit.kept_tank import Stretches
from littoral.tank.fit.quick_step import quick_step

LEAST_BIOMASS = 1e-9
"""A tank without plants takes up next to nothing; the closed form divides by uptake."""


@dataclass(frozen=True, slots=True, eq=False)
class TankDraws:
    """What a tank is like in each draw, shape (draws,), mg/L of the net volume and days.

    `dose_factor`: what was really dosed over what was noted. `change_power`: a change leaves (1 - share) to this
    power. `log_drift` (draws, n_stretches): natural logarithm of uptake in each stretch over uptake at the start.
    """

    v_mg_per_l_per_day: FloatArray
    k_mg_per_l: FloatArray
    release_mg_per_l_per_day: FloatArray
    fade_days: FloatArray
    source_mg_per_l: FloatArray
    start_mg_per_l: FloatArray
    dose_factor: FloatArray
    change_power: FloatArray
    log_drift: FloatArray


def release_at(draws: TankDraws, days_since_start: float) -> FloatArray:
    """Return what comes back into the water, mg/L per day, shape (draws,)."""
    released: FloatArray = draws.release_mg_per_l_per_day * np.exp(-days_since_start / draws.fade_days)
    return released


def levels_of(stretches: Stretches, draws: TankDraws) -> FloatArray:
    """Return levels in mg/L on the days the stretches were cut for, (draws, n_days); at an event: just after it."""
    course = stretches.course
    net_l = course.net_volume_l
    mass = np.array(draws.start_mg_per_l, dtype=np.float64)  # mg per litre of net volume
    level_after = np.empty((len(stretches.days) + 1, len(mass)))
    level_after[-1] = mass * net_l / course.after_l[0]  # row -1: the start
    top_up = draws.source_mg_per_l if course.top_up_is_source else np.zeros(1)
    uptake = (draws.v_mg_per_l_per_day[:, None] * np.exp(draws.log_drift)).T.copy()
    for i, days in enumerate(stretches.days):
        mass = quick_step(
            mass,
            uptake_per_day=uptake[i] * max(stretches.biomass_days[i] / days, LEAST_BIOMASS),
            half_level=draws.k_mg_per_l * (stretches.middle_l[i] / net_l),
            inflow_per_day=release_at(draws, float(stretches.middle[i] - course.day[0])),
            days=days,
        )
        event = stretches.event[i]
        litres = course.after_l[event] if event >= 0 else _litres_at(stretches, i)
        if event >= 0:
            share = course.share[event]
            changed = np.full(1, share) if share in (0.0, 1.0) else 1.0 - (1.0 - share) ** draws.change_power
            refilled = mass + top_up * (course.refill_l[event] / net_l)
            mass = refilled * (1.0 - changed) + draws.source_mg_per_l * changed
            mass = mass + top_up * (course.topped_up_l[event] / net_l)
            mass = mass + draws.dose_factor * (course.dose_mg[event] / net_l)
        level_after[i] = mass * (net_l / litres)
    levels: FloatArray = level_after[list(stretches.asked_row)].T
    return levels


def _litres_at(stretches: Stretches, row: int) -> float:
    """Return the litres at the end of a stretch that no event ends."""
    half_way = stretches.course.evaporation_l_per_day * stretches.days[row] / 2
    return float(stretches.middle_l[row] - half_way)
