"""A stand's look taught by brush strokes on a few photos: "this is the stand", "this is not".

Each pixel has five numbers: L*, a*, b*, chroma over shade, and how much darker in red than its surroundings (the looks
of `imaging.segment`). Logistic regression on the pixels under the strokes weighs them (Cox 1958, J R Stat Soc B
20:215-232), with a ridge so that few strokes cannot make it certain. Linear and not quadratic: in a first trial on real
rice plants (two draws, six photos, the border held at SUREST alone) the overlap was 0.83 against 0.78.

Strokes do not say how much of a region is stand, so how sure a pixel must be is settled over the whole series by
expectation and maximisation of that share (Saerens, Latinne, Decaestecker 2002, Neural Computation 14:21-41), held
within what the strokes themselves say: at most a fifth of what a person called stand is given up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from littoral.imaging.colour import image_to_lab
from littoral.imaging.frames import Cut, FrameLayout, Mask

RIDGE = 1.0
"""Weight against large coefficients, in standard deviations of each number under the strokes."""
WEIGHT = 200.0
"""All strokes together count as so many pixels, half of them on each side: neighbouring pixels repeat each other."""
LARGEST = 4.0
"""A number farther than this from what the strokes showed, in their standard deviations, counts as this far."""
GIVEN_UP = 0.2
"""Share of the pixels under strokes of one side that the series may overrule."""
SUREST = 3.0
"""Log odds beyond which the series does not move the border: 1 in 20 either way."""
AGREED = 0.8
"""Strokes of which less than this share, mean of both sides, can be told apart contradict each other; by eye."""
FEWEST_PIXELS = 30
MOST_PIXELS = 400
"""No stroke counts with more pixels than this, so that one long stroke does not outvote the others."""
EVERY = 3
"""Every so many pixels each way are looked at to settle the share over the series."""

FloatArray = NDArray[np.float64]
Image = NDArray[np.uint8]


@dataclass(frozen=True, slots=True, eq=False)
class Brush:
    """One stroke on the photo at place `photo` of a series: `path_px` (n, 2) and `width_px` in pixels of the frame."""

    photo: int
    is_stand: bool
    path_px: FloatArray
    width_px: float


@dataclass(frozen=True, slots=True, eq=False)
class Sample:
    """The pixels under one stroke as numbers, shape (n, 5)."""

    is_stand: bool
    numbers: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class TaughtLook:
    """What strokes taught: log odds are `weight` (5,) times numbers less `mean` (5,) over `spread` (5,), plus `offset`.

    `border` is the log odds above which a pixel is stand, between `least` and `most`, what the strokes allow. `agree`
    is the share of stroke pixels told as the person said, mean of both sides; `against` are the places of the strokes
    of which the larger part is told otherwise.
    """

    weight: FloatArray
    mean: FloatArray
    spread: FloatArray
    offset: float
    least: float
    most: float
    agree: float
    against: tuple[int, ...]
    border: float = 0.0

    @property
    def contradicted(self) -> bool:
        """Whether the strokes contradict each other so much that nothing can be learned from them."""
        return self.agree < AGREED

    def log_odds(self, numbers: NDArray[np.float32]) -> NDArray[np.float32]:
        """Log odds (...) that pixels are stand, from their numbers (..., 5)."""
        scaled = (numbers - self.mean.astype(np.float32)) / self.spread.astype(np.float32)
        np.clip(scaled, -LARGEST, LARGEST, out=scaled)
        return np.asarray(scaled @ self.weight.astype(np.float32) + np.float32(self.offset), dtype=np.float32)

    def mask(self, image: Image, cut: Cut, around: Image, *, beyond: float = 0.0) -> Mask:
        """Stand pixels over a cut's box, single ones smoothed away; `around` is `segment.surroundings(image)`.

        `beyond` asks for so much more than the border, in log odds.
        """
        above = (self.log_odds(numbers_of(image, cut, around)) > self.border + beyond).astype(np.uint8)
        return np.asarray(cv2.medianBlur(above, 3), dtype=np.uint8).astype(bool) & cut.mask


def numbers_of(image: Image, cut: Cut, around: Image) -> NDArray[np.float32]:
    """The five numbers of each pixel of a cut's box, (height, width, 5), of a prepared photo, sRGB uint8."""
    lab = image_to_lab(cut.of(image))
    lightness, a, b = cv2.split(lab)
    chroma = cv2.magnitude(a, b) * np.float32(100) / (np.maximum(lightness, 0) + np.float32(60))
    ground = cut.of(around).astype(np.float32)
    dark = np.float32(100) * (ground - cut.of(image)[..., 0]) / (ground + np.float32(1))
    return np.dstack([lab, np.asarray(chroma), dark]).astype(np.float32)


