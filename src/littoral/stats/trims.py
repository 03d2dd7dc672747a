"""Trims in a series of sizes: on which side of one a photo lies, and the ones that nobody wrote down."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from littoral.stats.series import Series

LEAST_DROP = 0.15
"""Smallest fall in log size that is asked about (about 14 %): common practice, no source."""

NEAR_DAYS = 1.5
"""A recorded trim this near (days) explains a step: people write trims down the evening after."""

SAME_TIME_DAYS = 0.5
"""A photo this near a trim (days) may show the plant before it or after it."""


@dataclass(frozen=True, slots=True)
class Step:
    """A step down between `before_day` and `after_day`; `left` is the share of the size that was left, 0 to 1."""

    before_day: float
    after_day: float
    left: float


def steps_down(series: Series, recorded: Sequence[float] = ()) -> tuple[Step, ...]:
    """Return the steps down in a series of sizes above 0 that no recorded trim (day) explains, by day.

    The median of the three values after a gap is set against that of the three before it; a step is one that exceeds
    five robust standard deviations of day-to-day changes and `LEAST_DROP`, and is the steepest fall near it. Fewer
    than six values give none.
    """
    day, size = series.day, series.value
    usable = size > 0
    day, log = day[usable], np.log(size[usable])
    if day.size < 6:
        return ()
    change = np.diff(log)
    spread = 1.4826 * float(np.median(np.abs(change - np.median(change))))
    least = max(LEAST_DROP, 5 * spread)
    found: list[Step] = []
    for i in range(1, day.size):
        before, after = log[max(0, i - 3) : i], log[i : i + 3]
        drop = float(np.median(before) - np.median(after))
        near = slice(max(0, i - 3), i + 2)
        steepest = change[i - 1] == change[near].min()
        stays = min(before.size, after.size) >= 2
        if drop < least or not steepest or -change[i - 1] < least / 2 or not stays:
            continue
        if any(day[i - 1] - NEAR_DAYS <= trim <= day[i] + NEAR_DAYS for trim in recorded):
            continue
        found.append(Step(float(day[i - 1]), float(day[i]), float(np.exp(-drop))))
    return tuple(found)


def placed(series: Series, recorded: Sequence[float]) -> tuple[float, ...]:
    """Return each recorded trim's day moved into the gap between two values where the size fell.

    The clock of a hand-written entry cannot say whether a photo of the same half day shows the plant before or after
    its trim, so among the gaps within half a day the one with the steepest fall is taken. Trims before the first or
    after the last value are left out.
    """
    day, size = series.day, series.value
    moved: set[float] = set()
    for trim in recorded:
        holding = int(np.searchsorted(day, trim, side="left"))
        near = [i for i in range(1, day.size) if min(abs(day[i - 1] - trim), abs(day[i] - trim)) <= SAME_TIME_DAYS]
        gaps = sorted({*near, holding} & set(range(1, day.size)))
        if gaps:
            steepest = min(gaps, key=lambda i: size[i] / size[i - 1])
            moved.add(float((day[steepest - 1] + day[steepest]) / 2))
    return tuple(sorted(moved))
