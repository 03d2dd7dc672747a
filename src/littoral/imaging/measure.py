"""Numbers of one region of one photo: cover, canopy height, width and colour, from its mask."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from littoral.imaging.colour import LINEAR_OF_BYTE, image_to_lab, linear_to_lab
from littoral.imaging.frames import Cut, Mask, touching

FILLED = 0.30
"""A column belongs to the canopy where plant fills at least this share between its top and the stand's base."""
BASE_REACH = 0.25
"""A piece of plant belongs to the stand if it reaches into this lowest share of the polygon's height."""
FOOT_REACH = 0.05
"""A stand stands on the foot of its polygon as drawn where plant comes so near to it, as a share of its height."""
LOW = 1 / 3
"""Columns under this share of the 90th percentile of heights are leaves of a low neighbour before the stand."""
HEIGHT_COMMON_CM, WIDTH_COMMON_CM, COVER_COMMON = 0.10, 0.18, 0.018
"""Standard error of a canopy's height and width, and of a stand's cover (a share), that a whole series of one stand has
in common (where its foot is, where its edges end): root mean square of 54 stands' mean errors on rendered series (2, 5,
6, 9, 210). How well a keeper's hand draws the foot comes besides, and that what stands far back looks smaller than on
the front glass."""
MIN_PIXELS = 20
COLOUR_FLOOR = 0.30
"""What no correction takes out of a change over days, in L*, a* and b*."""
RESIDUAL_SHARE = 0.30
"""Share of the residual on single blocks, their own noise included, that is left in a plant's colour: with both, 95 %
intervals held 0.96 of the changes over days on rendered series of five seeds (1, 2, 3, 5, 9)."""
SCALE_ERROR, SCALE_ERROR_LIGHTNESS = 1.0, 1.4
"""Standard error of a* and b*, and of L*, that a series has in common where the card's fields are known: root mean
square over the stands of ten rendered views (2, 5, 6, 9, 210: 0.85 and 1.2), times 1.14, as ten views tell it no better
(Student's t). Lightness hangs on what the lens loses toward the edges, which a card at an edge cannot tell alone. It
never averages out, and stands beside `colour_error`."""
UNCHECKED_ERROR, UNCHECKED_LOCKED = 4.6, 1.1
"""Mean error where no reference could be used: automatic and locked camera (METHODS, first row of the colour table)."""

YELLOW = (70.0, 100.0)
GREEN_HUE = 100.0
"""Yellowing is told of stands whose hue was greener than this at first."""
SPOT_CM = 0.6
"""Algae in patches up to this across are spots, wider ones a film (common practice, no source)."""

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Columns:
    """What is kept of a stand's mask until its base is known: for each column of the box its top row (-1 where there is
    none), its plant pixels, and the lowest row of the stand, in rows of the box."""

    top: NDArray[np.int32]
    count: NDArray[np.int32]
    lowest: float


def rooted(mask: Mask, cut: Cut) -> Mask:
    """The pieces of a mask that reach the lowest part of the polygon: a neighbour's stray leaves do not."""
    rows = np.flatnonzero(cut.mask.any(axis=1))
    floor = rows[-1] - BASE_REACH * (rows[-1] - rows[0])
    # Thin stems break up in the mask: pieces a few pixels apart are one plant.
    reach = max(3, round(0.03 * mask.shape[0])) | 1
    joined = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_CLOSE, np.ones((reach, reach), np.uint8))
    low = np.zeros(mask.shape, dtype=bool)
    low[int(np.ceil(floor)) :] = True
    return mask & touching(np.asarray(joined, dtype=bool), low)


def columns_of(mask: Mask, cut: Cut) -> Columns:
    """Column statistics of a stand's mask over its box."""
    plant = rooted(mask, cut)
    count = plant.sum(axis=0).astype(np.int32)
    top = np.where(count > 0, plant.argmax(axis=0), -1).astype(np.int32)
    rows = plant.sum(axis=1)
    full = np.flatnonzero(rows > 0.15 * rows.max(initial=0))
    return Columns(top, count, float(full[-1] + 1) if len(full) else float("nan"))


def base_row(series: list[Columns]) -> float:
    """Where a stand stands, in rows of its box: the median over the series of the lowest row it fills."""
    lowest = np.array([columns.lowest for columns in series])
    return float(np.nanmedian(lowest)) if np.isfinite(lowest).any() else float("nan")


