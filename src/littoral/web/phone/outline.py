"""The outlines of a drawing's paths: as much of SVG's path data (SVG 1.1, section 8.3) as our own mark uses."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import atan2, ceil, cos, pi, sin, sqrt, tau

Point = tuple[float, float]
_TOKEN = re.compile(r"[A-Za-z]|[-+]?(?:[0-9]*\.)?[0-9]+(?:[eE][-+]?[0-9]+)?")
_COUNTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "Q": 4, "T": 2, "A": 7, "Z": 0}
STEPS = 24
"""Straight pieces for one curve: at 512 px none is farther than a tenth of a pixel from it."""


def outlines(path_data: str) -> tuple[tuple[Point, ...], ...]:
    """Return the closed outlines of a path as polygons, in the drawing's units.

    ValueError where the data hold what is not read here.
    """
    found: list[list[Point]] = []
    at: Point = (0.0, 0.0)
    handle: Point | None = None  # of the last quadratic curve, for T
    for command, numbers in _commands(path_data):
        x0, y0 = at
        absolute = [*_absolute(command, numbers, at)]
        kind = command.upper()
        if kind == "M":
            found.append([])
            pieces = [(absolute[0], absolute[1])]
        elif kind == "Z":
            pieces = [found[-1][0]]
        elif kind == "Q":
            pieces = _quadratic(at, (absolute[0], absolute[1]), (absolute[2], absolute[3]))
        elif kind == "T":
            control = at if handle is None else (2 * x0 - handle[0], 2 * y0 - handle[1])
            absolute = [*control, *absolute]
            pieces = _quadratic(at, control, (absolute[2], absolute[3]))
        elif kind == "C":
            pieces = _cubic(at, absolute)
        elif kind == "A":
            pieces = _arc(at, numbers, (absolute[5], absolute[6]))
        else:
            pieces = [(absolute[0], absolute[1])]
        handle = (absolute[0], absolute[1]) if kind in "QT" else None
        found[-1].extend(pieces)
        at = pieces[-1]
    return tuple(tuple(one) for one in found)


def _commands(path_data: str) -> Iterator[tuple[str, list[float]]]:
    tokens = _TOKEN.findall(path_data)
    place = 0
    command = ""
    while place < len(tokens):
        if tokens[place].isalpha():
            command = tokens[place]
            place += 1
        elif command in ("M", "m"):
            command = "L" if command == "M" else "l"
        count = _COUNTS.get(command.upper()) if command else None
        if count is None or (command in "Zz" and place < len(tokens) and not tokens[place].isalpha()):
            raise ValueError(f"{path_data[:40]!r} holds {command or tokens[place]!r}, which is not read here")
        numbers = [float(token) for token in tokens[place : place + count]]
        if len(numbers) < count:
            raise ValueError(f"{path_data[:40]!r} ends early")
        place += count
        yield command, numbers


def _absolute(command: str, numbers: Sequence[float], at: Point) -> list[float]:
    """Return numbers as absolute coordinates; H and V become points."""
    moved = command.islower()
    x0, y0 = at if moved else (0.0, 0.0)
    match command.upper():
        case "H":
            return [numbers[0] + x0, at[1]]
        case "V":
            return [at[0], numbers[0] + y0]
        case "A":
            return [*numbers[:5], numbers[5] + x0, numbers[6] + y0]
        case _:
            return [number + (y0 if place % 2 else x0) for place, number in enumerate(numbers)]


def _quadratic(start: Point, control: Point, end: Point) -> list[Point]:
    third = [*_toward(start, control, 2 / 3), *_toward(end, control, 2 / 3), *end]
    return _cubic(start, third)


def _toward(one: Point, other: Point, share: float) -> Point:
    return one[0] + share * (other[0] - one[0]), one[1] + share * (other[1] - one[1])


def _cubic(start: Point, rest: Sequence[float]) -> list[Point]:
    xs, ys = (start[0], *rest[0::2]), (start[1], *rest[1::2])

    def on(values: Sequence[float], t: float) -> float:
        a, b, c, d = values
        return a * (1 - t) ** 3 + 3 * b * t * (1 - t) ** 2 + 3 * c * t**2 * (1 - t) + d * t**3

    return [(on(xs, step / STEPS), on(ys, step / STEPS)) for step in range(1, STEPS + 1)]


def _arc(start: Point, numbers: Sequence[float], end: Point) -> list[Point]:
    """Return a circle's arc (SVG 1.1, F.6.5, for equal radii and no rotation)."""
    radius, other, turn, large, sweep = numbers[:5]
    if radius != other or turn:
        raise ValueError("only arcs of circles are read here")
    half = ((start[0] - end[0]) / 2, (start[1] - end[1]) / 2)
    reach = half[0] ** 2 + half[1] ** 2
    radius = max(radius, sqrt(reach))  # F.6.6: one too small is grown
    side = sqrt(max(0.0, radius**2 / reach - 1)) * (1 if large != sweep else -1)
    centre = (side * half[1] + (start[0] + end[0]) / 2, -side * half[0] + (start[1] + end[1]) / 2)
    first = atan2(start[1] - centre[1], start[0] - centre[0])
    last = atan2(end[1] - centre[1], end[0] - centre[0])
    span = (last - first) % tau if sweep else -((first - last) % tau)
    steps = max(1, ceil(STEPS * abs(span) / (pi / 2)))
    angles = [first + span * step / steps for step in range(1, steps + 1)]
    return [(centre[0] + radius * cos(angle), centre[1] + radius * sin(angle)) for angle in angles]


def edges(polygon: Sequence[Point]) -> list[tuple[Point, Point]]:
    """Return the edges of a closed polygon."""
    return list(pairwise([*polygon, polygon[0]]))
