"""Comparing two tanks, or several per arm: what differs, by how much, and whether it changed.

Days of one series and plants of one tank are not replicates (Hurlbert 1984, Ecol Monogr 54:187-211): nothing here
divides by their number as if they were. Only `tanks_per_arm` does, and it counts tanks.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from littoral.stats.estimate import Estimate
from littoral.stats.line_model import LineModel, Part
from littoral.stats.regression import FEWEST_POINTS, Structure, TooFewPointsError, fit
from littoral.stats.series import FloatArray, Series

LEVEL_STRUCTURES: tuple[Structure, ...] = ("white", "autocorrelated")
"""A mean level exists only where the series comes back to it, so no random walk here."""

FEWEST_FOR_TREND = 6


@dataclass(frozen=True, slots=True, eq=False)
class Levels:
    """Mean before the change (None without a baseline), mean after it, and their difference, all in one unit."""

    before: Estimate | None
    after: Estimate
    change: Estimate | None
    values_before: int
    values_after: int


def mean_levels(
    series: Series, *, change_day: float = 0.0, structures: Sequence[Structure] = LEVEL_STRUCTURES
) -> Levels:
    """Return the mean of a series from `change_day` on, and before it where at least 4 values lie there.

    Each part has a mean and, from 6 values on, a straight trend about its middle, so that a steady rise is not taken
    for autocorrelation; both share one error structure. Raises TooFewPointsError below 4 values after the change.
    """
    model = levels_model(series, change_day=change_day)
    fitted = fit(model.day, model.response, model.design, structures=structures, what=model.what)
    later = series.day >= change_day
    return Levels(
        before=None if model.before is None else fitted.contrast(model.before),
        after=fitted.contrast(model.after),
        change=None if model.change is None else fitted.contrast(model.change),
        values_before=0 if model.before is None else int((~later).sum()),
        values_after=int(later.sum()),
    )


def levels_model(series: Series, *, change_day: float = 0.0) -> LineModel:
    """Return the model that `mean_levels` fits, for the same arguments and errors."""
    day = series.day
    later = day >= change_day
    with_before = int((~later).sum()) >= FEWEST_POINTS
    used = np.ones(day.size, dtype=bool) if with_before else later
    if int(later.sum()) < FEWEST_POINTS:
        raise TooFewPointsError(points=int(later.sum()), needed=FEWEST_POINTS, what=f"mean of {series.name}")
    day, value, later = day[used], series.value[used], later[used]
    columns: list[FloatArray] = []
    parts: list[Part] = []
    for side in (~later, later) if with_before else (later,):
        mean, trend, fewest = len(columns), None, FEWEST_POINTS
        columns.append(side.astype(float))
        if int(side.sum()) >= FEWEST_FOR_TREND and np.ptp(day[side]) > 0:
            trend, fewest = len(columns), FEWEST_FOR_TREND
            columns.append(np.where(side, day - day[side].mean(), 0.0))
        parts.append(Part(side, mean, trend, fewest))
    unit = np.eye(len(columns))
    before, after = unit[parts[0].mean], unit[parts[-1].mean]
    return LineModel(
        day=day,
        response=value,
        design=np.column_stack(columns),
        after=after,
        before=before if with_before else None,
        change=after - before if with_before else None,
        parts=tuple(parts),
        what=f"mean of {series.name}",
    )


def paired(
    second: Series, first: Series, *, how: Literal["difference", "ratio"] = "difference", within_days: float = 0.5
) -> Series:
    """Return second minus first (or second over first) on days that both have: nearest to each other, at most so far.

    What both share, such as a lamp's or a season's drift, cancels in it. Without pairs the series is empty.
    """
    pairs = nearest_pairs(second.day, first.day, within_days=within_days)
    of_second = np.array([i for i, _ in pairs], dtype=int)
    of_first = np.array([j for _, j in pairs], dtype=int)
    left, right = second.value[of_second], first.value[of_first]
    return Series(
        name=f"{second.name} {'minus' if how == 'difference' else 'over'} {first.name}",
        unit=second.unit if how == "difference" else "1",
        kind=second.kind,
        day=(second.day[of_second] + first.day[of_first]) / 2,
        value=left - right if how == "difference" else left / right,
        error=_paired_error(second, first, of_second, of_first, how),
    )


def _paired_error(
    second: Series, first: Series, of_second: NDArray[np.int_], of_first: NDArray[np.int_], how: str
) -> FloatArray | None:
    """Return the standard errors of pairs, of independent values; None unless both series state theirs."""
    if second.error is None or first.error is None:
        return None
    left, right = second.error[of_second], first.error[of_first]
    if how == "difference":
        return np.hypot(left, right)
    a, b = second.value[of_second], first.value[of_first]
    return np.asarray(np.abs(a / b) * np.hypot(left / a, right / b), dtype=np.float64)


def nearest_pairs(second: FloatArray, first: FloatArray, *, within_days: float = 0.5) -> list[tuple[int, int]]:
    """Return the places (second, first) of days, shapes (n,), (m,), that are each other's nearest and near enough."""
    if not first.size or not second.size:
        return []
    apart = np.abs(second[:, None] - first[None, :])
    to_first, to_second = apart.argmin(axis=1), apart.argmin(axis=0)
    return [(i, int(j)) for i, j in enumerate(to_first) if to_second[j] == i and apart[i, j] <= within_days]