def foot_row(series: list[Columns], drawn: float, tall: float) -> float:
    """The row that heights count from: the polygon's foot as it was drawn, where plant comes near to it.

    `drawn` is the polygon's lowest row and `tall` its height, in rows of the box. A person sees better than a mask
    where a plant leaves the ground; where the polygon goes on below the plant, `base_row` stands.
    """
    lowest = base_row(series)
    return drawn if abs(lowest - drawn) <= FOOT_REACH * tall else lowest


def canopy(columns: Columns, base: float) -> tuple[float, float]:
    """Mean height of the canopy above `base` and its width, both in working pixels; 0 where nothing grows.

    The mean is over columns that plant fills to FILLED between their top and the base. Columns under LOW of the 90th
    percentile do not count for height: leaves of a low neighbour before the stand would pull it down.
    """
    tall = base - columns.top
    good = (columns.top >= 0) & (tall > 0) & (columns.count >= FILLED * np.maximum(tall, 1))
    if not good.any():
        return 0.0, 0.0
    heights = tall[good]
    return float(heights[heights >= LOW * np.quantile(heights, 0.9)].mean()), float(good.sum())


def mid_colour(image: NDArray[np.uint8], cut: Cut, mask: Mask) -> FloatArray | None:
    """CIELAB (3,) of a mask's mid-tones: the mean, in linear light, of its 10th to 60th percentile of luminance.

    Leaf shade and glare fall outside. None where the mask has fewer than MIN_PIXELS.
    """
    pixels = cut.pixels(image, mask)
    if len(pixels) < MIN_PIXELS:
        return None
    light = np.asarray(cv2.LUT(pixels[None], LINEAR_OF_BYTE)[0], dtype=np.float32)
    luminance = light @ np.array([0.212671, 0.715160, 0.072169], dtype=np.float32)
    low, high = np.quantile(luminance, [0.10, 0.60])
    return linear_to_lab(light[(luminance >= low) & (luminance <= high)].mean(axis=0, dtype=np.float64))


def yellow_share(image: NDArray[np.uint8], cut: Cut, mask: Mask) -> float | None:
    """Share of a mask's pixels that are yellow: hue 70 to 100 degrees, chroma over 20, L* over 35 (chosen by eye)."""
    if mask.sum() < MIN_PIXELS:
        return None
    lightness, a, b = cv2.split(image_to_lab(cut.pixels(image, mask)[None])[0][:, None])
    (low_a, high_a), (low_b, high_b) = np.cos(np.radians(YELLOW)), np.sin(np.radians(YELLOW))
    between = (low_a * b > low_b * a) & (a * high_b > b * high_a)  # of two directions, without an angle for each pixel
    return float((between & (a * a + b * b > 20 * 20) & (lightness > 35)).mean())


def holes_share(mask: Mask) -> float | None:
    """Share of what lies within a mask's outlines that is not mask."""
    if mask.sum() < MIN_PIXELS:
        return None
    outlines, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    whole = np.zeros(mask.shape, np.uint8)
    cv2.drawContours(whole, outlines, -1, 1, thickness=cv2.FILLED)
    return float(1 - mask.sum() / max(1, int(whole.sum())))


def wide_share(covered: Mask, px_per_cm: float | None) -> float:
    """Share of covered pixels in patches larger than a spot of SPOT_CM (without a scale: than 1 % of the box)."""
    if not covered.any():
        return 0.0
    limit = 0.01 * covered.size if px_per_cm is None else np.pi / 4 * (SPOT_CM * px_per_cm) ** 2
    _, _, stats, _ = cv2.connectedComponentsWithStats(covered.astype(np.uint8), connectivity=8)
    areas = stats[1:, cv2.CC_STAT_AREA]
    return float(areas[areas > limit].sum() / covered.sum())


def region_colour(image: NDArray[np.uint8], cut: Cut) -> FloatArray:
    """Median CIELAB (3,) over a region's polygon."""
    return np.median(image_to_lab(cut.of(image))[cut.mask], axis=0).astype(np.float64)


def colour_error(residual: float | None, *, camera_locked: bool) -> float:
    """Standard error of L*, a* and b* of one photo: what no correction takes out, and the references' residual."""
    if residual is None:
        return UNCHECKED_LOCKED if camera_locked else UNCHECKED_ERROR
    return float(np.hypot(COLOUR_FLOOR, RESIDUAL_SHARE * residual))
