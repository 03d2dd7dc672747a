"""Brush strokes on a photo as JSON: which side each is on, how wide, and its path in pixels of the view's frame."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from littoral.errors import Fault
from littoral.trial.model import Point, View

MOST_STROKES = 60
MOST_POINTS = 400
WIDEST = 0.05
"""Widest stroke, as a share of the frame's width."""
SIDES = {"stand": True, "not": False}
EXAMPLE = '[{"side": "stand", "width": 5, "path": [[120, 80], [160, 84]]}, {"side": "not", …}]'


@dataclass(frozen=True, slots=True)
class BrushStroke:
    """One stroke: `is_stand` says "this is the stand"; path and width in pixels of the view's frame."""

    is_stand: bool
    width_px: float
    path_px: tuple[Point, ...]


def read_strokes(text: str, view: View, *, where: str) -> tuple[tuple[BrushStroke, ...], tuple[Fault, ...]]:
    """Return the strokes that a text says, and all that is wrong with it; with faults they are not to be used."""
    try:
        said: Any = json.loads(text)
    except (ValueError, RecursionError):
        return (), (Fault("is no JSON.", f"Send {EXAMPLE}.", where),)
    if not isinstance(said, list) or not said:
        return (), (Fault("holds no strokes.", f"Send {EXAMPLE}.", where),)
    if len(said) > MOST_STROKES:
        return (), (Fault(f"holds {len(said)} strokes.", f"At most {MOST_STROKES} on one photo are enough.", where),)
    found, faults = [], []
    for place, one in enumerate(said, start=1):
        stroke = _stroke(one, view)
        if isinstance(stroke, BrushStroke):
            found.append(stroke)
        else:
            faults.append(Fault(f"stroke {place} {stroke}", f"Write it as in {EXAMPLE}.", where))
    return tuple(found), tuple(faults)


def _stroke(one: Any, view: View) -> BrushStroke | str:
    """Return a stroke, or what is wrong with it as the end of a sentence."""
    if not isinstance(one, dict) or set(one) - {"side", "width", "path"}:
        return "is no stroke with side, width and path."
    wide, tall = view.frame_px
    side = one.get("side")
    if not isinstance(side, str) or side not in SIDES:
        return 'has a side that is neither "stand" nor "not".'
    width = one.get("width", max(1.0, wide / 250))
    if not _number(width) or not 0 < width <= WIDEST * wide:
        return f"has a width that is not between 0 and {WIDEST * wide:g} px."
    path = one.get("path")
    if not isinstance(path, list) or not 1 <= len(path) <= MOST_POINTS:
        return f"has a path that is no list of 1 to {MOST_POINTS} points."
    for point in path:
        if not isinstance(point, list) or len(point) != 2 or not all(map(_number, point)):
            return "has a point that is not two numbers."
        if not (0 <= point[0] <= wide and 0 <= point[1] <= tall):
            return f"leaves the frame of {wide} x {tall} px."
    return BrushStroke(SIDES[side], float(width), tuple((float(x), float(y)) for x, y in path))


def _number(value: Any) -> bool:
    """Whether a value is a number that a place on a photo can be; whole numbers of JSON may be too long for a float."""
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < math.inf


def write_strokes(strokes: Iterable[BrushStroke]) -> str:
    """Return strokes as the text that `read_strokes` reads; the same strokes give the same text."""
    said = [
        {
            "side": "stand" if one.is_stand else "not",
            "width": round(one.width_px, 1),
            "path": [[round(x, 1), round(y, 1)] for x, y in one.path_px],
        }
        for one in strokes
    ]
    return json.dumps(said)
