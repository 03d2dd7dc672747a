"""How much a measure wanders between repeat shots: what camera, hand and light do while the plants stand still."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

import numpy as np

from littoral.findings.measured import MeasuredPhoto
from littoral.imaging.results import RegionMeasure
from littoral.stats.estimate import Estimate
from littoral.stats.series import BoolArray, Series
from littoral.trial.bursts import bursts, occasions
from littoral.trial.days import instant_of
from littoral.trial.entries import Entry
from littoral.trial.model import Trial

RepeatedField = Literal["cover", "height_cm", "width_cm", "lightness", "a", "b", "algae"]
REACH_95 = 1.96
"""Standard deviations that 95 % of normal errors stay within."""
FIELDS: tuple[RepeatedField, ...] = ("cover", "height_cm", "width_cm", "lightness", "a", "b", "algae")
Key = tuple[str, str, str, RepeatedField]
"""View, pane (tank), region, and field of `RegionMeasure`."""


@dataclass(frozen=True, slots=True)
class RepeatError:
    """The standard deviation of single shots within bursts, in the field's unit, and the degrees of freedom behind it.

    It is pooled over bursts: the root of the summed squared distances from each burst's mean over the summed (n - 1).
    """

    sd: float
    freedom: int


def repeat_errors(photos: Iterable[MeasuredPhoto], entries: Sequence[Entry]) -> Mapping[Key, RepeatError]:
    """Return the repeat error of every measure that repeat shots tell; those without any burst are missing.

    `photos` are measured, `entries` the trial's, from which the bursts are found. METHODS: three repeat shots alone
    cover only 0.4 to 0.6 of what a day's photo differs, so this is one part of a photo's error: add in quadrature what
    no correction takes out (0.5 in L*, a*, b*) and the residual of the references.
    """
    measured = {photo.entry_id: photo for photo in photos if not photo.excluded}
    squares: dict[Key, list[float]] = {}
    freedom: dict[Key, int] = {}
    for group in bursts(entries):
        values: dict[Key, list[float]] = {}
        for entry in group:
            photo = measured.get(entry.id)
            for region in () if photo is None else photo.regions:
                assert photo is not None
                for name, value in _values(region):
                    values.setdefault((photo.view, region.pane, region.region, name), []).append(value)
        for key, shots in values.items():
            if len(shots) > 1:
                mean = math.fsum(shots) / len(shots)
                squares.setdefault(key, []).extend((shot - mean) ** 2 for shot in shots)
                freedom[key] = freedom.get(key, 0) + len(shots) - 1
    return {key: RepeatError(math.sqrt(math.fsum(squares[key]) / count), count) for key, count in freedom.items()}


def pooled_repeat(groups: Iterable[Sequence[float]]) -> RepeatError | None:
    """Return the repeat error of values grouped by occasion, in their unit; None where no occasion has two shots."""
    squares, freedom = 0.0, 0
    for group in groups:
        mean = math.fsum(group) / len(group)
        squares += math.fsum((shot - mean) ** 2 for shot in group)
        freedom += len(group) - 1
    return RepeatError(math.sqrt(squares / freedom), freedom) if freedom else None


def occasions_of(trial: Trial, photos: Sequence[MeasuredPhoto]) -> tuple[tuple[int, ...], ...]:
    """Return the places of one view's photos, by time, grouped by occasion: the shots of a burst are one."""
    return occasions([_second(instant_of(photo.day, trial)) for photo in photos])


def _second(moment: datetime) -> datetime:
    """Return a moment to the second: days are floats, and a burst must not fall apart by their last digit."""
    return (moment + timedelta(microseconds=500_000)).replace(microsecond=0)


def at_least(estimate: Estimate, spread: float) -> Estimate:
    """Return an estimate whose doubt, as a standard deviation, is at least `spread`: what repeat shots show by itself.

    The scatter of days holds the camera's wander already; where few days hide it by luck, repeat shots still tell it.
    """
    low, high = estimate.interval()
    missing = spread**2 - ((high - low) / 2 / REACH_95) ** 2
    return estimate.plus(Estimate.normal(0.0, spread=math.sqrt(missing))) if missing > 0 else estimate


def mean_spread(series: Series, within: BoolArray) -> float:
    """Return what repeat shots leave open in the mean of a part of a series, in its unit; 0 where none are known."""
    if series.error is None or not within.any():
        return 0.0
    return float(np.sqrt(np.sum(series.error[within] ** 2)) / within.sum())


def rate_spread(series: Series, within: BoolArray) -> float:
    """Return what repeat shots leave open in the slope of the logarithm of a part of a series (1/day), trims aside."""
    if series.error is None or within.sum() < 2:
        return 0.0
    away = series.day[within] - series.day[within].mean()
    squares = float(np.sum(away**2))
    share = series.error[within] / series.value[within]
    return float(np.sqrt(np.sum((away * share) ** 2)) / squares) if squares > 0 else 0.0


def _values(region: RegionMeasure) -> Iterable[tuple[RepeatedField, float]]:
    for name in FIELDS:
        value = getattr(region, name)
        if value is not None:
            yield name, value
