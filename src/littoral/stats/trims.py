"""Trims in a series of sizes: on which side of one a photo lies, and the ones that nobody wrote down."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from littoral.stats.series import FloatArray, Series

LEAST_DROP = 0.15
"""Smallest fall in log size that is asked about (about 14 %): common practice, no source."""

NEAR_DAYS = 1.5
"""A recorded trim this near (days) explains a step: people write trims down the evening after."""

ONE_STEP = 0.75
"""Share of a fall that must lie between two neighbouring values for a trim: a die-back takes days. No source."""

REGROWTH_VALUES = (3, 7)
"""Least and most values after a fall on which regrowth is looked for: common practice, no source."""

SAME_TIME_DAYS = 0.5
"""A photo this near a trim (days) may show the plant before it or after it."""


@dataclass(frozen=True, slots=True)
class Step:
    """A step down between `before_day` and `after_day`; `left` is the share of the size that was left, 0 to 1."""

    before_day: float
    after_day: float
    left: float


def steps_down(series: Series, recorded: Sequence[float] = ()) -> tuple[Step, ...]:
    """Return the steps down in a series of sizes above 0 that look like a trim and that no recorded one (day) explains.

    The median of the three values after a gap is set against that of the three before it; a fall is one that exceeds
    five robust standard deviations of day-to-day changes and `LEAST_DROP`, and is the steepest near it. It is a step
    where `ONE_STEP` of it lies in the gap itself, no gap beside it falls too, and the plant grows again after it: what
    falls over several days, or does not come back, is dying. Fewer than six values give none.
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
        drop = float(np.median(log[max(0, i - 3) : i]) - np.median(log[i : i + 3]))
        near = slice(max(0, i - 3), i + 2)
        if drop < least or i < 2 or change[i - 1] > change[near].min() or -change[i - 1] < ONE_STEP * drop:
            continue
        beside = [change[j] for j in (i - 2, i) if 0 <= j < change.size]
        if min(beside) < -least / 2 or not _grows_again(day[i:], log[i:], least=least):
            continue
        if any(day[i - 1] - NEAR_DAYS <= trim <= day[i] + NEAR_DAYS for trim in recorded):
            continue
        found.append(Step(float(day[i - 1]), float(day[i]), float(np.exp(-drop))))
    return tuple(found)


def _grows_again(day: FloatArray, log: FloatArray, *, least: float) -> bool:
    """Return whether the line through the first values, up to the next fall of half of `least`, rises."""
    fewest, most = REGROWTH_VALUES
    falls = np.flatnonzero(np.diff(log) < -least / 2)
    until = min(most, day.size, int(falls[0]) + 1 if falls.size else day.size)
    if until < fewest:
        return False
    centred = day[:until] - day[:until].mean()
    return float(centred @ log[:until]) > 0


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
