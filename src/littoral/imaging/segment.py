"""Which pixels of a stand's polygon are plant: one look and one threshold per stand, pooled over its whole series.

Three looks, each a number per pixel that is higher on plants:

- "chroma": CIELAB chroma over (L* + 60)/100, for green and red plants before a nearly grey ground (sand, water, soil);
  a shaded leaf loses chroma with its light, so that plain chroma misses it (intersection over union on two rendered
  series 0.87 plain, 0.92 so);
- "green": -a*, for plants before a coloured ground that is not green;
- "dark": how much darker in red light than the surroundings, for small plants in strongly coloured light. Chlorophyll
  absorbs red, so under a pink lamp green fronds look black. It cannot find a plant larger than its window.

The threshold is the midpoint between the two classes' means (Otsu 1979, IEEE Trans Syst Man Cybern 9:62-66), taken on
the histogram of all photos together: a threshold for each photo would follow the plant's growth.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from littoral.imaging.colour import image_to_lab
from littoral.imaging.frames import Cut, Mask, touching
from littoral.imaging.taught import TaughtLook

LOOKS = ("chroma", "green", "dark")
_LOW = {"chroma": 0.0, "green": -80.0, "dark": -0.5}
_HIGH = {"chroma": 120.0, "green": 100.0, "dark": 1.0}
BINS = 360
SHADE = 60.0
"""L* added below the line in the "chroma" look; larger trusts dark, noisy pixels less."""
DARK_WIDTH_PX, DARK_WINDOW_PX = 256, 31
"""The "dark" look works at this width, with surroundings of this window: about an eighth of the frame."""
MIN_STEP = {"chroma": 8.0, "green": 6.0, "dark": 0.15}
"""Classes closer than this are not two classes: the region is empty or full."""
COLOURED_GROUND, REALLY_GREEN = 25.0, 4.0
"""Chroma of a ground that is no longer nearly grey; -a* from which something is green."""
MIN_APART = 1.5
"""Distance of the classes in their own spread, below which they are not two."""

Histogram = NDArray[np.int64]
TAUGHT_STRONG = 2.0
"""Log odds beyond its border from which a stand that was taught is strongly so."""
FILLS = 0.5
"""Share of the place before a region that leaves fill once a plant has outgrown it."""


@dataclass(frozen=True, slots=True)
class Split:
    """Two classes of a histogram: `threshold`, `share` above it, the means `low` and `high`, `apart` in spreads."""

    threshold: float
    share: float
    low: float
    high: float
    apart: float


@dataclass(frozen=True, slots=True)
class Threshold:
    """How a stand is told from its ground. Without two classes `look` is "full" or "empty".

    `taught`, where a person drew strokes, is told by in place of the look.
    """

    look: str
    value: float
    split: Split | None
    flags: tuple[str, ...] = ()
    taught: TaughtLook | None = None

    @property
    def strong(self) -> float:
        """Half-way up to the plant's own mean, in whole steps of the histogram: one photo more seldom moves it."""
        if self.split is None:
            return np.inf
        step = (_HIGH[self.look] - _LOW[self.look]) / BINS
        return self.value + step * round((self.split.high - self.value) / 2 / step)


