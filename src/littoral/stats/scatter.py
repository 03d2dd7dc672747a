"""How much a series wanders from one value to the next, whatever course it follows over the days."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from littoral.stats.series import Series

FEWEST = 6
"""Fewer values than this tell no scatter."""

FAR = 4.0
"""A value is not asked of neighbours that lie more than so many usual distances apart: common practice, no source."""

BESIDE = 5
"""So many values on each side say how much a series wanders there."""

ROBUST = 1.4826
"""A normal spread over the median of its absolute values."""


def neighbour_residuals(series: Series, breaks: Sequence[float] = ()) -> NDArray[np.float64]:
    """Return each value's distance from the line between its neighbours, scaled to the series' own error; shape (n,).

    For independent errors of one spread s every residual has spread s, however the days lie, and a straight course
    leaves none: Gasser, Sroka & Jennen-Steinmetz 1986, Biometrika 73:625-633, from memory. It is NaN at both ends,
    across a break (days, such as trims) and across a gap. In the series' unit.
    """
    day, value = series.day, series.value
    found = np.full(day.shape, np.nan)
    if day.size < 3:
        return found
    span = day[2:] - day[:-2]
    with np.errstate(invalid="ignore", divide="ignore"):
        before = np.where(span > 0, (day[2:] - day[1:-1]) / span, 0.5)
    after = 1 - before
    residual = value[1:-1] - before * value[:-2] - after * value[2:]
    found[1:-1] = residual / np.sqrt(1 + before**2 + after**2)
    found[1:-1][span > FAR * float(np.median(span))] = np.nan
    for at in breaks:
        found[1:-1][(day[:-2] < at) & (at <= day[2:])] = np.nan
    return found


def local_scatter(series: Series, breaks: Sequence[float] = ()) -> NDArray[np.float64] | None:
    """Return each value's standard deviation around its neighbours' course, shape (n,), or None for too few.

    From the residuals of the value and `BESIDE` on each side, for a measure may wander more where it is large; by the
    median of their absolute values, against single outliers; never below half of what the whole series shows, which
    few values tell badly. In the series' unit. Slow errors that neighbours share are not in it.
    """
    residuals = np.abs(neighbour_residuals(series, breaks))
    if np.isfinite(residuals).sum() < FEWEST - 2:
        return None
    near = [residuals[max(at - BESIDE, 0) : at + BESIDE + 1] for at in range(residuals.size)]
    known = [some[np.isfinite(some)] for some in near]
    local = np.array([ROBUST * float(np.median(some)) if some.size else 0.0 for some in known])
    return np.maximum(local, float(np.sqrt(np.mean(local**2))) / 2)


def scatter(series: Series, breaks: Sequence[float] = ()) -> float | None:
    """Return the root mean square of `local_scatter` over the series, in its unit; None for too few values."""
    local = local_scatter(series, breaks)
    return None if local is None else float(np.sqrt(np.mean(local**2)))
