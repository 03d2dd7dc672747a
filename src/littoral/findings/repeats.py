"""How much a measure wanders between repeat shots: what camera, hand and light do while the plants stand still."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from littoral.findings.measured import MeasuredPhoto
from littoral.imaging.results import RegionMeasure
from littoral.trial.bursts import bursts
from littoral.trial.entries import Entry

RepeatedField = Literal["cover", "height_cm", "width_cm", "lightness", "a", "b", "algae"]
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


def _values(region: RegionMeasure) -> Iterable[tuple[RepeatedField, float]]:
    for name in FIELDS:
        value = getattr(region, name)
        if value is not None:
            yield name, value
