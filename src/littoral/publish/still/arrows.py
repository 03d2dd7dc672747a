"""Names with arrows over a tank's picture: each points at its stand, and none stands on another."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from littoral.publish.panes import crop_box
from littoral.trial.model import Pane, Trial, View

BETWEEN = 18.0
"""Least distance between two names in one row, in units."""
MOST_ROWS = 3
INTO = 0.16
"""How far into its region an arrow points, as a share of the region's height."""


@dataclass(frozen=True, slots=True)
class Pointed:
    """A name and where it points, as shares of the picture's width and height."""

    words: str
    across: float
    down: float


@dataclass(frozen=True, slots=True)
class Placed:
    """A name's place: the middle of its words, in units from the picture's left edge, and its row (0 is the lowest)."""

    pointed: Pointed
    middle: float
    row: int


def stands_pointed(trial: Trial, view: View, pane: Pane, highest: dict[str, float]) -> list[Pointed]:
    """Return a pointer to each stand drawn in a tank, from left to right.

    `highest` is each stand's canopy as a share of its region's height where it was measured; else the arrow points
    near the region's top.
    """
    left, top, right, bottom = crop_box(view, pane, view.frame_px)
    found = []
    for region in pane.regions:
        if region.kind != "stand" or region.key not in trial.stands:
            continue
        xs, ys = [x for x, _ in region.polygon_px], [y for _, y in region.polygon_px]
        grown = highest.get(region.key, 1.0)
        at = max(ys) - (1 - INTO) * min(1.0, grown) * (max(ys) - min(ys))
        across = ((min(xs) + max(xs)) / 2 - left) / (right - left)
        found.append(Pointed(trial.stands[region.key].name, across, (at - top) / (bottom - top)))
    return sorted(found, key=lambda one: (one.across, one.words))


def rows_needed(widths: Sequence[float], room: float) -> int:
    """Return in how many rows (at least 1, at most MOST_ROWS) names of some widths find room."""
    needed = sum(widths) + BETWEEN * max(0, len(widths) - 1)
    return min(MOST_ROWS, max(1, math.ceil(needed / room)))


def placed(pointers: Sequence[Pointed], widths: Sequence[float], *, room: float) -> list[Placed]:
    """Return where the names stand over a picture `room` units wide, each as near above its arrow as others let it.

    Names take turns in the rows; `widths` are theirs in units. Within a row none overlap where they fit at all.
    """
    order = sorted(range(len(pointers)), key=lambda place: pointers[place].across)
    used = rows_needed(widths, room)
    by_row: list[list[int]] = [[] for _ in range(used)]
    for turn, place in enumerate(order):
        by_row[turn % used].append(place)
    found: dict[int, Placed] = {}
    for row, places in enumerate(by_row):
        middles = _spread(
            [pointers[place].across * room for place in places], [widths[place] for place in places], room
        )
        for place, middle in zip(places, middles, strict=True):
            found[place] = Placed(pointers[place], middle, row)
    return [found[place] for place in range(len(pointers))]


def _spread(wanted: Sequence[float], widths: Sequence[float], room: float) -> list[float]:
    """Push boxes apart from left to right, then back from the right edge."""
    middles: list[float] = []
    edge = -BETWEEN
    for at, width in zip(wanted, widths, strict=True):
        middle = max(at, edge + BETWEEN + width / 2)
        middles.append(middle)
        edge = middle + width / 2
    edge = room + BETWEEN
    for place in reversed(range(len(middles))):
        middles[place] = min(middles[place], edge - BETWEEN - widths[place] / 2)
        edge = middles[place] - widths[place] / 2
    return middles
