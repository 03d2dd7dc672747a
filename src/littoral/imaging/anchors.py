"""What a photo's camera is judged by: small blocks of the tank that stay as they are, and the card's fields."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from littoral.imaging.camera_model import edge_at
from littoral.imaging.chart import chart_light, read_chart
from littoral.imaging.frames import FrameLayout, RegionOnFrame, every

FloatArray = NDArray[np.float64]

BLOCKS_ACROSS = 60
_DARK, _BRIGHT = 6.0, 247.0
IN_THE_WATER = 0.9
"""Share of a card that must lie inside its tank: in the room's light a card makes the correction worse than none
(METHODS: ΔE 6 to 7)."""
RANGE_ON_CARD = 0.5
"""Quarters of one field that differ by more than this share of their mean (8-bit sRGB) are not one plain field:
something stands before it."""
LEAST_RANGE = 20.0
CARD_OUTSIDE = "a card outside the tank was not used: it stands in another light"
CARD_HIDDEN = "a card that is partly hidden was not used"


@dataclass(frozen=True, slots=True, eq=False)
class Anchors:
    """Blocks of one photo: mean 8-bit sRGB (n, 3), and where they lie as shares of the frame's width (n, 2).

    `edge` (n,) is how far they are from the middle of the photo itself, squared, 1 at half its width; `usable` (n,)
    which are, `card` (n,) which lie on a card, `known` (n, 3) the linear light known to come from
    them, nan where it is not.
    `contrast` (n,) is a block's own spread over its mean, `half` (n,) parts them in two that check each other.
    """

    value: FloatArray
    place: FloatArray
    edge: FloatArray
    usable: NDArray[np.bool_]
    card: NDArray[np.bool_]
    known: FloatArray
    half: NDArray[np.bool_]
    contrast: FloatArray
    flags: tuple[str, ...] = ()


def anchors_of(
    image: NDArray[np.uint8],
    layout: FrameLayout,
    *,
    to_frame: FloatArray | None = None,
    photo_px: tuple[int, int] | None = None,
) -> Anchors:
    """Blocks of a photo in its working frame, sRGB uint8 (height, width, 3).

    `to_frame` (3, 3) brought the photo's pixels, `photo_px` (width, height), there; unless given it lay there already.
    """
    height, width = image.shape[:2]
    across = min(BLOCKS_ACROSS, width)
    size = (across, max(1, round(across * height / width)))
    value = cv2.resize(image, size, interpolation=cv2.INTER_AREA).reshape(-1, 3).astype(np.float64)
    grey = cv2.cvtColor(every(2, image), cv2.COLOR_RGB2GRAY).astype(np.float32)
    mean = cv2.resize(grey, size, interpolation=cv2.INTER_AREA)
    square = cv2.resize(grey * grey, size, interpolation=cv2.INTER_AREA)
    spread = np.sqrt(np.maximum(square - mean * mean, 0)).ravel()
    exposed = (value.min(axis=1) > _DARK) & (value.max(axis=1) < _BRIGHT)
    stable = layout.stable(size)
    flat = spread < 0.25 * (mean.ravel() + 20)
    rows, columns = np.divmod(np.arange(len(value)), size[0])
    half = (rows // 4 + columns // 4) % 2 == 0
    place = np.stack([columns + 0.5, rows + 0.5], axis=1) / size[0]
    fields, flags = _fields(image, layout)
    on_card, where, known = fields.value, fields.middle_px / width, fields.known
    legible = (on_card.min(axis=1) > _DARK) & (on_card.max(axis=1) < _BRIGHT)
    places = np.concatenate([place, where])
    return Anchors(
        value=np.concatenate([value, on_card]),
        place=places,
        edge=edge_at(places, width, np.eye(3) if to_frame is None else to_frame, photo_px or (width, height)),
        usable=np.concatenate([exposed & stable & flat, legible]),
        card=np.arange(len(value) + len(on_card)) >= len(value),
        known=np.concatenate([np.full((len(value), 3), np.nan), known]),
        half=np.concatenate([half, np.arange(len(on_card)) % 2 == 0]),
        contrast=np.concatenate([spread / (mean.ravel() + 1), np.zeros(len(on_card))]),
        flags=flags,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Fields:
    """Places on cards: 8-bit sRGB (n, 3), middles in pixels (n, 2), and the linear light known of them (n, 3)."""

    value: FloatArray
    middle_px: FloatArray
    known: FloatArray


def _fields(image: NDArray[np.uint8], layout: FrameLayout) -> tuple[_Fields, tuple[str, ...]]:
    """The four quarters of each field of a card and the patches of a chart; and what was refused.

    Their number is the same on every photo of a view, so that photos can be compared place by place: what cannot be
    used is black.
    """
    found, flags = [_Fields(np.zeros((0, 3)), np.zeros((0, 2)), np.zeros((0, 3)))], set()
    for region in layout.regions:
        if region.shape.kind != "card":
            continue
        cut = region.cut
        field = _quarters(image, region) if region.shape.chart is None else None
        hidden = False
        if field is None:
            reading = read_chart(image, region.shape.polygon_px * layout.per_frame_px, region.shape.chart or "")
            field = _Fields(reading.value, reading.middle_px, chart_light(region.shape.chart or ""))
            hidden = not reading.whole
        elif len(field.value):
            allowed = np.maximum(RANGE_ON_CARD * field.value.mean(axis=0), LEAST_RANGE)
            hidden = bool((np.ptp(field.value, axis=0) > allowed).any())
        outside = layout.inside[cut.rows, cut.columns][cut.mask].mean() < IN_THE_WATER
        if outside or hidden:
            flags.add(CARD_OUTSIDE if outside else CARD_HIDDEN)
            field = replace(field, value=np.zeros_like(field.value))
        found.append(field)
    joined = [np.concatenate([getattr(field, name) for field in found]) for name in ("value", "middle_px", "known")]
    return _Fields(*joined), tuple(sorted(flags))


def _quarters(image: NDArray[np.uint8], region: RegionOnFrame) -> _Fields:
    """The four quarters of a card's field, its rim left out: their medians."""
    cut = region.cut
    height, width = cut.mask.shape
    rim = max(1, min(height, width) // 10)
    inner = cv2.erode(cut.mask.astype(np.uint8), np.ones((3, 3), np.uint8), iterations=rim, borderValue=0).astype(bool)
    box, parts = cut.of(image), []
    for rows in (slice(0, height // 2), slice(height // 2, height)):
        for columns in (slice(0, width // 2), slice(width // 2, width)):
            pixels = box[rows, columns][inner[rows, columns]]
            if len(pixels) >= 4:
                parts.append(np.median(pixels, axis=0).astype(np.float64))
    middle = ((cut.columns.start + cut.columns.stop) / 2, (cut.rows.start + cut.rows.stop) / 2)
    known = np.nan if region.shape.reflects is None else region.shape.reflects
    n = len(parts)
    return _Fields(np.array(parts).reshape(n, 3), np.tile(middle, (n, 1)), np.full((n, 3), known))
