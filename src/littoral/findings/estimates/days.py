"""The days at which a level is looked at."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from littoral.stats.series import FloatArray
from littoral.tank.events import TankEvent

STEPS_PER_DAY = 4
JUST_BEFORE = 2 / 1440
"""Days before an event at which the level before it is told: two minutes."""


def days_to_draw(events: Sequence[TankEvent], *, to_day: float) -> FloatArray:
    """Return the days at which a line is drawn so that no peak is missed: quarter days, both sides of events."""
    moments = np.array(sorted({event.day for event in events if event.day <= to_day}))
    day = np.concatenate([np.arange(0.0, to_day, 1 / STEPS_PER_DAY), moments, moments - JUST_BEFORE, [to_day]])
    return np.unique(day[(day >= 0) & (day <= to_day)])
