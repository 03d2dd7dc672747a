"""Algae on stone, wood and glass: how far each pixel has moved toward green since the first days.

Score: -0.6 Δa* + 0.4 Δb* - 0.15 ΔL* against the region as it was in the first photos, smoothed. A pixel counts as
covered above half-way between clean (0) and the algae of the same region, pooled over the series, and never below what
the first days' own noise could do.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from littoral.imaging.colour import image_to_lab
from littoral.imaging.frames import Cut
from littoral.imaging.segment import count

DIRECTION = np.array([-0.15, -0.6, 0.4], dtype=np.float32)
SMOOTH_PX = 1.5
BINS, LIMITS = 400, (-20.0, 40.0)
LEAST_STEP = 4.0
"""A pixel must have moved by this much (about ΔE 5) whatever the noise: below it a thin film cannot be told."""

MOST_STEP = 10.0
"""Nothing that has moved this far is still clean, however strong the strongest green of the series is."""


@dataclass(frozen=True, slots=True, eq=False)
class Clean:
    """A region as it was in the first days: mean CIELAB over its box (height, width, 3) and the score's noise there."""

    lab: NDArray[np.float32]
    noise: float


def clean_state(images: list[NDArray[np.uint8]], cut: Cut) -> Clean:
    """The clean state of a region from the first prepared photos, sRGB uint8 of the same shape; at least one."""
    stack = [image_to_lab(cut.of(image)) for image in images]
    mean = np.asarray(np.mean(stack, axis=0, dtype=np.float32))
    if len(stack) == 1:
        return Clean(mean, 1.5)
    scores = np.stack([_score(lab - mean)[cut.mask] for lab in stack])
    # The mean holds 1/n of each photo, which hides that share of the noise.
    return Clean(mean, float(scores.std() * np.sqrt(len(stack) / (len(stack) - 1))))


def greening(image: NDArray[np.uint8], cut: Cut, clean: Clean) -> NDArray[np.float32]:
    """Score of each pixel over the region's box (height, width)."""
    return _score(image_to_lab(cut.of(image)) - clean.lab)


def greening_histogram(image: NDArray[np.uint8], cut: Cut, clean: Clean) -> NDArray[np.int64]:
    """Counts (BINS,) of the score over LIMITS."""
    return count(greening(image, cut, clean)[cut.mask], LIMITS, BINS)


def greening_threshold(pooled: NDArray[np.int64], clean: Clean) -> float:
    """The score above which a pixel counts as covered, from the histogram of the whole series."""
    centres = np.linspace(LIMITS[0], LIMITS[1], 2 * BINS + 1)[1::2]
    floor = max(LEAST_STEP, 3 * clean.noise)
    threshold = floor
    for _ in range(20):  # half-way between clean and the mean of what is above: settles in a few rounds
        above = centres > threshold
        if pooled[above].sum() == 0:
            break
        threshold = max(floor, float((pooled * centres)[above].sum() / pooled[above].sum()) / 2)
    step = (LIMITS[1] - LIMITS[0]) / BINS  # in whole steps of the histogram: one photo more seldom moves it
    return min(max(floor, step * round(threshold / step)), max(floor, MOST_STEP))


def _score(change: NDArray[np.float32]) -> NDArray[np.float32]:
    return np.asarray(cv2.GaussianBlur(change @ DIRECTION, (0, 0), SMOOTH_PX), dtype=np.float32)
