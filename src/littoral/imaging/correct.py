"""Take the camera out of a photo: a model of it, fitted to what is stable in the view and to the card's known fields.

It is used only as far as it lowers the difference on blocks that did not take part: a locked camera is left alone.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from littoral.imaging.anchors import Anchors
from littoral.imaging.camera_model import CameraModel, identity, lightness
from littoral.imaging.channel_curves import fit_curves
from littoral.imaging.colour import ciede2000, linear_to_lab, srgb_to_linear
from littoral.imaging.results import OTHER_LIGHT
from littoral.imaging.target import Target, camera_of, weights

FloatArray = NDArray[np.float64]
Mask = NDArray[np.bool_]

MIN_BLOCKS = 24
COLOURED_LAMP = 3.0
"""Stable places whose strongest channel has so many times the light of the weakest stand under a coloured lamp."""
FAR_OFF = 4.0
"""RMS ΔE00 on the anchors above which the colour of a photo is flagged: more than a camera, another light."""
_LOWER_BY, _LOWER_BY_LOCKED = 0.05, 0.20
_SHAPES = ("gain", "gain and tone curve per channel", "gain, tone curve and veil")
_CURVES, _CAMERA = 1, 2


@dataclass(frozen=True, slots=True, eq=False)
class Correction:
    """`model` takes 8-bit sRGB values to linear light.

    `before` and `residual` are the RMS ΔE00 on the anchors without and with the correction (robustly weighted); None
    where there was nothing to check on. `description` says what was used.
    """

    model: CameraModel
    description: str
    before: float | None
    residual: float | None
    flags: tuple[str, ...] = ()


def correct(photo: Anchors, target: Target, *, camera_locked: bool = False, aligned: bool = True) -> Correction:
    """Fit the camera of a photo to the target; the anchors are those of the same layout.

    Tries no change, gains, the whole model, and without a known card a curve for each channel, and takes the simplest
    whose difference on held-out blocks is within 3 % of the best; a locked camera needs a gain of 20 % to be touched.
    Where the photo is not aligned only gains are tried: blocks that do not show the same place would bend a curve.
    """
    use = photo.usable & target.usable
    cards = int((use & photo.card).sum())
    nothing = identity(target.bumps.shape[1])
    if use.sum() < MIN_BLOCKS and cards < 4:
        flags = (*photo.flags, "colour not corrected: nothing stable in view")
        return Correction(nothing, "none: nothing stable in view", None, None, flags)
    shapes = [0] if not aligned else _shapes(target, use)
    unchanged = _held_out(photo, target, use, None)
    whole = camera_of(photo, target, use) if _CAMERA in shapes else None  # where its halves begin, so as to end sooner
    tried = [_held_out(photo, target, use, shape, whole) for shape in shapes]
    needed = _LOWER_BY_LOCKED if camera_locked else _LOWER_BY
    words = _words(int(use.sum()) - cards, cards)
    if min(tried) > (1 - needed) * unchanged:
        how, before = "none needed", _rms(photo, target, use, nothing)
        if before > FAR_OFF:
            how = "none helps"
        return Correction(nothing, f"{how}, checked on {words}", before, before, (*photo.flags, *_far_off(before)))
    shape = next(shape for shape, score in zip(shapes, tried, strict=True) if score <= 1.03 * min(tried))
    model, trust = whole if whole and shape == _CAMERA else _fit(photo, target, use, shape)
    believed = use.copy()
    believed[use] = trust > 0
    before, residual = _rms(photo, target, believed, nothing), _rms(photo, target, believed, model)
    return Correction(model, f"{_SHAPES[shape]} on {words}", before, residual, (*photo.flags, *_far_off(residual)))


def _shapes(target: Target, use: Mask) -> list[int]:
    """What is tried. A veil without colour and one curve for all channels do not hold under a coloured lamp."""
    if target.absolute or target.mixed:
        return [0, _CAMERA]
    mean = target.light[use].mean(axis=0)
    return [0, _CURVES] if mean.max() > COLOURED_LAMP * mean.min() else [0, _CURVES, _CAMERA]


def _fit(
    photo: Anchors, target: Target, part: Mask, shape: int, start: CameraModel | None = None
) -> tuple[CameraModel, FloatArray]:
    if shape == _CAMERA:
        return camera_of(photo, target, part, start=start)
    if shape == _CURVES:
        table, trust = fit_curves(photo.value[part], target.light[part], weights(photo.card[part]))
        return replace(identity(target.bumps.shape[1]), table=table), trust
    weight = weights(photo.card[part])
    ratio = target.light[part] / np.maximum(srgb_to_linear(photo.value[part] / 255), 1e-5)
    gain = np.log([_weighted_median(ratio[:, c], weight) for c in range(3)])
    return replace(identity(target.bumps.shape[1]), gain=gain), weight


def _weighted_median(values: FloatArray, weight: FloatArray) -> float:
    order = np.argsort(values)
    total = np.cumsum(weight[order])
    return float(values[order][np.searchsorted(total, total[-1] / 2)])


def _held_out(
    photo: Anchors,
    target: Target,
    use: Mask,
    shape: int | None,
    whole: tuple[CameraModel, FloatArray] | None = None,
) -> float:
    """Difference (L*) on each half of the blocks with the fit to the other half: upper-trimmed RMS."""
    missed = []
    for half in (photo.half, ~photo.half):
        part, rest = use & half, use & ~half
        if part.sum() < 8 or rest.sum() < 8:
            part = rest = use
        start = whole[0] if whole else None
        model = identity(target.bumps.shape[1]) if shape is None else _fit(photo, target, part, shape, start)[0]
        light = model.light(photo.value[rest], target.bumps[rest], photo.edge[rest])
        missed.append(np.linalg.norm(lightness(light) - lightness(target.light[rest]), axis=1))
    everything = np.sort(np.concatenate(missed))[: int(0.8 * use.sum()) + 1]
    return float(np.sqrt(np.mean(everything**2)))


def _rms(photo: Anchors, target: Target, part: Mask, model: CameraModel) -> float:
    """RMS ΔE00 between corrected blocks and their target, cards not favoured."""
    light = model.light(photo.value[part], target.bumps[part], photo.edge[part])
    difference = ciede2000(linear_to_lab(np.clip(light, 0, 1.2)), linear_to_lab(target.light[part]))
    return float(np.sqrt(np.mean(difference**2))) if part.any() else float("nan")


def _far_off(residual: float) -> tuple[str, ...]:
    return () if residual <= FAR_OFF else (OTHER_LIGHT,)


def _words(blocks: int, cards: int) -> str:
    parts = [f"{blocks} stable places"] if blocks else []
    return " and ".join(parts + (["the card"] if cards else []))