def samples_of(
    image: Image, layout: FrameLayout, cut: Cut, brushes: Sequence[Brush], around: Image
) -> tuple[Sample, ...]:
    """The pixels under strokes on one prepared photo, those within the cut's polygon; one sample for each stroke."""
    numbers = numbers_of(image, cut, around)
    found = []
    for brush in brushes:
        under = brushed(brush, layout)[cut.rows, cut.columns] & cut.mask
        pixels = numbers[under].astype(np.float64)
        if len(pixels) > MOST_PIXELS:
            pixels = pixels[np.linspace(0, len(pixels) - 1, MOST_PIXELS).astype(int)]
        found.append(Sample(brush.is_stand, pixels))
    return tuple(found)


def brushed(brush: Brush, layout: FrameLayout) -> Mask:
    """Where a stroke runs on the working frame (height, width): at least one pixel wide."""
    canvas = np.zeros(layout.size_px[::-1], dtype=np.uint8)
    path = np.round(brush.path_px * layout.per_frame_px).astype(np.int32)
    width = max(1, round(brush.width_px * layout.per_frame_px))
    if len(path) == 1:
        cv2.circle(canvas, path[0].tolist(), max(1, width // 2), 1, -1)
    else:
        cv2.polylines(canvas, [path.reshape(-1, 1, 2)], False, 1, width)
    return canvas.astype(bool)


def too_few(samples: Sequence[Sample]) -> str:
    """Say what strokes are missing before anything can be learned, "" where there are enough."""
    stand, other = (
        sum(len(one.numbers) for one in samples if one.is_stand is side and len(one.numbers)) for side in (True, False)
    )
    if stand >= FEWEST_PIXELS and other >= FEWEST_PIXELS:
        return ""
    if stand < FEWEST_PIXELS and other < FEWEST_PIXELS:
        return "strokes on the stand and beside it are missing within its outline"
    return "strokes on the stand are missing" if stand < FEWEST_PIXELS else "strokes beside the stand are missing"


def teach(samples: Sequence[Sample]) -> TaughtLook:
    """Learn from strokes; the same strokes give the same look. ValueError where `too_few` says so."""
    if said := too_few(samples):
        raise ValueError(said)
    x = np.concatenate([one.numbers for one in samples])
    stand = np.concatenate([np.full(len(one.numbers), one.is_stand) for one in samples])
    mean, spread = x.mean(axis=0), x.std(axis=0) + 1e-3
    scaled = np.column_stack([np.ones(len(x)), np.clip((x - mean) / spread, -LARGEST, LARGEST)])
    each = np.where(stand, 0.5 / stand.sum(), 0.5 / (~stand).sum()) * WEIGHT
    found = _fitted(scaled, stand.astype(float), each)
    odds = scaled @ found
    sides = [float((odds[stand] > 0).mean()), float((odds[~stand] <= 0).mean())]
    against, at = [], 0
    for place, one in enumerate(samples):
        told = odds[at : at + len(one.numbers)] > 0
        at += len(one.numbers)
        if len(told) and (told == one.is_stand).mean() < 0.5:
            against.append(place)
    return TaughtLook(
        weight=found[1:],
        mean=mean,
        spread=spread,
        offset=float(found[0]),
        least=float(min(0.0, max(-SUREST, np.quantile(odds[~stand], 1 - GIVEN_UP)))),
        most=float(max(0.0, min(SUREST, np.quantile(odds[stand], GIVEN_UP)))),
        agree=float(np.mean(sides)),
        against=tuple(against),
    )


def _fitted(x: FloatArray, y: FloatArray, each: FloatArray) -> FloatArray:
    """Coefficients (k,) of a logistic regression with a ridge, by Newton's steps; the first column has no ridge."""
    ridge = np.diag([1e-6, *np.full(x.shape[1] - 1, RIDGE)])
    found = np.zeros(x.shape[1])
    for _ in range(50):
        chance = 1 / (1 + np.exp(-np.clip(x @ found, -30, 30)))
        slope = x.T @ (each * (y - chance)) - ridge @ found
        step = np.linalg.solve((x.T * (each * chance * (1 - chance))) @ x + ridge, slope)
        found = found + step
        if np.abs(step).max() < 1e-8:
            break
    return found


def settled(look: TaughtLook, odds: FloatArray) -> TaughtLook:
    """Settle the border over a series: `odds` (n,) are log odds of pixels of all its photos, each as often as it is."""
    likelihood = np.exp(np.clip(odds, -30, 30))
    share = 0.3
    for _ in range(200):
        new = float((share * likelihood / (share * likelihood + 1 - share)).mean())
        done, share = abs(new - share) < 1e-7, min(max(new, 1e-6), 1 - 1e-6)
        if done:
            break
    return replace(look, border=float(np.clip(np.log((1 - share) / share), look.least, look.most)))


def few_odds(look: TaughtLook, image: Image, cut: Cut, around: Image) -> NDArray[np.float32]:
    """Log odds (n,) of some of a stand's pixels on one photo, for `settled`."""
    odds = look.log_odds(numbers_of(image, cut, around)[::EVERY, ::EVERY])
    return odds[cut.mask[::EVERY, ::EVERY]]
