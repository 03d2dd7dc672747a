"""Single values that stand out from a series and are gone with the next: what a plant cannot do, and a photo can."""

from __future__ import annotations

import numpy as np

from littoral.stats.series import Series

BESIDE = 2
"""Values on each side whose median says what the size was there: common practice, no source."""

LEAST_SPIKE = 0.25
"""Smallest departure in log size (about 28 %) that is called a spike: common practice, no source."""

BACK = 0.5
"""Both sides must agree to within this share of the departure: after a trim they do not. Common practice, no source."""


def spikes(series: Series) -> tuple[int, ...]:
    """Return the places of values of a series of sizes above 0 that both sides contradict.

    A spike lies above, or below, its neighbours, and the medians of the two values before and of the two after it, by
    more than five robust standard deviations of changes between neighbours, and by more than `LEAST_SPIKE` and two
    usual changes; and these medians differ from each other by no more than `BACK` of that. A trim is no spike, for the
    size stays down after it; nor are the first two and the last two values, for which one side is not known. Fewer than
    six values give none.
    """
    if series.day.size < 6 or np.any(~(series.value > 0)):
        return ()
    log = np.log(series.value)
    change = np.diff(log)
    usual = float(np.median(change))
    spread = 1.4826 * float(np.median(np.abs(change - usual)))
    # a plant that grows fast has regrown much of a light trim by the next values: two of its steps are no departure
    least = max(LEAST_SPIKE + 2 * abs(usual), 5 * spread)
    found: list[int] = []
    for i in range(BESIDE, log.size - BESIDE):
        before, after = float(np.median(log[i - BESIDE : i])), float(np.median(log[i + 1 : i + 1 + BESIDE]))
        beside = (before, after, float(log[i - 1]), float(log[i + 1]))
        above, below = log[i] - max(beside), min(beside) - log[i]
        departure = max(above, below)
        if departure > least and abs(after - before) <= BACK * departure:
            found.append(i)
    return tuple(found)
