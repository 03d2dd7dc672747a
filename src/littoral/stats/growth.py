"""Relative growth rate: the slope of the logarithm of a size against days, with an offset at each trim."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from littoral.errors import LittoralError
from littoral.stats.estimate import Estimate
from littoral.stats.regression import FEWEST_POINTS, Structure, TooFewPointsError, fit
from littoral.stats.series import FloatArray, Series

ALL_STRUCTURES: tuple[Structure, ...] = ("white", "autocorrelated", "random walk")

SAME_TIME_DAYS = 0.5
"""A photo this near a trim may show the plant before it or after it."""


class NotPositiveError(LittoralError):
    """A size is zero or negative, so it has no logarithm; `day` says where."""

    def __init__(self, *, name: str, day: float, value: float) -> None:
        self.name, self.day, self.value = name, day, value
        super().__init__(f"{name}: {value:g} on day {day:g} has no logarithm; a growth rate needs sizes above 0")


@dataclass(frozen=True, slots=True, eq=False)
class Growth:
    """A relative growth rate per day with its doubt, how many values and trims it rests on, and over which days.

    `weight_of` is how far the data spoke for each error structure, shares adding to 1.
    """

    rate_per_day: Estimate
    values: int
    trims: int
    from_day: float
    to_day: float
    weight_of: dict[str, float]


def trim_offsets(day: FloatArray, log_size: FloatArray, trims: Sequence[float]) -> FloatArray:
    """Return one 0/1 column (n, k) per trim that lies between two of the days; days and trims in days.

    Whether a photo of the same half day shows the plant before or after its trim, the clock of a hand-written entry
    cannot say, so there the step goes where the size falls most. Trims with no value between them share one column.
    """
    columns: list[FloatArray] = []
    seen: set[int] = set()
    fall = np.diff(log_size)
    for trim in sorted(trims):
        after = int(np.searchsorted(day, trim, side="left"))
        # the step may lie in any gap with an end within half a day of the trim, or in the gap that holds it
        touched = [i for i in range(1, day.size) if min(abs(day[i - 1] - trim), abs(day[i] - trim)) <= SAME_TIME_DAYS]
        gaps = sorted({*touched, after} & set(range(1, day.size)))
        if not gaps or (after in (0, day.size) and not touched):
            continue
        first_after = min(gaps, key=lambda gap: fall[gap - 1])
        if first_after not in seen:
            seen.add(first_after)
            columns.append((np.arange(day.size) >= first_after).astype(float))
    return np.column_stack(columns) if columns else np.empty((day.size, 0))


def growth_rate(
    series: Series, trims: Sequence[float] = (), *, structures: Sequence[Structure] = ALL_STRUCTURES
) -> Growth:
    """Return the relative growth rate (1/day) of a series of sizes above 0 (any unit), with offsets at `trims` (days).

    The interval averages over white, autocorrelated and random-walk errors (`stats.regression`), because daily photos
    are not independent. Raises NotPositiveError, or TooFewPointsError below 4 values or where trims use them all up.
    """
    if np.any(~(series.value > 0)):
        at = int(np.flatnonzero(~(series.value > 0))[0])
        raise NotPositiveError(name=series.name, day=float(series.day[at]), value=float(series.value[at]))
    what = f"growth of {series.name}"
    if series.day.size < FEWEST_POINTS:
        raise TooFewPointsError(points=series.day.size, needed=FEWEST_POINTS, what=what)
    log_size = np.log(series.value)
    offsets = trim_offsets(series.day, log_size, trims)
    design = np.column_stack([np.ones(series.day.size), series.day - series.day.mean(), offsets])
    fitted = fit(series.day, log_size, design, structures=structures, what=what)
    slope = np.zeros(design.shape[1])
    slope[1] = 1.0
    return Growth(
        rate_per_day=fitted.contrast(slope),
        values=series.day.size,
        trims=offsets.shape[1],
        from_day=float(series.day[0]),
        to_day=float(series.day[-1]),
        weight_of=fitted.weight_of,
    )


def log_linear_rate(day: FloatArray, size: FloatArray) -> float:
    """Return the ordinary least-squares slope (1/day) of log size against days: a reference for tests, no interval."""
    centred = day - day.mean()
    return float(centred @ np.log(size) / (centred @ centred))
