"""Polygons and corners drawn on a view's frame, in pixels: x to the right, y down."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from littoral.trial.model import Point
from littoral.trial.written.report import WrongValueError
from littoral.trial.written.values import number, show_value

MOST_POINTS = 1000
Corners = tuple[Point, Point, Point, Point]


def points_in(frame: tuple[int, int] | None) -> Callable[[Any], tuple[Point, ...]]:
    """Make a parser for a list of points [x, y] that lie within a frame (width, height); None for a frame not known."""

    def parse(value: Any) -> tuple[Point, ...]:
        if not isinstance(value, list) or len(value) > MOST_POINTS:
            raise WrongValueError(
                f"is {show_value(value)}, not a list of points.", "Write points as [[x, y], [x, y], …]."
            )
        return tuple(_point(entry, place, frame) for place, entry in enumerate(value, start=1))

    return parse


def _point(entry: Any, place: int, frame: tuple[int, int] | None) -> Point:
    if not isinstance(entry, list) or len(entry) != 2:
        raise WrongValueError(f"has {show_value(entry)} as point {place}.", "A point is two numbers: [x, y].")
    x, y = number(entry[0]), number(entry[1])
    if frame is not None and not (0 <= x <= frame[0] and 0 <= y <= frame[1]):
        what = f"has point {place} at [{x:g}, {y:g}], outside the frame of {frame[0]} x {frame[1]} px."
        raise WrongValueError(
            what, "Points count from the top left corner of the photo that `frame` gives the size of."
        )
    return x, y


def polygon_in(frame: tuple[int, int] | None) -> Callable[[Any], tuple[Point, ...]]:
    """Make a parser for a polygon with at least three points, an area, and edges that do not cross."""
    points = points_in(frame)

    def parse(value: Any) -> tuple[Point, ...]:
        polygon = points(value)
        if len(polygon) > 3 and polygon[0] == polygon[-1]:
            polygon = polygon[:-1]  # closed by repeating the first point, as some drawing programs do
        if len(polygon) < 3:
            raise WrongValueError(f"has {len(polygon)} points.", "A polygon has at least three.")
        crossing = _crossing(polygon)
        if crossing is not None:
            first, second = crossing
            what = f"crosses itself: the edge after point {first} meets the edge after point {second}."
            raise WrongValueError(what, "Give the points in order around the outline.")
        if abs(signed_area(polygon)) < 1:
            raise WrongValueError("has no area.", "Give the points around the outline, in pixels.")
        return polygon

    return parse


def corners_in(frame: tuple[int, int] | None) -> Callable[[Any], Corners]:
    """Make a parser for four corners of the front glass: top left, top right, bottom right, bottom left."""
    points = points_in(frame)
    order = "Order them top left, top right, bottom right, bottom left."

    def parse(value: Any) -> Corners:
        corners = points(value)
        if len(corners) != 4:
            raise WrongValueError(f"has {len(corners)} points, not four.", order)
        top_left, top_right, bottom_right, bottom_left = corners
        if _crossing(corners) is not None:
            raise WrongValueError("cross over: the outline meets itself.", order)
        upright = top_left[0] < top_right[0] and bottom_left[0] < bottom_right[0]
        upright = upright and top_left[1] < bottom_left[1] and top_right[1] < bottom_right[1]
        if not upright or signed_area(corners) < 1:
            raise WrongValueError("are not in order.", order)
        return top_left, top_right, bottom_right, bottom_left

    return parse


def signed_area(points: Sequence[Point]) -> float:
    """Return the area in px², positive where the points go clockwise as seen on the photo (y down)."""
    following = (*points[1:], points[0])
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, following, strict=True)) / 2


def _crossing(points: Sequence[Point]) -> tuple[int, int] | None:
    """Return two edges that meet away from a shared end (counted from 1), or None."""
    count = len(points)
    edges = [(points[i], points[(i + 1) % count]) for i in range(count)]
    for i in range(count):
        for j in range(i + 1, count):
            next_to_each_other = j == i + 1 or (i == 0 and j == count - 1)
            if not next_to_each_other and _meet(*edges[i], *edges[j]):
                return i + 1, j + 1
    return None


def _meet(a: Point, b: Point, c: Point, d: Point) -> bool:
    """Tell whether the segments a-b and c-d share a point."""
    turns = _turn(a, b, c), _turn(a, b, d), _turn(c, d, a), _turn(c, d, b)
    if turns[0] * turns[1] < 0 and turns[2] * turns[3] < 0:
        return True
    ends = ((a, b, c), (a, b, d), (c, d, a), (c, d, b))
    return any(turn == 0 and _between(*end) for turn, end in zip(turns, ends, strict=True))


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _between(a: Point, b: Point, c: Point) -> bool:
    return min(a[0], b[0]) <= c[0] <= max(a[0], b[0]) and min(a[1], b[1]) <= c[1] <= max(a[1], b[1])
