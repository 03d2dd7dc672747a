"""Smooth random fields, from a generator handed in."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

Field = NDArray[np.float32]


def smooth_noise(rng: np.random.Generator, shape: tuple[int, int], cell_px: tuple[float, float]) -> Field:
    """Return noise of `shape` (height, width), about normal, smooth over cells of (height, width) pixels."""
    height, width = shape
    rows, columns = max(2, int(height / cell_px[0]) + 3), max(2, int(width / cell_px[1]) + 3)
    coarse = rng.standard_normal((rows, columns), dtype=np.float32)
    grown = cv2.resize(
        coarse, (int(columns * cell_px[1]) + 1, int(rows * cell_px[0]) + 1), interpolation=cv2.INTER_CUBIC
    )
    top, left = int(cell_px[0]), int(cell_px[1])
    return np.asarray(grown[top : top + height, left : left + width], dtype=np.float32)


def fractal_noise(
    rng: np.random.Generator, shape: tuple[int, int], cell_px: float, *, octaves: int = 4, stretch: float = 1.0
) -> Field:
    """Return the sum of `octaves` smooth fields, each half as coarse and strong; `stretch` widens cells in x."""
    total = np.zeros(shape, dtype=np.float32)
    for octave in range(octaves):
        cell = max(1.5, cell_px / 2**octave)
        total += smooth_noise(rng, shape, (cell, cell * stretch)) * np.float32(0.5**octave)
    return total / np.float32(sum(0.25**octave for octave in range(octaves)) ** 0.5)
