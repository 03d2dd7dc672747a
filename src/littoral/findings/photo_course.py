"""One measure of one place over days: what each photo says, why some say nothing, and what the camera makes of it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal, cast

import numpy as np

from littoral.findings.from_photos import trim_days
from littoral.findings.measured import Measured, MeasuredPhoto
from littoral.findings.photo_measures import PhotoMeasure, common_error_of_field, error_of_field, value_of_field
from littoral.findings.photo_series import contradicted_sizes
from littoral.findings.repeats import FIELDS, REACH_95, RepeatedField, RepeatError, occasions_of, repeat_errors
from littoral.imaging.results import RegionMeasure
from littoral.stats.scatter import Scatter, neighbour_residuals, scatter
from littoral.stats.series import Series
from littoral.trial.entries import Entry
from littoral.trial.model import Trial

LEAST_SHARE = 0.02
"""A departure is counted in no smaller steps than this share of the value: common practice, no source."""

STANDS_OUT = 5.0
"""A value this many scatters off its neighbours is pointed at: common practice, no source."""

AT_EACH_END = 3
"""So many photos at each end say what a series began and ended with."""

Doubt = Literal["stated with each photo", "repeat shots", "scatter between photos", ""]
"""Where the doubt of single photos comes from."""


@dataclass(frozen=True, slots=True)
class PhotoPoint:
    """What one photo says. `value` is None, or not `used`, for the reasons in `why`; `marks` are wrong with the photo.

    `error` is one standard error of this photo's value, as the photo states it, else from the scatter around it; None
    where neither is known; what repeat shots differ by is in it. Repeat shots within minutes that are used are one
    point with the mean of so many `shots`, under the name of the first. `common` is what all photos of the place may be
    off by alike, as a standard error; 0 where nobody measured that.
    """

    photo: str
    view: str
    day: float
    value: float | None
    error: float | None
    used: bool
    why: str = ""
    marks: tuple[str, ...] = ()
    common: float = 0.0
    shots: int = 1


@dataclass(frozen=True, slots=True)
class CameraPart:
    """What single photos may be off by, in the measure's unit: half of 95 %, and where that was taken from.

    `half` holds `common`, the standard error that all photos have in common, where it is known (else 0). `repeats` is
    the spread of repeat shots within minutes, `scatter` that of photos around the course of their neighbours, both as
    standard deviations; None where they are not known.
    """

    half: float | None
    doubt: Doubt
    repeats: RepeatError | None
    scatter: float | None
    common: float = 0.0


@dataclass(frozen=True, slots=True)
class Course:
    """One measure over days at one place (`region`, "" for whole photos) of one tank, as the view shows that shows it.

    `start` and `end` are medians of the first and last few values that are used, None without any; `trims` are days.
    """

    arm: str
    tank: str
    region: str
    points: tuple[PhotoPoint, ...]
    camera: CameraPart
    trims: tuple[float, ...]
    start: float | None
    end: float | None

    @property
    def used(self) -> tuple[PhotoPoint, ...]:
        """The points that are in the series."""
        return tuple(point for point in self.points if point.used)

    def half_of(self, point: PhotoPoint) -> float | None:
        """Return half of the 95 % that one photo leaves open, in the measure's unit, with what all have in common."""
        return REACH_95 * math.hypot(point.error, point.common) if point.error is not None else self.camera.half


def places_of(measured: Measured, measure: PhotoMeasure) -> tuple[str, ...]:
    """Return the regions that have a measure at all, in the order in which they were drawn; "" for whole photos."""
    if measure.of_photo:
        return ("",)
    found: dict[str, None] = {}
    for photo in measured.photos:
        for region in photo.regions:
            if value_of_field(region, measure) is not None:
                found.setdefault(region.region)
    return tuple(found)


def courses(
    trial: Trial,
    measured: Measured,
    entries: Sequence[Entry],
    measure: PhotoMeasure,
    place: str,
    *,
    marks: Mapping[str, tuple[str, ...]],
) -> tuple[Course, ...]:
    """Return a measure's course at one place in every tank that has it, in the order of the arms.

    `marks` says by entry id what is wrong with single photos. Where several views show a place, the one that shows it
    most often counts, as in the findings.
    """
    repeats = repeat_errors(measured.photos, entries) if measure.field in FIELDS else {}
    found: list[Course] = []
    for arm in trial.arms:
        for tank in arm.tanks:
            view, rows = _rows(trial, measured, measure, tank, place)
            if not any(value is not None for _, _, value in rows):
                continue
            trims = () if measure.of_photo else trim_days(trial, entries, tank, place)
            repeated = repeats.get((view, tank, place, cast(RepeatedField, measure.field)))
            found.append(_course(trial, arm.key, tank, place, measure, rows, trims, repeated, marks))
    return tuple(found)


Rows = Sequence[tuple[MeasuredPhoto, RegionMeasure | MeasuredPhoto | None, float | None]]


def _rows(trial: Trial, measured: Measured, measure: PhotoMeasure, tank: str, place: str) -> tuple[str, Rows]:
    """Return the view that shows a place most often, with each of its photos and what it says, by day."""
    views = [view for view in trial.views.values() if any(pane.tank == tank for pane in view.panes)]
    best: tuple[int, str, Rows] = (-1, "", ())
    for view in views:
        rows = []
        for photo in sorted((one for one in measured.photos if one.view == view.key), key=lambda one: one.day):
            of: RegionMeasure | MeasuredPhoto | None = photo
            if not measure.of_photo:
                of = next((one for one in photo.regions if (one.pane, one.region) == (tank, place)), None)
            rows.append((photo, of, None if of is None else value_of_field(of, measure)))
        count = sum(value is not None for _, _, value in rows)
        if count > best[0]:
            best = (count, view.key, rows)
    return best[1], best[2]