def mean_over(series: Mapping[str, Series], *, name: str, logs: bool = False, by_day: bool = False) -> Series:
    """Return the mean of several series of one tank on the days that all of them have, as one series.

    With `logs` it is the geometric mean (values above 0), whose growth rate is the mean of theirs. One series comes
    out for one tank however many stands are in it, and what their errors share stays in it. Series taken at the same
    moments are matched by moment; with `by_day`, for series taken at different times of the day such as two views',
    each series' values of one whole day are averaged first, and the moment is the mean of theirs.
    """
    members = [_daily(one, logs=logs) if by_day else one for one in series.values()]
    keys = [np.floor(member.day) if by_day else member.day for member in members]
    shared = keys[0]
    for key in keys[1:]:
        shared = np.intersect1d(shared, key)
    index = [np.searchsorted(key, shared) for key in keys]
    day = np.array([member.day[at] for member, at in zip(members, index, strict=True)]).mean(axis=0)
    value = np.array([member.value[at] for member, at in zip(members, index, strict=True)])
    mean = np.exp(np.log(value).mean(axis=0)) if logs else value.mean(axis=0)
    error = None
    stated = [member.error for member in members if member.error is not None]
    if len(stated) == len(members):  # the camera moves all stands of a photo together, so no number of them lowers it
        shares = np.array([one[at] for one, at in zip(stated, index, strict=True)])
        error = mean * (shares / value).mean(axis=0) if logs else shares.mean(axis=0)
    return Series(name=name, unit=members[0].unit, kind=members[0].kind, day=day, value=mean, error=error)


def _daily(series: Series, *, logs: bool) -> Series:
    """Return a series with one value for each whole day: the mean (geometric with `logs`) of that day's."""
    _, first = np.unique(np.floor(series.day), return_index=True)
    counts = np.diff([*first, series.day.size])
    if not first.size:
        return series
    value = np.add.reduceat(np.log(series.value) if logs else series.value, first) / counts
    day = np.add.reduceat(series.day, first) / counts
    error = None if series.error is None else np.sqrt(np.add.reduceat(series.error**2, first)) / counts
    return Series(series.name, series.unit, series.kind, day, np.exp(value) if logs else value, error)


def tanks_per_arm(second: Sequence[Estimate], first: Sequence[Estimate]) -> Estimate:
    """Return the mean of the second arm's tanks minus the first's, with Welch's t on the tanks' own values.

    At least two tanks in each arm; the spread *between* tanks is the error (Welch 1947, Biometrika 34:28-35), and what
    is known about each tank from its days does not enter but through its value.
    """
    means, parts, dfs = [], [], []
    for arm in (second, first):
        if len(arm) < 2:
            raise TooFewPointsError(points=len(arm), needed=2, what="spread between the tanks of an arm")
        values = np.array([tank.value for tank in arm])
        means.append(values.mean())
        parts.append(values.var(ddof=1) / values.size)
        dfs.append(values.size - 1)
    variance = sum(parts)
    df = (
        variance**2 / sum(part**2 / df for part, df in zip(parts, dfs, strict=True))
        if variance > 0
        else float(sum(dfs))
    )
    one = np.ones(1)
    return Estimate((means[0] - means[1]) * one, np.sqrt(variance) * one, df * one, one)


def mean_of(estimates: Sequence[Estimate]) -> Estimate:
    """Return the estimate of the mean of independent numbers in one unit; at least one is needed."""
    total = estimates[0]
    for estimate in estimates[1:]:
        total = estimate.plus(total)
    return total.times(1 / len(estimates))


def holm_levels(p_values: Sequence[float], *, alpha: float = 0.05) -> tuple[float, ...]:
    """Return for each p value the level it is held against by Holm's procedure (Holm 1979, Scand J Stat 6:65-70).

    The k-th smallest of m is held against alpha/(m - k + 1) until one fails; those after it share that one's level, so
    a p value is called exactly where it is below its own level.
    """
    order = sorted(range(len(p_values)), key=lambda i: p_values[i])
    levels = [alpha] * len(p_values)
    failed: float | None = None
    for rank, i in enumerate(order):
        level = failed if failed is not None else alpha / (len(p_values) - rank)
        levels[i] = level
        if failed is None and p_values[i] >= level:
            failed = level
    return tuple(levels)
