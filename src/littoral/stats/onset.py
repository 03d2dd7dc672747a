"""When something that grows from nothing first stays at a threshold or above it."""

from __future__ import annotations

import numpy as np

from littoral.stats.series import Series

IN_A_ROW = 3


def onset_day(series: Series, *, threshold: float) -> float | None:
    """Return the first day from which 3 values in a row are at least `threshold` (the series' unit), or None: not yet.

    One value above is a stray; three in a row is common practice, no source.
    """
    above = series.value >= threshold
    for i in range(series.day.size - IN_A_ROW + 1):
        if above[i : i + IN_A_ROW].all():
            return float(series.day[i])
    return None


def free_until(series: Series, *, threshold: float) -> float | None:
    """Return the last day up to which a series without onset is known to be free of it; None without values.

    Where the last one or two values are at the threshold, it may have begun with the first of them: that is the day.
    """
    if not series.day.size:
        return None
    below = np.flatnonzero(~(series.value >= threshold))
    last = int(below[-1]) if below.size else -1
    return float(series.day[min(last + 1, series.day.size - 1)])