def _course(
    trial: Trial,
    arm: str,
    tank: str,
    place: str,
    measure: PhotoMeasure,
    rows: Rows,
    trims: tuple[float, ...],
    repeated: RepeatError | None,
    marks: Mapping[str, tuple[str, ...]],
) -> Course:
    sizes = [(photo, value) for photo, _, value in rows if value is not None and value > 0]
    against = {photo.entry_id for photo in (contradicted_sizes(sizes) if measure.size else ())}
    points: list[PhotoPoint] = []
    for photo, of, value in rows:
        own = marks.get(photo.entry_id, ())
        if isinstance(of, RegionMeasure):
            own = (*own, *of.flags)
        why = ""
        if photo.excluded and not (measure.of_photo and value is not None):
            why = photo.excluded
        elif of is None or value is None:
            why = "nothing was measured here on this photo"
        elif photo.entry_id in against:
            why = "the light was another, and the photos before and after contradict this size"
        error = None if of is None or value is None else error_of_field(of, measure)
        common = 0.0 if of is None or value is None else common_error_of_field(of, measure)
        points.append(PhotoPoint(photo.entry_id, photo.view, photo.day, value, error, not why, why, own, common))
    times = measure.times
    repeated = None if repeated is None else RepeatError(times * repeated.sd, repeated.freedom)
    points = _by_occasion(trial, [photo for photo, _, _ in rows], points, repeated)
    used = [point for point in points if point.used and point.value is not None]
    day = np.array([point.day for point in used], dtype=float)
    series = Series(place, measure.unit, "level", day, np.array([point.value for point in used], dtype=float))
    spread = None if measure.residual else scatter(series, trims)
    first, last = series.value[:AT_EACH_END], series.value[-AT_EACH_END:]
    return Course(
        arm=arm,
        tank=tank,
        region=place,
        points=tuple(_with_scatter(points, series, trims, spread, repeated)),
        camera=_camera(used, repeated, spread),
        trims=trims,
        start=float(np.median(first)) if used else None,
        end=float(np.median(last)) if used else None,
    )


def _by_occasion(
    trial: Trial, photos: Sequence[MeasuredPhoto], points: Sequence[PhotoPoint], repeated: RepeatError | None
) -> list[PhotoPoint]:
    """Return points with used repeat shots as one, and what repeat shots differ by within the error that is stated."""
    counting = [i for i, point in enumerate(points) if point.used]
    groups = {
        counting[group[0]]: [points[counting[i]] for i in group]
        for group in occasions_of(trial, [photos[i] for i in counting])
    }
    found = []
    for i, point in enumerate(points):
        if not point.used:
            found.append(point)
        elif i in groups:
            group = groups[i]
            stated = [one.error for one in group if one.error is not None]
            wander = 0.0 if repeated is None else repeated.sd / len(group) ** 0.5
            found.append(
                replace(
                    point,
                    day=float(np.mean([one.day for one in group])),
                    value=float(np.mean([one.value for one in group if one.value is not None])),
                    error=float(np.hypot(np.mean(stated), wander)) if stated else None,
                    marks=tuple(dict.fromkeys(mark for one in group for mark in one.marks)),
                    shots=len(group),
                )
            )
    return found


def _camera(used: Sequence[PhotoPoint], repeated: RepeatError | None, spread: Scatter | None) -> CameraPart:
    stated = [point.error for point in used if point.error is not None]
    usual = None if spread is None else spread.whole
    doubt: Doubt = ""
    half = None
    if stated:
        half, doubt = REACH_95 * float(np.median(stated)), "stated with each photo"
    elif usual is not None:
        half, doubt = REACH_95 * usual, "scatter between photos"
    elif repeated is not None:
        half, doubt = REACH_95 * repeated.sd, "repeat shots"
    common = float(np.median([point.common for point in used])) if used else 0.0
    whole = None if half is None else math.hypot(half, REACH_95 * common)
    return CameraPart(whole, doubt, repeated, usual, common)


def _with_scatter(
    points: Sequence[PhotoPoint],
    series: Series,
    trims: Sequence[float],
    spread: Scatter | None,
    repeated: RepeatError | None,
) -> Iterable[PhotoPoint]:
    """Give values the scatter around them as their error where they state none, and mark those that stand out of it.

    Their error is no smaller than what repeat shots leave open.

    The two beside a value that stands out are not blamed for it.
    """
    if spread is None:
        yield from points
        return
    least = np.maximum(spread.near, LEAST_SHARE * np.abs(series.value))
    with np.errstate(divide="ignore", invalid="ignore"):
        size = np.nan_to_num(np.abs(neighbour_residuals(series, trims)) / least, posinf=0.0)
    at = -1
    for point in points:
        if not (point.used and point.value is not None):
            yield point
            continue
        at += 1
        wander = 0.0 if repeated is None else repeated.sd / point.shots**0.5
        error = point.error if point.error is not None else max(float(spread.near[at]), wander)
        marks = point.marks
        if size[at] > STANDS_OUT and size[at] >= size[max(at - 1, 0) : at + 2].max():
            nothing_wrong = "" if marks else "; nothing wrong was noticed with the photo"
            marks = (*marks, f"stands out from the photos before and after{nothing_wrong}")
        yield replace(point, error=error, marks=marks)
