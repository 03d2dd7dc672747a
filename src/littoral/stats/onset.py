"""When something that grows from nothing first stays above a threshold."""

from __future__ import annotations

from littoral.stats.series import Series

IN_A_ROW = 3


def onset_day(series: Series, *, threshold: float) -> float | None:
    """Return the first day from which 3 values in a row exceed `threshold` (the series' unit), or None: not yet.

    One value above is a stray; three in a row is common practice, no source.
    """
    above = series.value > threshold
    for i in range(series.day.size - IN_A_ROW + 1):
        if above[i : i + IN_A_ROW].all():
            return float(series.day[i])
    return None
