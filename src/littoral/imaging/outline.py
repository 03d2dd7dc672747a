"""The outline of tanks in a photo, proposed: straight edges that together go around a piece of glass.

Long straight segments (line segment detector, Grompone von Gioi et al. 2012, as in OpenCV) are taken as sides; each way
to put two upright and two level ones together is scored by how much of its outline really lies on such segments. A
person confirms or moves the corners: this is where to begin, not a measure.
"""

from __future__ import annotations

from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

WORK_WIDTH_PX = 720
TILT = np.deg2rad(9)
"""Sides of a tank that is photographed from its front lean no more than this."""
LEAST_SHARE = 0.6
"""The share of an outline that must lie on segments before it is proposed."""
NEAR_PX = 3.0
MOST_SIDES = 14


def tank_outlines(picture: NDArray[np.uint8], *, tanks: int = 1) -> list[FloatArray]:
    """Return up to `tanks` outlines in a picture (height, width, 3; sRGB uint8), from left to right.

    Each has shape (4, 2), pixels from top left clockwise. Only outlines that are clear come back, none that overlap.
    """
    import cv2

    grey = cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY)
    scale = min(1.0, WORK_WIDTH_PX / grey.shape[1])
    small = cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    height, width = small.shape
    found: Any = cv2.createLineSegmentDetector(cv2.LSD_REFINE_STD).detect(small)[0]
    if found is None:
        return []
    segments = np.asarray(found, dtype=np.float64).reshape(-1, 4)
    upright = _lines(segments[_leans(segments, upright=True)], along=1, least=0.22 * height)
    level = _lines(segments[_leans(segments, upright=False)], along=0, least=0.22 * width / tanks)
    best = _best(upright, level, width=width, height=height, tanks=tanks)
    return [corners / scale for corners in sorted(best, key=lambda one: float(one[:, 0].mean()))]


def _leans(segments: FloatArray, *, upright: bool) -> NDArray[np.bool_]:
    along = np.abs(segments[:, 2] - segments[:, 0]), np.abs(segments[:, 3] - segments[:, 1])
    short, long = along if upright else along[::-1]
    return np.asarray(short < np.tan(TILT) * long)


def _lines(segments: FloatArray, *, along: int, least: float) -> list[tuple[FloatArray, FloatArray]]:
    """Join segments that lie on one line; return each line as (slope, offset) and the stretches that it covers.

    `along` is the axis that the lines run along (1: upright); only lines with stretches of `least` px together count,
    the longest MOST_SIDES of them.
    """
    across = 1 - along
    ends = segments.reshape(-1, 2, 2)
    middle = ends.mean(axis=1)
    lengths = np.hypot(*(ends[:, 1] - ends[:, 0]).T)
    left = set(range(len(segments)))
    lines: list[tuple[float, FloatArray, FloatArray]] = []
    for start in np.argsort(-lengths):
        if start not in left:
            continue
        a, b = ends[start]
        slope = (b[across] - a[across]) / (b[along] - a[along])
        mine = [
            i for i in left if abs(middle[i, across] - (a[across] + slope * (middle[i, along] - a[along]))) < NEAR_PX
        ]
        left -= set(mine)
        points = ends[mine].reshape(-1, 2)
        fit = np.polyfit(points[:, along], points[:, across], 1, w=np.repeat(lengths[mine], 2))
        stretches = np.sort(ends[mine][:, :, along], axis=1)
        covered = _covered(stretches)
        if covered >= least:
            lines.append((covered, np.asarray(fit, dtype=np.float64), stretches))
    lines.sort(key=lambda line: -line[0])
    return [(fit, stretches) for _, fit, stretches in lines[:MOST_SIDES]]


def _covered(stretches: FloatArray, low: float = -np.inf, high: float = np.inf) -> float:
    """Return how much of low..high lies under some stretch; `stretches` has shape (n, 2)."""
    total, reached = 0.0, low
    for start, end in stretches[np.argsort(stretches[:, 0])]:
        start, end = max(start, reached), min(end, high)
        if end > start:
            total, reached = total + end - start, end
    return total


def _best(upright: list[Any], level: list[Any], *, width: int, height: int, tanks: int) -> list[FloatArray]:
    found: list[tuple[float, FloatArray]] = []
    for (one, its), (other, others) in combinations(upright, 2):
        for (above, over), (below, under) in combinations(level, 2):
            corners = np.array([_cross(v, h) for v, h in ((one, above), (other, above), (other, below), (one, below))])
            corners = _clockwise(corners)
            size = corners.max(axis=0) - corners.min(axis=0)
            widest = width if tanks == 1 else 1.3 * width / tanks  # not one outline around all of them
            if not 0.35 * width / tanks <= size[0] <= widest + 4 or size[1] < 0.3 * height:
                continue
            if corners.min() < -2 or (corners > (width + 2, height + 2)).any():
                continue
            ys, xs = np.sort(corners[:, 1]), np.sort(corners[:, 0])
            sides = (
                _covered(its, ys[:2].mean(), ys[2:].mean()) + _covered(others, ys[:2].mean(), ys[2:].mean()),
                _covered(over, xs[:2].mean(), xs[2:].mean()) + _covered(under, xs[:2].mean(), xs[2:].mean()),
            )
            share = sum(sides) / (2 * size.sum())
            if share >= LEAST_SHARE:
                found.append((share * np.sqrt(size.prod() / (width * height / tanks)), corners))
    chosen: list[FloatArray] = []
    for _, corners in sorted(found, key=lambda one: -one[0]):
        if len(chosen) < tanks and all(_apart(corners, other) for other in chosen):
            chosen.append(corners)
    return chosen


def _cross(upright: FloatArray, level: FloatArray) -> tuple[float, float]:
    """Return where x = a·y + b meets y = c·x + d."""
    (a, b), (c, d) = upright, level
    y = (c * b + d) / (1 - a * c)
    return float(a * y + b), float(y)


def _clockwise(corners: FloatArray) -> FloatArray:
    """Put four corners in order from the top left, clockwise as seen on the photo."""
    by_y = corners[np.argsort(corners[:, 1])]
    top, bottom = by_y[:2], by_y[2:]
    top, bottom = top[np.argsort(top[:, 0])], bottom[np.argsort(-bottom[:, 0])]
    return np.vstack([top, bottom])


def _apart(one: FloatArray, other: FloatArray) -> bool:
    return bool(one[:, 0].max() <= other[:, 0].min() + 4 or other[:, 0].max() <= one[:, 0].min() + 4)
