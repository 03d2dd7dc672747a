"""The numbers of one photo's regions as they are read, each with what it leaves open."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from littoral.findings.measured import Measured, MeasuredPhoto
from littoral.findings.photo_course import courses
from littoral.findings.photo_digits import plain_number, value_said
from littoral.findings.photo_measures import KNOWN
from littoral.findings.repeats import REACH_95
from littoral.imaging.results import RegionMeasure
from littoral.trial.entries import Entry
from littoral.trial.model import Trial

SAID = ("cover", "height", "width", "algae")
"""The measures of a region that are said beside its colour; height is in px where there is no scale."""
MEASURES = {one.key: one for one in KNOWN}
Halves = Mapping[tuple[str, str, str], float]
"""Half of the 95 % that one photo leaves open, by measure, tank and region, in the measure's unit."""


@dataclass(frozen=True, slots=True)
class Figure:
    """One number of a region as it is read: what it is, and the value with its doubt and unit."""

    name: str
    value: str


def halves_of(
    trial: Trial, measured: Mapping[str, MeasuredPhoto], entries: Sequence[Entry], identity: str, view: str
) -> Halves:
    """Return what a photo's numbers leave open, from how photos scatter around their neighbours; known ones only."""
    mine = [photo for photo in measured.values() if photo.view == view]
    regions = {(row.pane, row.region) for photo in mine if photo.entry_id == identity for row in photo.regions}
    found: dict[tuple[str, str, str], float] = {}
    for key in SAID:
        for region in {region for _, region in regions}:
            for one in courses(trial, Measured(tuple(mine), ""), entries, MEASURES[key], region, marks={}):
                point = next((point for point in one.points if point.photo == identity), None)
                if point is not None and (half := one.half_of(point)) is not None:
                    found[key, one.tank, region] = half
    return found


def figures_of(row: RegionMeasure, halves: Halves | None = None) -> tuple[Figure, ...]:
    """Return the numbers of a region in the order in which they are read, those that are there."""
    found: list[Figure] = []

    def add(key: str, value: float | None, *, name: str = "") -> None:
        if value is not None and math.isfinite(value):
            measure = MEASURES[key]
            half = (halves or {}).get((key, row.pane, row.region))
            found.append(Figure(name or measure.name, value_said(measure, measure.times * value, half)))

    add("cover", row.cover, name="cover of the region")
    if row.height_cm is not None:
        add("height", row.height_cm)
    else:
        add("height-px", row.height_px)
    add("width", row.width_cm)
    if row.lightness is not None and row.a is not None and row.b is not None:
        doubt = "" if row.colour_error is None else f", each ±\u00a0{plain_number(REACH_95 * row.colour_error, 1)}"
        a, b = (plain_number(value, 1, signed=True) for value in (row.a, row.b))
        found.append(Figure("colour", f"L* {plain_number(row.lightness, 1)}, a* {a}, b* {b}{doubt}"))
    add("algae", row.algae, name="algae on the region")
    return tuple(found)
