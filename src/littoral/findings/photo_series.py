"""From measured photos to series: one for each tank and region, ready for `stats`."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from littoral.findings.measured import Measured, MeasuredPhoto
from littoral.findings.repeats import RepeatError, occasions_of, pooled_repeat
from littoral.imaging.results import OTHER_LIGHT, RegionMeasure
from littoral.stats.series import Series
from littoral.stats.spikes import spikes
from littoral.trial.measures import MEASURES
from littoral.trial.model import Question, Trial


@dataclass(frozen=True, slots=True)
class Place:
    """A stand or other region that a question asks about, in one tank."""

    tank: str
    region: str
    kind: str
    name: str


@dataclass(frozen=True, slots=True)
class Taken:
    """A series of one place, the photos it was taken from, and how many photos had no usable value.

    Repeat shots within minutes are one value, their mean. `repeat` is what single shots differ by, in the series' unit
    (of sizes: as a share of their value; None without any), and the series then states what is left of it in each
    value. `errors` are the values' standard errors where photos state any, what repeat shots show included.
    `contradicted` are photos under another light whose size the photos before and after contradict: they are left out.
    """

    place: Place
    series: Series
    photos: tuple[MeasuredPhoto, ...]
    errors: tuple[float, ...]
    unusable: int
    contradicted: tuple[MeasuredPhoto, ...] = ()
    repeat: RepeatError | None = None


def _height(region: RegionMeasure) -> float | None:
    return region.height_cm if region.height_cm is not None else region.height_px


def _compactness(region: RegionMeasure) -> float | None:
    return None if region.cover is None or not region.height_cm else 100 * region.cover / region.height_cm


TAKE: Mapping[str, tuple[Callable[[RegionMeasure], float | None], str, bool]] = {
    "height growth": (_height, "cm", True),
    "cover growth": (lambda region: None if region.cover is None else 100 * region.cover, "points", True),
    "compactness": (_compactness, "points per cm", True),
    "redness": (lambda region: region.a, "a*", False),
    "algae": (lambda region: None if region.algae is None else 100 * region.algae, "points", False),
}
"""For each measure taken from photos: the value of a region, its unit, and whether it must be above 0."""

SIZES = ("height growth", "cover growth")
"""Measures of sizes, which a plant does not double and halve again from one photo to the next."""


def places(trial: Trial, question: Question, tank: str) -> tuple[Place, ...]:
    """Return the stands or regions of one tank that a question asks about, each once, in the order they are drawn."""
    kinds = MEASURES[question.measure].of
    found: dict[str, Place] = {}
    for view in trial.views.values():
        for pane in view.panes:
            for region in pane.regions if pane.tank == tank else ():
                if region.kind in kinds and (not question.of or region.key in question.of):
                    name = trial.stands[region.key].name if region.key in trial.stands else region.key
                    found.setdefault(region.key, Place(tank, region.key, region.kind, name))
    return tuple(found.values())


def taken(trial: Trial, measured: Measured, measure: str, place: Place) -> Taken:
    """Return the series of one measure at one place, over all days, from the view that shows it most often.

    Heights are in cm, or in pixels of the view's frame where it has no scale. Photos that were set aside, and values
    that are missing (or 0, where a logarithm or a quotient is needed), are left out and counted; so are sizes under
    another light that the photos on both sides contradict.
    """
    value_of, unit, above_zero = TAKE[measure]
    by_view: dict[str, list[tuple[MeasuredPhoto, RegionMeasure]]] = {}
    for photo in measured.photos:
        for region in photo.regions:
            if region.pane == place.tank and region.region == place.region:
                by_view.setdefault(photo.view, []).append((photo, region))
    pairs = max(by_view.values(), key=len, default=[])
    usable: list[tuple[MeasuredPhoto, RegionMeasure, float]] = []
    for photo, region in sorted(pairs, key=lambda pair: pair[0].day):
        value = value_of(region)
        if value is not None and np.isfinite(value) and (value > 0 or not above_zero):
            usable.append((photo, region, value))
    contradicted: tuple[MeasuredPhoto, ...] = ()
    if measure in SIZES:
        contradicted = contradicted_sizes([(photo, value) for photo, _, value in usable])
        usable = [one for one in usable if one[0] not in contradicted]
    unusable = len(pairs) - len(usable) - len(contradicted)
    if measure == "height growth" and any(region.height_cm is None for _, region, _ in usable):
        unit = "px"
    groups = [[usable[i] for i in group] for group in occasions_of(trial, [photo for photo, _, _ in usable])]
    share = measure in SIZES
    repeat = pooled_repeat([[np.log(value) if share else value for _, _, value in group] for group in groups])
    values = np.array([np.mean([value for _, _, value in group]) for group in groups], dtype=float)
    left = None
    if repeat is not None:
        left = repeat.sd / np.sqrt([len(group) for group in groups]) * (values if share else 1.0)
    errors = []
    for i, group in enumerate(groups):
        stated = [region.colour_error for _, region, _ in group if region.colour_error is not None]
        if stated:
            shots = left[i] if left is not None and measure == "redness" else 0.0
            errors.append(float(np.hypot(np.mean(stated), shots)))
    return Taken(
        place=place,
        series=Series(
            name=f"{place.name}, {trial.tanks[place.tank].name}",
            unit=unit,
            kind="level",
            day=np.array([np.mean([photo.day for photo, _, _ in group]) for group in groups], dtype=float),
            value=values,
            error=left,
        ),
        photos=tuple(photo for photo, _, _ in usable),
        errors=tuple(errors),
        repeat=repeat,
        unusable=unusable,
        contradicted=contradicted,
    )


def contradicted_sizes(sizes: Sequence[tuple[MeasuredPhoto, float]]) -> tuple[MeasuredPhoto, ...]:
    """Return the photos flagged for another light whose size is a spike; without the flag it is evidence, and stays."""
    day = np.array([photo.day for photo, _ in sizes], dtype=float)
    series = Series("", "", "level", day, np.array([value for _, value in sizes], dtype=float))
    return tuple(sizes[i][0] for i in spikes(series) if OTHER_LIGHT in sizes[i][0].flags)
