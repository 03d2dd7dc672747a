"""Take the camera out of a photo: one gain per channel and one tone curve, fitted to what is stable in the view.

The anchors are small blocks of the tank outside stands, stone, wood and glass, and the cards where there are any. The
fit is in log linear light, log reference = gain_c + γ·log photo (+ κ·log² photo), with robust weights, so that what
has changed (algae, a plant beyond its polygon) counts for nothing. It is used only if it lowers the difference on
blocks that did not take part: a locked camera is left alone.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from littoral.imaging.colour import ciede2000, linear_to_lab, linear_to_srgb, srgb_to_linear
from littoral.imaging.frames import Cut, FrameLayout
from littoral.imaging.results import OTHER_LIGHT

FloatArray = NDArray[np.float64]

BLOCKS_ACROSS = 60
MIN_BLOCKS = 24
CARD_SHARE = 0.5
"""The cards together weigh this much of all other anchors together."""
GREY_CARD_LIGHT, WHITE_CARD_LIGHT = 0.18, 0.60
"""Linear light that the (darkest) card is brought to in the reference: a grey card is taken to reflect 18 %, a white
one 60 % (common practice, no source). What a card really reflects shifts all lightness alike, and no difference."""
_DARK, _BRIGHT = 6.0, 247.0
_LOWER_BY, _LOWER_BY_LOCKED = 0.05, 0.20
_STRAIGHT: FloatArray = np.tile(np.array([1.0, 0.0]), (3, 1))
FAR_OFF = 4.0
"""RMS ΔE00 on the anchors above which the colour of a photo is flagged: more than a camera, another light."""
_SLOPES = (0.7, 1.5)
_SHAPES = ("gain", "gain and gamma", "gain and tone curve", "gain and tone curve per channel")


@dataclass(frozen=True, slots=True, eq=False)
class Anchors:
    """Blocks of one photo: mean 8-bit sRGB (n, 3), which are usable (n,), and which lie on a card (n,)."""

    value: FloatArray
    usable: NDArray[np.bool_]
    card: NDArray[np.bool_]
    half: NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Correction:
    """`table` (256, 3) takes 8-bit sRGB values to corrected ones.

    `before` and `residual` are the RMS ΔE00 on the anchors without and with the correction (robustly weighted); None
    where there was nothing to check on. `description` says what was used.
    """

    table: NDArray[np.uint8]
    description: str
    before: float | None
    residual: float | None
    flags: tuple[str, ...] = ()


def anchors_of(image: NDArray[np.uint8], layout: FrameLayout) -> Anchors:
    """Blocks of a photo in its working frame, sRGB uint8 (height, width, 3)."""
    height, width = image.shape[:2]
    across = min(BLOCKS_ACROSS, width)
    size = (across, max(1, round(across * height / width)))
    value = cv2.resize(image, size, interpolation=cv2.INTER_AREA).reshape(-1, 3).astype(np.float64)
    grey = cv2.cvtColor(image[::2, ::2], cv2.COLOR_RGB2GRAY).astype(np.float32)
    mean = cv2.resize(grey, size, interpolation=cv2.INTER_AREA)
    square = cv2.resize(grey * grey, size, interpolation=cv2.INTER_AREA)
    spread = np.sqrt(np.maximum(square - mean * mean, 0)).ravel()
    changing = layout.plants.astype(np.uint8)
    for region in layout.regions:
        changing[region.cut.rows, region.cut.columns] |= region.cut.mask.astype(np.uint8)
    exposed = (value.min(axis=1) > _DARK) & (value.max(axis=1) < _BRIGHT)
    stable = (_share(changing, size) == 0) & (_share(layout.inside.astype(np.uint8), size) > 0.99)
    flat = spread < 0.25 * (mean.ravel() + 20)
    rows, columns = np.divmod(np.arange(len(value)), size[0])
    half = (rows // 4 + columns // 4) % 2 == 0
    cards = [part for region in layout.regions if region.shape.kind == "card" for part in _card(image, region.cut)]
    on_card = np.array(cards).reshape(-1, 3)
    legible = (on_card.min(axis=1) > _DARK) & (on_card.max(axis=1) < _BRIGHT)
    return Anchors(
        np.concatenate([value, on_card]),
        np.concatenate([exposed & stable & flat, legible]),
        np.arange(len(value) + len(on_card)) >= len(value),
        np.concatenate([half, np.arange(len(on_card)) % 2 == 0]),
    )


def _card(image: NDArray[np.uint8], cut: Cut) -> list[FloatArray]:
    """The four quarters of a card, its rim left out: median 8-bit sRGB (3,) each."""
    height, width = cut.mask.shape
    rim = max(1, min(height, width) // 10)
    inner = cv2.erode(cut.mask.astype(np.uint8), np.ones((3, 3), np.uint8), iterations=rim, borderValue=0).astype(bool)
    box, parts = cut.of(image), []
    for rows in (slice(0, height // 2), slice(height // 2, height)):
        for columns in (slice(0, width // 2), slice(width // 2, width)):
            pixels = box[rows, columns][inner[rows, columns]]
            if len(pixels) >= 4:
                parts.append(np.median(pixels, axis=0).astype(np.float64))
    return parts


def reference_table(anchors: Anchors) -> Correction:
    """What the reference photo itself needs: its cards made neutral and brought to a fixed light, or nothing.

    With the same card in each tank this makes separate views comparable; without one only change within a view is.
    """
    on_card = anchors.card & anchors.usable
    if on_card.sum() < 2:
        return Correction(_identity_table(), "reference photo, as it is", None, None)
    light = srgb_to_linear(anchors.value[on_card] / 255)
    brightness = light.mean(axis=1)
    darkest = light[brightness <= 1.3 * np.quantile(brightness, 0.1)]
    mean = np.median(darkest, axis=0)
    goal = GREY_CARD_LIGHT if mean.mean() < 0.4 else WHITE_CARD_LIGHT
    table = _table(np.log(goal / mean), _STRAIGHT, np.array([-4.0, 0.0]))
    return Correction(table, "reference photo, its card made neutral", None, None)


def correct(photo: Anchors, reference: Anchors, *, camera_locked: bool = False, aligned: bool = True) -> Correction:
    """Fit the camera of a photo to the reference; both from `anchors_of` with the same layout.

    Tries no change, gains, gamma, a tone curve and a tone curve per channel, and takes the simplest whose difference
    on held-out blocks is within 3 % of the best; a locked camera needs a gain of 20 % to be touched. Where the photo is
    not aligned only gains are tried: blocks that do not show the same place would flatten a curve.
    """
    use = photo.usable & reference.usable
    cards = int((use & photo.card).sum())
    if use.sum() < MIN_BLOCKS and cards < 4:
        return Correction(
            _identity_table(),
            "none: nothing stable in view",
            None,
            None,
            ("colour not corrected: nothing stable in view",),
        )
    x, y = np.log(srgb_to_linear(photo.value[use] / 255)), np.log(srgb_to_linear(reference.value[use] / 255))
    # An error of d in log light shows as about d·light^(1/2.4) to the eye: weigh by its square.
    weight = np.exp(y.mean(axis=1)) ** (2 / 2.4)
    card, half = photo.card[use], photo.half[use]
    if card.any() and not card.all():
        weight[card] *= CARD_SHARE * weight[~card].sum() / weight[card].sum()
    unchanged = _held_out(x, y, weight, half, -1)
    fits = [_fit(x, y, weight, shape) for shape in range(len(_SHAPES))]
    seen = np.quantile(x, [0.02, 0.98])
    tried = [
        _held_out(x, y, weight, half, shape)
        if (aligned or shape == 0) and _camera_like(fits[shape][0][1], seen)
        else np.inf
        for shape in range(len(_SHAPES))
    ]
    best = min(tried)
    needed = _LOWER_BY_LOCKED if camera_locked else _LOWER_BY
    words = _words(int(use.sum()) - cards, cards)
    _, trust = _fit(x, y, weight, -1)
    before = _rms(x, y, trust)
    if best > (1 - needed) * unchanged:
        how = "none needed" if before <= FAR_OFF else "none helps"
        return Correction(_identity_table(), f"{how}, checked on {words}", before, before, _far_off(before))
    shape = next(index for index, score in enumerate(tried) if score <= 1.03 * best)
    (gain, curve), trust = fits[shape]
    before, residual = _rms(x, y, trust), _rms(_apply(x, gain, curve), y, trust)
    table = _table(gain, curve, np.quantile(x, [0.01, 0.99]))
    return Correction(table, f"{_SHAPES[shape]} on {words}", before, residual, _far_off(residual))


def _camera_like(curve: FloatArray, seen: FloatArray) -> bool:
    """Whether a curve (3, 2) could be a camera's over the light seen: where blocks do not agree the fit goes flat."""
    slopes = curve[:, 0] + 2 * curve[:, 1] * seen[:, None]
    return bool((slopes > _SLOPES[0]).all() and (slopes < _SLOPES[1]).all())


