"""What a photo shows at a glance: how much it is like earlier photos of a view, where it is not, how bright and sharp.

A photo is kept as a small grey picture. It is compared with another in blocks, each of which may have moved a little:
the share of blocks that are found again tells a view from another, and where those lie that are not found tells a hand
in front of the glass from another tank.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

LOOK_WIDTH_PX = 128
BLOCK_PX = 16
REACH_PX = 6
"""Framing by hand differs by about 2 % of the width from day to day; 4 % are searched."""
FOUND = 0.35
"""A block is found again where its texture correlates by so much; set on rendered photos, see tests/imaging."""
ALIKE = 0.85
"""So alike are neighbours of one view, rendered or real, and no two views were."""
LEAST_TEXTURE = 12.0
"""Blocks of the reference with less texture than this (standard deviation, of 255) tell nothing: open water."""
BLUR_WIDTH_PX = 640
BLUR_REACH = 11
VERSION = 1
_HEAD = struct.Struct("<HHHffff")

Grey = NDArray[np.uint8]


@dataclass(frozen=True, slots=True, eq=False)
class Look:
    """A photo at a glance. `texture` is uint8 (height, LOOK_WIDTH_PX), light and shade taken out.

    `level` is the median and `bright` the 99.5th percentile of the picture's grey, 0 to 255; `clipped` the share of it
    at full white; `blur` is 0 (sharp) to 1.
    """

    texture: Grey
    level: float
    bright: float
    clipped: float
    blur: float

    def to_bytes(self) -> bytes:
        """Return it as bytes for a cache."""
        head = _HEAD.pack(VERSION, *self.texture.shape, self.level, self.bright, self.clipped, self.blur)
        return head + self.texture.tobytes()


@dataclass(frozen=True, slots=True)
class Likeness:
    """How one photo is like another: `score` is the mean correlation of the blocks that tell anything, 0 to 1.

    `found` is the share of them found again; `gap` the share of the frame in the largest connected patch of blocks
    that are not, where the patch touches the frame's edge. `mirrored` is the score of the photo turned left to right.
    """

    score: float
    found: float
    gap: float
    mirrored: float


def look_at(image: NDArray[np.uint8]) -> Look:
    """Return how an upright sRGB photo, uint8 (height, width, 3), looks; 320 px wide or more tells its blur best."""
    grey = np.asarray(cv2.cvtColor(image, cv2.COLOR_RGB2GRAY), dtype=np.uint8)
    small = _shrunk(grey, LOOK_WIDTH_PX, least=BLOCK_PX)
    middle = _shrunk(grey, min(BLUR_WIDTH_PX, grey.shape[1]), least=8)
    return Look(
        texture=_texture(small),
        level=float(np.median(small)),
        bright=float(np.quantile(small, 0.995)),
        clipped=float(np.mean(small > 250)),
        blur=blur_effect(middle),
    )


def look_from(data: bytes) -> Look | None:
    """Return what `Look.to_bytes` wrote; None for anything else."""
    if len(data) < _HEAD.size:
        return None
    version, height, width, level, bright, clipped, blur = _HEAD.unpack_from(data)
    body = np.frombuffer(data, np.uint8, offset=_HEAD.size)
    if version != VERSION or body.size != height * width or width != LOOK_WIDTH_PX:
        return None
    return Look(body.reshape(height, width), level, bright, clipped, blur)


def likeness(photo: Look, other: Look) -> Likeness:
    """Compare a photo with an earlier one; of another shape (portrait and landscape) nothing is alike."""
    one, two = photo.texture, other.texture
    if abs(np.log(one.shape[0] / two.shape[0])) > 0.1:
        return Likeness(0.0, 0.0, 0.0, 0.0)
    if one.shape != two.shape:
        one = np.asarray(cv2.resize(one, two.shape[::-1], interpolation=cv2.INTER_AREA), dtype=np.uint8)
    scores = _blocks(one, two)
    telling = np.isfinite(scores)
    if telling.sum() < 6:
        return Likeness(0.0, 0.0, 0.0, 0.0)
    score, mirrored = float(np.clip(scores[telling], 0, 1).mean()), 0.0
    if score < ALIKE:
        flipped = _blocks(np.ascontiguousarray(one[:, ::-1]), two)
        mirrored = float(np.clip(flipped[telling], 0, 1).mean())
    return Likeness(
        score=score,
        found=float((scores[telling] > FOUND).mean()),
        gap=_gap(scores),
        mirrored=mirrored,
    )


def blur_effect(grey: Grey) -> float:
    """Return how blurred a picture, uint8 (height, width), is: 0 sharp, 1 wholly blurred.

    Crete, Dolmiere, Ladret and Nicolas (2007), "The blur effect: perception and estimation with a new no-reference
    perceptual blur metric", SPIE 6492: blurring again takes the differences of neighbours out of a sharp picture, and
    hardly changes a blurred one. The larger of the two directions; windows of 11 pixels, as scikit-image has it.
    """
    picture = grey.astype(np.float32)
    worst = 0.0
    for axis in (0, 1):
        size = (1, BLUR_REACH) if axis == 0 else (BLUR_REACH, 1)
        again = cv2.blur(picture, size, borderType=cv2.BORDER_REFLECT)
        # Sobel, as the reference implementation has it: it smooths across and differences along
        order = (0, 1) if axis == 0 else (1, 0)
        sharp = np.abs(cv2.Sobel(picture, cv2.CV_32F, *order, borderType=cv2.BORDER_REFLECT))
        soft = np.abs(cv2.Sobel(again, cv2.CV_32F, *order, borderType=cv2.BORDER_REFLECT))
        inner = (slice(2, -1), slice(2, -1))
        total = float(sharp[inner].sum())
        lost = float(np.maximum(0, sharp - soft)[inner].sum())
        worst = max(worst, (total - lost) / total if total > 0 else 1.0)
    return worst


def _shrunk(grey: Grey, width: int, *, least: int) -> Grey:
    size = (width, max(least, round(width * grey.shape[0] / grey.shape[1])))
    return np.asarray(cv2.resize(grey, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)


def _texture(grey: Grey) -> Grey:
    log = cv2.LUT(grey, np.log(np.arange(256) / 255 + 0.03).astype(np.float32))
    detail = log - cv2.blur(log, (BLOCK_PX | 1, BLOCK_PX | 1))
    contrast = np.sqrt(np.maximum(cv2.blur(detail * detail, (BLOCK_PX | 1, BLOCK_PX | 1)), 0))
    return np.asarray(np.clip(128 + 48 * detail / (contrast + 0.06), 0, 255), dtype=np.uint8)


def _blocks(photo: Grey, other: Grey) -> NDArray[np.float64]:
    """Return the best correlation of each block of `other` in `photo` (rows, columns); NaN where it tells nothing."""
    height, width = other.shape
    rows, columns = height // BLOCK_PX, width // BLOCK_PX
    padded = cv2.copyMakeBorder(photo, REACH_PX, REACH_PX, REACH_PX, REACH_PX, cv2.BORDER_REFLECT)
    scores = np.full((rows, columns), np.nan)
    for row in range(rows):
        for column in range(columns):
            y, x = row * BLOCK_PX, column * BLOCK_PX
            block = other[y : y + BLOCK_PX, x : x + BLOCK_PX]
            if block.std() < LEAST_TEXTURE:
                continue
            area = padded[y : y + BLOCK_PX + 2 * REACH_PX, x : x + BLOCK_PX + 2 * REACH_PX]
            scores[row, column] = np.nan_to_num(cv2.matchTemplate(area, block, cv2.TM_CCOEFF_NORMED)).max()
    return scores


def _gap(scores: NDArray[np.float64]) -> float:
    """Return the share of the frame in the largest patch of lost blocks that touches its edge."""
    lost = np.where(np.isnan(scores), 0, scores <= FOUND).astype(np.uint8)
    count, labels = cv2.connectedComponents(lost, connectivity=4)
    edge = np.concatenate([labels[0], labels[-1], labels[:, 0], labels[:, -1]])
    sizes = [float((labels == label).mean()) for label in range(1, count) if (edge == label).any()]
    return max(sizes, default=0.0)
