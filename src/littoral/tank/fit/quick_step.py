"""Saturating uptake with an inflow over one stretch: as `tank.saturating`, several times faster, not exact.

Where a level falls (most often) it is the same closed form. Where inflow lifts it, the level creeps towards a balance
and steps of at most a day suffice, each the exact solution with the relative uptake V/(K + C) of its own middle.
Against the exact one over draws of the nitrate prior: error under 0.01 mg/L in 99 of 100 stretches, and under 5 % in
999 of 1,000 (tests/tank/fit/test_quick_step.py); a colour step is 5 mg/L wide.
"""

from __future__ import annotations

import numpy as np
from scipy.special import wrightomega

from littoral.tank.events import FloatArray

LONGEST_RISING_DAYS = 1.0
_LEAST = 1e-12


def quick_step(
    level: FloatArray, *, uptake_per_day: FloatArray, half_level: FloatArray, inflow_per_day: FloatArray, days: float
) -> FloatArray:
    """Return the level after some days, mg/L, (draws,), as all arrays are; uptake and half level above zero."""
    net = uptake_per_day - inflow_per_day
    rising = inflow_per_day * half_level > net * level
    if rising.all():
        return _creeping(level, uptake_per_day, half_level, inflow_per_day, days)
    net = np.maximum(net, _LEAST)
    rest = np.where(rising, 0.0, inflow_per_day * half_level / net)
    half = half_level + rest
    ratio = np.where(rising, 1.0, np.maximum((level - rest) / half, _LEAST))
    fallen: FloatArray = rest + half * wrightomega(np.log(ratio) + ratio - net * days / half)
    if not rising.any():
        return fallen
    return np.where(rising, _creeping(level, uptake_per_day, half_level, inflow_per_day, days), fallen)


def _creeping(level: FloatArray, uptake: FloatArray, half: FloatArray, inflow: FloatArray, days: float) -> FloatArray:
    pieces = max(1, int(np.ceil(days / LONGEST_RISING_DAYS)))
    length = days / pieces
    for _ in range(pieces):
        middle = level
        for _ in range(2):  # the middle of the piece, looked for twice
            rate = uptake / (half + middle)
            left = np.exp(rate * (-length / 2))
            middle = level * left + inflow / rate * (1.0 - left)
        rate = uptake / (half + middle)
        left = np.exp(rate * -length)
        level = level * left + inflow / rate * (1.0 - left)
    return level