def _far_off(residual: float) -> tuple[str, ...]:
    if residual <= FAR_OFF:
        return ()
    return (OTHER_LIGHT,)


def apply_table(image: NDArray[np.uint8], table: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """An image (height, width, 3) through a table (256, 3)."""
    return np.asarray(cv2.LUT(image, table[None]), dtype=np.uint8)


def corrected(anchors: Anchors, table: NDArray[np.uint8]) -> Anchors:
    """Anchors as they would be read from the corrected photo."""
    steps = np.arange(256)
    value = np.stack([np.interp(anchors.value[:, c], steps, table[:, c].astype(float)) for c in range(3)], axis=1)
    return Anchors(value, anchors.usable & (value.max(axis=1) < 254), anchors.card, anchors.half)


def _words(blocks: int, cards: int) -> str:
    parts = [f"{blocks} stable places"] if blocks else []
    return " and ".join(parts + (["the card"] if cards else []))


def _share(mask: NDArray[np.uint8], size: tuple[int, int]) -> FloatArray:
    return np.asarray(cv2.resize(mask.astype(np.float32), size, interpolation=cv2.INTER_AREA).ravel(), dtype=np.float64)


def _basis(x: FloatArray, shape: int) -> list[FloatArray]:
    """Columns of the model beyond the gains, each (n, 3); the last shape has its own per channel."""
    zero = np.zeros_like(x)
    per_channel = [np.where(np.arange(3) == c, x, zero) for c in range(3)]
    return [[], [x], [x, x * x], [*per_channel, x * x]][shape]


def _fit(
    x: FloatArray, y: FloatArray, weight: FloatArray, shape: int
) -> tuple[tuple[FloatArray, FloatArray], FloatArray]:
    """Robust least squares (Tukey's bisquare on blocks): gains (3,), curve (3, 2) and the blocks' final weights."""
    gain, curve = np.zeros(3), _STRAIGHT
    trust = weight.copy()
    columns = [np.where(np.arange(3) == c, 1.0, np.zeros_like(x)) for c in range(3)] + _basis(x, max(shape, 0))
    flat = np.stack(columns, axis=-1).reshape(3 * len(x), -1)
    target = y - (x if shape == 0 else 0)
    for _ in range(8):
        if shape >= 0:
            weighed = flat.T * np.repeat(trust, 3)
            normal = weighed @ flat
            ridge = 1e-9 * np.trace(normal) * np.eye(len(normal))
            solved = np.linalg.solve(normal + ridge, weighed @ target.ravel())
            gain = solved[:3]
            curve = _curve(solved[3:], shape)
        off = np.linalg.norm(_apply(x, gain, curve) - y, axis=1) * np.exp(y.mean(axis=1)) ** (1 / 2.4)
        reach = 4.685 * 1.4826 * max(float(np.median(off)), 2e-3)
        trust = weight * np.maximum(0.0, 1 - (off / reach) ** 2) ** 2
    return (gain, curve), trust


def _curve(rest: FloatArray, shape: int) -> FloatArray:
    if shape == 0:
        return _STRAIGHT
    if shape == 3:
        return np.stack([rest[:3], np.repeat(rest[3], 3)], axis=1)
    return np.tile(np.array([rest[0], rest[1] if shape == 2 else 0.0]), (3, 1))


def _apply(x: FloatArray, gain: FloatArray, curve: FloatArray) -> FloatArray:
    return gain + curve[:, 0] * x + curve[:, 1] * x * x


def _held_out(x: FloatArray, y: FloatArray, weight: FloatArray, half: NDArray[np.bool_], shape: int) -> float:
    """Difference on each half of the blocks with the fit to the other half: upper-trimmed RMS in encoded light."""
    missed = []
    for part in (half, ~half):
        if part.sum() < 8 or (~part).sum() < 8:
            part = np.ones(len(x), dtype=bool)
        (gain, curve), _ = _fit(x[part], y[part], weight[part], shape)
        rest = ~part if not part.all() else part
        missed.append(np.linalg.norm(_apply(x[rest], gain, curve) - y[rest], axis=1) * np.sqrt(weight[rest]))
    everything = np.sort(np.concatenate(missed))[: int(0.8 * len(x)) + 1]
    return float(np.sqrt(np.mean(everything**2)))


def _rms(x: FloatArray, y: FloatArray, trust: FloatArray) -> float:
    """RMS ΔE00 between blocks given as log linear light, weighed by their trust, cards not favoured."""
    difference = ciede2000(linear_to_lab(np.exp(np.minimum(x, 0.2))), linear_to_lab(np.exp(y)))
    believed = trust > 0
    return float(np.sqrt(np.mean(difference[believed] ** 2))) if believed.any() else float("nan")


def _table(gain: FloatArray, curve: FloatArray, seen: FloatArray) -> NDArray[np.uint8]:
    """The fit as a table; outside the light seen (log, low and high) the curve goes on straight, and never falls."""
    x = np.log(np.maximum(srgb_to_linear(np.arange(256) / 255), 1e-5))[:, None] * np.ones(3)
    inner = np.clip(x, seen[0], seen[1])
    slope = np.maximum(curve[:, 0] + 2 * curve[:, 1] * inner, 0.2)
    y = _apply(inner, gain, curve) + slope * (x - inner)
    encoded = linear_to_srgb(np.exp(np.minimum(y, 1.0)))
    encoded[0] = 0.0
    return np.round(np.maximum.accumulate(encoded, axis=0) * 255).astype(np.uint8)


def _identity_table() -> NDArray[np.uint8]:
    return np.repeat(np.arange(256, dtype=np.uint8)[:, None], 3, axis=1)
