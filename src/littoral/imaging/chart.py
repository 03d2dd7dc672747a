"""A 24-patch reference chart in the picture: its patches within four corners, its turn, and whether it is whole.

What each edition's patches are is in chart_24.csv beside this module, with its source. Values are for D50 and are
brought to D65, the white of sRGB, by the Bradford transform (Lindbloom; matrix as in ICC.1:2010, annex E).
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import cv2
import numpy as np
from numpy.typing import NDArray

from littoral.imaging.camera_model import CameraModel, fit
from littoral.imaging.colour import D65_WHITE, SRGB_TO_XYZ, ciede2000, linear_to_lab, srgb_to_linear

FloatArray = NDArray[np.float64]

EDITIONS = ("before Nov 2014", "after Nov 2014")
D50_WHITE = np.array([0.96422, 1.0, 0.82521])
BRADFORD = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])
GAP = 0.25
"""Width of the gap between two patches, in patches: between that of the small and the large charts."""
FAR = 12.0
"""ΔE00 from its reference, after the fit, at which something stands before a patch (no source)."""
MOST_FAR = 2


@dataclass(frozen=True, slots=True, eq=False)
class ChartReading:
    """A chart's 24 patches in the printed order: 8-bit sRGB (24, 3), middles in pixels (24, 2), and how far each is
    from its reference after a camera was fitted to all (ΔE00, (24,)).

    `whole` is False where too many are too far: the chart is partly hidden, of another kind, or wrongly outlined.
    """

    value: FloatArray
    middle_px: FloatArray
    off: FloatArray
    whole: bool


@cache
def chart_lab(edition: str) -> FloatArray:
    """CIELAB (24, 3), D50, of the patches in the printed order. Raises ValueError for an edition that is not known."""
    if edition not in EDITIONS:
        raise ValueError(f'there is no edition "{edition}" of the chart; there are {" and ".join(EDITIONS)}')
    text = files("littoral.imaging").joinpath("chart_24.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(line for line in text.splitlines() if not line.startswith("#"))
    return np.array([[float(row[key]) for key in ("L", "a", "b")] for row in rows if row["edition"] == edition])


@cache
def chart_light(edition: str) -> FloatArray:
    """Linear sRGB light (24, 3) of the patches under D65; one patch lies slightly outside sRGB."""
    lab = chart_lab(edition)
    fy = (lab[:, 0] + 16) / 116
    f = np.stack([fy + lab[:, 1] / 500, fy, fy - lab[:, 2] / 200], axis=1)
    xyz = np.where(f > 6 / 29, f**3, 3 * (6 / 29) ** 2 * (f - 4 / 29)) * D50_WHITE
    cones = (BRADFORD @ D65_WHITE) / (BRADFORD @ D50_WHITE)
    to_d65 = np.linalg.inv(BRADFORD) @ np.diag(cones) @ BRADFORD
    return np.asarray(np.linalg.solve(SRGB_TO_XYZ, to_d65 @ xyz.T).T, dtype=np.float64)


def read_chart(image: NDArray[np.uint8], corners_px: FloatArray, edition: str) -> ChartReading:
    """Read a chart from an sRGB image, uint8 (height, width, 3).

    `corners_px` (4, 2) are the outer corners of the corner patches, in order around the chart from any of them on: its
    turn is found by trying all eight. Raises ValueError where there are not four.
    """
    if np.shape(corners_px) != (4, 2):
        raise ValueError(f"a chart has four corners; got an array of shape {np.shape(corners_px)}")
    goal, best = chart_light(edition), None
    for mirrored in (False, True):
        around = corners_px[::-1] if mirrored else corners_px
        for start in range(4):
            middle = _middles(np.roll(around, -start, axis=0))
            value = np.array([_patch(image, place, corners_px) for place in middle])
            model = fit_chart(value, goal)
            off = chart_off(model, value, goal)
            if best is None or np.median(off) < np.median(best.off):
                best = ChartReading(value, middle, off, bool((off > FAR).sum() <= MOST_FAR))
    assert best is not None, "eight turns were tried"
    return best


def fit_chart(value: FloatArray, goal: FloatArray) -> CameraModel:
    """The camera by which 8-bit patches (n, 3) have the linear light `goal` (n, 3): curve, gains, mixing, even veil."""
    goal = np.clip(goal, 1e-3, None)
    n = len(value)
    return fit(value, goal, np.ones((n, 1)), np.zeros(n), np.ones(n), flat=True, mixed=True, independent=float(n))[0]


def chart_off(model: CameraModel, value: FloatArray, goal: FloatArray) -> FloatArray:
    """ΔE00 (n,) of patches from their linear light after the camera is taken out."""
    n = len(value)
    light = model.light(value, np.ones((n, 1)), np.zeros(n))
    return ciede2000(linear_to_lab(np.clip(light, 0, None)), linear_to_lab(np.clip(goal, 0, None)))


def light_of(value: FloatArray) -> FloatArray:
    """Linear light of 8-bit sRGB values, any shape."""
    return srgb_to_linear(np.asarray(value) / 255)


def _middles(corners: FloatArray) -> FloatArray:
    """Middles (24, 2) of 4 rows of 6 patches; the first corner is the first patch's, the second ends the first row."""
    across, down = 6 + 5 * GAP, 4 + 3 * GAP
    rows, columns = np.divmod(np.arange(24), 6)
    flat = np.stack([(columns * (1 + GAP) + 0.5) / across, (rows * (1 + GAP) + 0.5) / down], axis=1)
    square = np.array([[0, 0], [1, 0], [1, 1], [0, 1]], dtype=np.float32)
    matrix = cv2.getPerspectiveTransform(square, corners.astype(np.float32))
    return np.asarray(cv2.perspectiveTransform(flat[None].astype(np.float32), matrix)[0], dtype=np.float64)


def _patch(image: NDArray[np.uint8], middle: FloatArray, corners: FloatArray) -> FloatArray:
    """Median colour of the middle of a patch, about a third of it wide."""
    size = np.sqrt(abs(cv2.contourArea(corners.astype(np.float32))) / 24)
    half = max(1, round(0.16 * size))
    x, y = (int(v) for v in np.round(middle))
    box = image[max(0, y - half) : y + half + 1, max(0, x - half) : x + half + 1].reshape(-1, 3)
    return np.median(box, axis=0).astype(np.float64) if len(box) else np.zeros(3)
