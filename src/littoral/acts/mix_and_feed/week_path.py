"""The way of a level through a settled week, as the points of a line."""

from __future__ import annotations

import math

from littoral.tank.steady_state import SteadyState

LONGEST_DAYS = 28
"""A pattern that repeats more slowly is drawn for so long; more days than that are no line to read."""


def path_of(settled: SteadyState, nutrient: str, *, uptake_per_day: float) -> tuple[tuple[float, float], ...]:
    """Return (day from 0, mg/L) along one period of a settled pattern; () where the level grows for ever.

    Each day has its level before the change, after it, after the doses, and half a day later, since uptake bends the
    line; the last point is the end of the period, which is its beginning again. KeyError for an unknown nutrient.
    """
    if nutrient not in settled.nutrients:
        raise KeyError(nutrient)
    i = settled.nutrients.index(nutrient)
    if not math.isfinite(settled.peak[i]):
        return ()
    half = math.exp(-uptake_per_day / 2.0)
    points: list[tuple[float, float]] = []
    days = min(settled.days, LONGEST_DAYS)
    for day in range(days):
        dosed = float(settled.after_doses[i, day])
        steps = (float(settled.before[i, day]), float(settled.after_change[i, day]), dosed)
        points += [(float(day), level) for level in dict.fromkeys(steps)]
        points.append((day + 0.5, dosed * half))
    points.append((float(days), dosed * half * half))
    return tuple(points)
