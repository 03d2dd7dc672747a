"""Where everything stands: centimetres inside the glass, the frame's pixels, and the polygons a keeper would draw."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from littoral.demo.growth import stand_state, trims
from littoral.demo.story import Story

Points = NDArray[np.float64]

LENGTH_CM, HEIGHT_CM, FILL_CM, SUBSTRATE_CM = 60.0, 30.0, 27.0, 5.0
FRAME = (1600, 1200)
FRONT_EDGE_CM, BACK_EDGE_CM = 4.4, 8.0  # where the substrate's surface is seen, at the front glass and at the back
SIDE_CM = 1.7  # width of a side pane as seen from the front
SURFACE_CM = 26.0  # from here up to FILL_CM the underside of the water's surface is seen


TRUNK_CM = ((31.4, 12.6), (33.9, 12.6), (34.5, 9.6), (31.6, 9.6))  # the part of the root that stays in sight


CARD_REFLECTS = {"grey card": 0.18, "pale card": 0.62, "dark card": 0.044}
"""What the club's card reflects, as its trial file says; each field of it is a region of its own."""


@dataclass(frozen=True, slots=True)
class Frame:
    """The nominal frame of a view: `size` in pixels; x runs right from the left glass, y up from the bottom, in cm."""

    size: tuple[int, int]

    @property
    def px_per_cm(self) -> float:
        """Pixels per cm on the front glass."""
        return 24.0 * self.size[0] / FRAME[0]

    def px(self, points_cm: Points) -> Points:
        """Return pixels (..., 2) of points (..., 2) in cm."""
        origin = np.array([80.0 * self.size[0] / FRAME[0], 970.0 * self.size[0] / FRAME[0]])
        return np.asarray(origin + points_cm * np.array([1.0, -1.0]) * self.px_per_cm, dtype=np.float64)


@dataclass(frozen=True, slots=True)
class StandPlace:
    """Where a stand stands: middle and half width in cm, how far back (0 front glass, 1 back), the height of its foot
    in the picture, and the polygon (n, 2) in cm."""

    key: str
    middle_cm: float
    half_cm: float
    depth: float
    foot_cm: float
    polygon_cm: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Place:
    """A stone, the root, the card or the strip of glass: its middle (x, foot y), size, depth and polygon in cm."""

    key: str
    kind: str
    middle_cm: float
    foot_cm: float
    width_cm: float
    height_cm: float
    depth: float
    polygon_cm: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Layout:
    """One tank's layout. `mirrored` says that x was turned round from the plan."""

    tank: str
    mirrored: bool
    stands: tuple[StandPlace, ...]
    places: tuple[Place, ...]


def pixel(frame: Frame, x_cm: float, y_cm: float) -> tuple[int, int]:
    """Return the nearest whole pixel of a point in cm."""
    x, y = np.round(frame.px(np.array([x_cm, y_cm]))).astype(int)
    return int(x), int(y)


def foot_at(depth: float) -> float:
    """Return the height in the picture (cm) of the substrate's surface `depth` of the way to the back."""
    return FRONT_EDGE_CM + (BACK_EDGE_CM - FRONT_EDGE_CM) * depth


def lay_out(story: Story, tank: str) -> Layout:
    """Return where everything stands in one tank; the second tank is the first mirrored, with small changes."""
    shared = np.random.default_rng([story.seed, 2])
    own = np.random.default_rng([story.seed, 3, 0 if tank == "left" else 1])
    columns = [("red-stem", 12.0, 4.7), ("feather", 21.4, 4.4), ("green-stem", 51.5, 4.4)]
    if story.seed != 1:
        keys = [str(key) for key in shared.permutation([key for key, _, _ in columns])]
        columns = [(key, middle, half) for key, (_, middle, half) in zip(keys, columns, strict=True)]
    mirrored = tank == "right"

    def turn(x_cm: float) -> float:
        return LENGTH_CM - x_cm if mirrored else x_cm

    plan = [(key, middle, half, 0.75, foot_at(0.75)) for key, middle, half in columns]
    plan += [
        ("rosette", 42.6, 5.2, 0.42, foot_at(0.42)),
        ("grass", 32.8, 4.6, 0.08, foot_at(0.08)),
        ("fern", 31.6, 4.6, 0.50, 13.3),
    ]
    stands = []
    for key, middle, half, depth, foot in plan:
        x = turn(middle + float(own.uniform(-0.3, 0.3)))
        top = min(foot + _tallest(story, key, tank) * 1.06 + 1.2, SURFACE_CM - 0.1)
        box = _box(x - half, x + half, foot - 0.1, top)
        stands.append(StandPlace(key, x, half, depth, foot, box))
    places = [
        _place("stone", "stone", turn(25.6), 0.16, 4.4, 3.5, (0.70, 0.66)),
        _place("small stone", "stone", turn(16.6), 0.10, 3.9, 2.3, (0.68, 0.60)),
        Place("root", "wood", turn(33.0), foot_at(0.55), 4.0, 18.0, 0.55, tuple((turn(x), y) for x, y in TRUNK_CM)),
        _place("front glass", "glass", turn(56.9), 0.0, 2.2, 14.0, (1.0, 1.0), foot=9.0),
        _place("grey card", "card", turn(4.0), 0.95, 3.0, 2.4, (0.7, 0.7), foot=foot_at(0.9)),
        _place("pale card", "card", turn(4.0), 0.95, 3.0, 1.6, (0.7, 0.6), foot=foot_at(0.9) + 2.4),
        _place("dark card", "card", turn(4.0), 0.95, 3.0, 1.6, (0.7, 0.6), foot=foot_at(0.9) + 4.0),
    ]
    return Layout(tank, mirrored, tuple(stands), tuple(places))


def polygon_px(polygon_cm: tuple[tuple[float, float], ...], frame: Frame) -> NDArray[np.int32]:
    """Return a polygon (n, 2) in whole pixels of the frame, as written into the trial file."""
    return np.asarray(np.round(frame.px(np.asarray(polygon_cm))), dtype=np.int32)


def corners_px(frame: Frame) -> NDArray[np.int32]:
    """Return the front glass's corners (4, 2), top left first, clockwise."""
    return polygon_px(((0, HEIGHT_CM), (LENGTH_CM, HEIGHT_CM), (LENGTH_CM, 0), (0, 0)), frame)


def _place(
    key: str,
    kind: str,
    middle: float,
    depth: float,
    width: float,
    height: float,
    inside: tuple[float, float],
    foot: float | None = None,
) -> Place:
    """A place with a polygon drawn a little inside the thing (`inside` are shares of its width and height)."""
    foot_cm = foot_at(depth) if foot is None else foot
    half, middle_y = width * inside[0] / 2, foot_cm + height / 2
    box = _box(middle - half, middle + half, middle_y - height * inside[1] / 2, middle_y + height * inside[1] / 2)
    return Place(key, kind, middle, foot_cm, width, height, depth, box)


def _box(left: float, right: float, bottom: float, top: float) -> tuple[tuple[float, float], ...]:
    return ((left, top), (right, top), (right, bottom), (left, bottom))


def _tallest(story: Story, key: str, tank: str) -> float:
    """The greatest nominal height a stand reaches in a tank, cm."""
    stand = next(stand for stand in story.stands if stand.key == key)
    ends = [trim.day - 1e-6 for trim in trims(story, stand, tank)] + [float(story.days)]
    return max(stand_state(story, stand, tank, day).height_cm for day in ends)