def surroundings(image: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Red of what lies around each pixel (height, width), 8-bit: the ground that the "dark" look compares with."""
    red = cv2.extractChannel(image, 0)
    scale = min(1.0, DARK_WIDTH_PX / red.shape[1])
    small = cv2.resize(red, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA) if scale < 1 else red
    blurred = cv2.medianBlur(small, DARK_WINDOW_PX)
    return np.asarray(cv2.resize(blurred, red.shape[::-1], interpolation=cv2.INTER_LINEAR), dtype=np.uint8)


def look_values(
    image: NDArray[np.uint8], cut: Cut, looks: Sequence[str] = LOOKS, *, around: NDArray[np.uint8] | None = None
) -> dict[str, NDArray[np.float32]]:
    """Values of each look over a region's box; `image` is the whole photo, sRGB uint8 (height, width, 3).

    `around` is `surroundings(image)`, worked out here where it is not given.
    """
    values: dict[str, NDArray[np.float32]] = {}
    if {"chroma", "green"} & set(looks):
        lightness, a, b = cv2.split(image_to_lab(cut.of(image)))
        if "chroma" in looks:
            values["chroma"] = np.asarray(cv2.magnitude(a, b) * np.float32(100) / (lightness + np.float32(SHADE)))
        if "green" in looks:
            values["green"] = np.asarray(-a)
    if "dark" in looks:
        ground = cut.of(surroundings(image) if around is None else around).astype(np.float32)
        values["dark"] = (ground - cut.of(image)[..., 0]) / (ground + np.float32(1))
    return values


def histograms(
    image: NDArray[np.uint8], cuts: Sequence[Cut], looks: Sequence[Sequence[str]]
) -> list[dict[str, Histogram]]:
    """Counts (BINS,) of each look inside each stand's polygon: all that pass one keeps of a photo."""
    around = surroundings(image) if any("dark" in some for some in looks) else None
    return [
        {
            look: count(value[cut.mask], bounds(look), BINS)
            for look, value in look_values(image, cut, some, around=around).items()
        }
        for cut, some in zip(cuts, looks, strict=True)
    ]


def count(values: NDArray[np.float32], limits: tuple[float, float], bins: int) -> Histogram:
    """Histogram (bins,) of values (n,); what lies outside the limits is counted in the end bins."""
    scale = np.float32(bins / (limits[1] - limits[0]))
    place = ((values - np.float32(limits[0])) * scale).astype(np.int32)
    return np.bincount(np.clip(place, 0, bins - 1), minlength=bins).astype(np.int64)


def bounds(look: str) -> tuple[float, float]:
    """Range of a look's histogram; values outside are counted in the end bins."""
    return _LOW[look], _HIGH[look]


def choose_threshold(
    pooled: Mapping[str, Histogram], look: str = "auto", *, ground: Mapping[str, Histogram] | None = None
) -> Threshold:
    """The look and threshold of a stand from its pooled histograms; `ground` are those of the tank outside all stands.

    With "auto", chroma is taken where it makes two classes of which the lower is nearly grey; else greenness where the
    upper class is really green; else darkness. What looks like the tank outside the stands is never the plant.
    """
    if look != "auto":
        best = _threshold(look, pooled[look])
    else:
        best = _threshold("chroma", pooled["chroma"])
        if best.split is None or best.split.low > COLOURED_GROUND or _is_ground(best, ground):
            best = _threshold("green", pooled["green"])
            if best.split is None or best.split.high < REALLY_GREEN or _is_ground(best, ground):
                best = _threshold("dark", pooled["dark"])
    if best.split is not None:
        return best
    typical = _mean(pooled["chroma"], "chroma") if "chroma" in pooled else 0.0
    if typical >= 18:
        return Threshold("full", -np.inf, None, ("plant fills the whole region in every photo, or none can be told",))
    return Threshold("empty", np.inf, None, ("no plant can be told from the ground in any photo",))


def plant_mask(
    image: NDArray[np.uint8], cut: Cut, threshold: Threshold, *, around: NDArray[np.uint8] | None = None
) -> Mask:
    """Plant pixels inside a stand's polygon, over its box; single pixels are smoothed away.

    `around` is `surroundings(image)`, worked out here where it is needed and not given.
    """
    if threshold.taught is not None:
        return threshold.taught.mask(image, cut, surroundings(image) if around is None else around)
    if threshold.look in ("full", "empty"):
        return cut.mask & (threshold.look == "full")
    above = (look_values(image, cut, (threshold.look,))[threshold.look] > threshold.value).astype(np.uint8)
    if threshold.look != "dark":
        above = np.asarray(cv2.medianBlur(above, 3), dtype=np.uint8)
    return above.astype(bool) & cut.mask


def grown_over(
    image: NDArray[np.uint8], cut: Cut, hidden: Mask | None, plants: Sequence[Threshold]
) -> NDArray[np.bool_]:
    """Where plants of stands before a region have grown over it, over its box.

    `hidden` is where they may stand anyway. A plant that has outgrown a part of it fills at least FILLS of that part;
    its leaves that reach out hang together with it and are as strongly coloured as the upper half of the stand's plant
    class. Without the first, algae that grow into `hidden` would be taken for leaves.
    """
    if hidden is None or not hidden.any():
        return np.zeros_like(cut.mask)
    plain, strong = np.zeros_like(hidden), np.zeros_like(hidden)
    for plant in plants:
        if plant.taught is not None:
            own, around = replace(cut, mask=np.ones_like(cut.mask)), surroundings(image)
            plain |= plant.taught.mask(image, own, around)
            strong |= plant.taught.mask(image, own, around, beyond=TAUGHT_STRONG)
        elif plant.split is not None and plant.look != "dark":
            values = look_values(image, cut, (plant.look,))[plant.look]
            plain |= values > plant.value
            strong |= values > plant.strong
    filled = np.zeros_like(hidden)
    count, parts = cv2.connectedComponents(hidden.astype(np.uint8))
    for part in range(1, count):
        here = parts == part
        if plain[here].mean() >= FILLS:
            filled |= here
    return touching(filled | (strong & ~hidden), filled)


def _is_ground(found: Threshold, ground: Mapping[str, Histogram] | None) -> bool:
    """Whether more than half of the tank outside the stands would count as plant."""
    if ground is None or ground[found.look].sum() == 0:
        return False
    above = _centres(bounds(found.look)) > found.value
    return bool(ground[found.look][above].sum() > 0.5 * ground[found.look].sum())


def _threshold(look: str, counts: Histogram) -> Threshold:
    # Dark plants are few among much shade, which is a class of its own: three classes, of which the upper one counts.
    split = split_in_two(counts, bounds(look))
    if look == "dark" and split is not None:
        inner = counts.copy()
        inner[: np.searchsorted(_centres(bounds(look)), split.threshold)] = 0
        split = split_in_two(inner, bounds(look)) or split
    if split is None or split.high - split.low < MIN_STEP[look] or split.apart < MIN_APART:
        split = None
    return Threshold(look, split.threshold if split else np.inf, split)


def split_in_two(counts: Histogram, limits: tuple[float, float]) -> Split | None:
    """Otsu's two classes of a histogram (n,) over `limits`; None where fewer than two bins are filled."""
    weight = counts.astype(np.float64)
    if np.count_nonzero(weight) < 2:
        return None
    x = _centres(limits, len(weight))
    below = np.cumsum(weight)[:-1]
    above = weight.sum() - below
    first, second = np.cumsum(weight * x)[:-1], np.cumsum(weight * x * x)[:-1]
    ok = (below > 0) & (above > 0)
    low = np.divide(first, below, where=ok, out=np.zeros_like(first))
    high = np.divide((weight * x).sum() - first, above, where=ok, out=np.zeros_like(first))
    between = np.where(ok, below * above * (high - low) ** 2, -1.0)
    k = int(between.argmax())
    spread = (second[k] / below[k] - low[k] ** 2 + ((weight * x * x).sum() - second[k]) / above[k] - high[k] ** 2) / 2
    width = (limits[1] - limits[0]) / len(weight)
    apart = (high[k] - low[k]) / np.sqrt(max(spread, width**2 / 12))
    return Split(float(x[k] + width / 2), float(above[k] / weight.sum()), float(low[k]), float(high[k]), float(apart))


def _centres(limits: tuple[float, float], count: int = BINS) -> NDArray[np.float64]:
    edges = np.linspace(limits[0], limits[1], count + 1)
    return np.asarray((edges[:-1] + edges[1:]) / 2, dtype=np.float64)


def _mean(counts: Histogram, look: str) -> float:
    return float((counts * _centres(bounds(look))).sum() / max(1, counts.sum()))
