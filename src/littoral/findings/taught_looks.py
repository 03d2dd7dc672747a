"""Which brush strokes teach which photos: those in force from a day on, for a view as it is drawn."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from littoral.trial.days import day_of
from littoral.trial.entries import Entry, Photo, Taught
from littoral.trial.model import Trial, View
from littoral.trial.written.brush_strokes import BrushStroke, read_strokes

if TYPE_CHECKING:
    from littoral.imaging.taught import Brush


@dataclass(frozen=True, slots=True)
class StrokesOn:
    """Strokes on one photo for one stand of one tank, and the day from which on they teach."""

    tank: str
    stand: str
    sha256: str
    from_day: float
    strokes: tuple[BrushStroke, ...]


Teaching = tuple[StrokesOn, ...]


def strokes_of(entries: Sequence[Entry], view: View) -> Teaching:
    """Return the strokes in force on a view, by when they were made; what cannot be read is left out."""
    found = []
    for entry in sorted(entries, key=lambda one: (one.at, one.id)):
        payload = entry.payload
        if not isinstance(payload, Taught) or payload.view != view.key or entry.tank is None:
            continue
        strokes, faults = read_strokes(payload.strokes, view, where="strokes")
        if not faults:
            found.append(StrokesOn(entry.tank, payload.stand, payload.sha256, payload.from_day, strokes))
    return tuple(found)


def by_teaching(
    trial: Trial, view: View, entries: Sequence[Entry], those: tuple[bool, ...], taught: Teaching
) -> list[tuple[tuple[bool, ...], Teaching]]:
    """Return which of a drawing's photos (`those` of `entries`) are told by which strokes, without empty parts.

    Strokes on a stand that the drawing no longer has teach nothing.
    """
    there = {(pane.tank, region.key) for pane in view.panes for region in pane.regions if region.kind == "stand"}
    own = [one for one in taught if (one.tank, one.stand) in there]
    days = [day_of(entry.at, trial) for entry in entries]
    starts = sorted({-math.inf, *(one.from_day for one in own if one.from_day > 0)})
    found = []
    for since, until in zip(starts, [*starts[1:], math.inf], strict=True):
        part = tuple(mine and since <= day < until for mine, day in zip(those, days, strict=True))
        if any(part):
            found.append((part, tuple(one for one in own if one.from_day <= max(since, 0.0))))
    return found


def brushes_of(view: View, entries: Sequence[Entry], teaching: Teaching) -> Mapping[int, Sequence[Brush]]:
    """Return strokes as `imaging` takes them: by the place of the stand among the view's regions.

    Strokes on a photo that is not among `entries` (set aside since) are left out.
    """
    import numpy as np

    from littoral.imaging.taught import Brush

    places = {
        (pane.tank, region.key): at
        for at, (pane, region) in enumerate((pane, region) for pane in view.panes for region in pane.regions)
    }
    photos = {entry.payload.sha256: i for i, entry in enumerate(entries) if isinstance(entry.payload, Photo)}
    found: dict[int, list[Brush]] = {}
    for one in teaching:
        if one.sha256 not in photos:
            continue
        for stroke in one.strokes:
            brush = Brush(photos[one.sha256], stroke.is_stand, np.array(stroke.path_px, dtype=float), stroke.width_px)
            found.setdefault(places[one.tank, one.stand], []).append(brush)
    return found
