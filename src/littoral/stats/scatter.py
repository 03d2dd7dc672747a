"""How much a series wanders from one value to the next, whatever course it follows over the days."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from littoral.stats.series import Series

FEWEST = 6
"""Fewer values than this tell no scatter."""

FAR = 4.0
"""A value is not asked of neighbours that lie more than so many usual distances apart: common practice, no source."""

BESIDE = 5
"""So many values on each side say how much a series wanders there."""

CLIP = 3.0
"""Residuals count up to so many of the usual ones; normal errors seldom reach it."""

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


@dataclass(frozen=True, slots=True, eq=False)
class Scatter:
    """How far single values lie from the course of their neighbours, as standard deviations in the series' unit.

    `whole` is of the whole series, `near` (shape (n,)) of the values around each. Slow errors that neighbours share are
    in neither.
    """

    whole: float
    near: NDArray[np.float64]


def scatter(series: Series, breaks: Sequence[float] = ()) -> Scatter | None:
    """Return the scatter of a series, broken at days such as trims; None for fewer than `FEWEST` values to tell it by.

    A measure may wander more where it is large, so it is also told from each value and `BESIDE` on both sides, by the
    median of absolute residuals. Beyond `CLIP` of these residuals are cut, so that single outliers do not make the
    whole; and `near` is never below half of the whole, which few values tell badly.
    """
    residuals = np.abs(neighbour_residuals(series, breaks))
    finite = np.isfinite(residuals)
    if finite.sum() < FEWEST - 2:
        return None
    windows = [residuals[max(at - BESIDE, 0) : at + BESIDE + 1] for at in range(residuals.size)]
    known = [some[np.isfinite(some)] for some in windows]
    local: NDArray[np.float64] = np.array([ROBUST * float(np.median(some)) if some.size else 0.0 for some in known])
    usual = ROBUST * float(np.median(residuals[finite]))
    cut = np.minimum(residuals[finite], CLIP * np.maximum(local[finite], usual))
    whole = float(np.sqrt(np.mean(cut**2)))
    return Scatter(whole, np.asarray(np.maximum(local, whole / 2), dtype=np.float64))
