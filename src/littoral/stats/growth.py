"""Relative growth rate: the slope of the logarithm of a size against days, with an offset at each trim."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from littoral.errors import LittoralError
from littoral.stats.estimate import Estimate
from littoral.stats.line_model import LineModel, Part
from littoral.stats.regression import FEWEST_POINTS, Structure, TooFewPointsError, fit
from littoral.stats.series import FloatArray, Series

ALL_STRUCTURES: tuple[Structure, ...] = ("white", "autocorrelated", "random walk")


class NotPositiveError(LittoralError):
    """A size is zero or negative, so it has no logarithm; `day` says where."""

    def __init__(self, *, name: str, day: float, value: float) -> None:
        self.name, self.day, self.value = name, day, value
        super().__init__(f"{name}: {value:g} on day {day:g} has no logarithm; a growth rate needs sizes above 0")


@dataclass(frozen=True, slots=True, eq=False)
class Growth:
    """Relative growth rates per day with their doubt, how many values and trims they rest on, and over which days.

    `rate_per_day` holds from the change day on, `before_per_day` before it (None without enough values), `change` is
    the first minus the second. `weight_of` is how far the data spoke for each error structure, adding to 1.
    """

    rate_per_day: Estimate
    before_per_day: Estimate | None
    change: Estimate | None
    values: int
    values_before: int
    trims: int
    from_day: float
    to_day: float
    weight_of: dict[str, float]


def trim_offsets(day: FloatArray, trims: Sequence[float]) -> FloatArray:
    """Return one 0/1 column (n, k) per trim that lies between two of the days; days and trims in days.

    Trims with no value between them share one column, for they cannot be told apart. A value at the very moment of a
    trim counts as after it; `stats.trims.placed` settles on which side a photo of the same day belongs.
    """
    first_after = sorted({int(np.searchsorted(day, trim, side="left")) for trim in trims} & set(range(1, day.size)))
    columns = [(np.arange(day.size) >= first).astype(float) for first in first_after]
    return np.column_stack(columns) if columns else np.empty((day.size, 0))


def growth_rate(
    series: Series,
    trims: Sequence[float] = (),
    *,
    change_day: float | None = None,
    structures: Sequence[Structure] = ALL_STRUCTURES,
) -> Growth:
    """Return the relative growth rate (1/day) of a series of sizes above 0 (any unit), with offsets at `trims` (days).

    With a `change_day`, the line may bend there, and there is a rate before and one after it; where fewer than 4 values
    lie before it they are left out. Sizes may be ratios of two tanks' sizes: the rate is then the difference of theirs.
    The interval averages over white, autocorrelated and random-walk errors (`stats.regression`), because daily photos
    are not independent. Raises NotPositiveError, or TooFewPointsError below 4 values (from the change day on) or where
    trims use them all up.
    """
    model = growth_model(series, trims, change_day=change_day)
    fitted = fit(model.day, model.response, model.design, structures=structures, what=model.what)
    after = model.parts[-1].values
    return Growth(
        rate_per_day=fitted.contrast(model.after),
        before_per_day=None if model.before is None else fitted.contrast(model.before),
        change=None if model.change is None else fitted.contrast(model.change),
        values=int(after.sum()),
        values_before=int((~after).sum()),
        trims=model.design.shape[1] - (3 if model.before is not None else 2),
        from_day=float(model.day[after][0]),
        to_day=float(model.day[-1]),
        weight_of=fitted.weight_of,
    )


def growth_model(series: Series, trims: Sequence[float] = (), *, change_day: float | None = None) -> LineModel:
    """Return the model that `growth_rate` fits to the logarithm of sizes, for the same arguments and errors."""
    what = f"growth of {series.name}"
    after = np.ones(series.day.size, dtype=bool) if change_day is None else series.day >= change_day
    with_before = int((~after).sum()) >= FEWEST_POINTS
    if int(after.sum()) < FEWEST_POINTS:
        raise TooFewPointsError(points=int(after.sum()), needed=FEWEST_POINTS, what=what)
    used = np.ones(series.day.size, dtype=bool) if with_before else after
    day, size, after = series.day[used], series.value[used], after[used]
    if np.any(~(size > 0)):
        at = int(np.flatnonzero(~(size > 0))[0])
        raise NotPositiveError(name=series.name, day=float(day[at]), value=float(size[at]))
    bend = float(change_day) if with_before and change_day is not None else float(day.mean())
    slopes = [np.minimum(day - bend, 0.0), np.maximum(day - bend, 0.0)] if with_before else [day - bend]
    design = np.column_stack([np.ones(day.size), *slopes, trim_offsets(day, trims)])
    unit = np.eye(design.shape[1])
    sides = (~after, after) if with_before else (after,)
    return LineModel(
        day=day,
        response=np.log(size),
        design=design,
        after=unit[len(slopes)],
        before=unit[1] if with_before else None,
        change=unit[2] - unit[1] if with_before else None,
        parts=tuple(Part(side, 0, None, FEWEST_POINTS) for side in sides),
        what=what,
    )
