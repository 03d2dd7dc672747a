"""A photo as the light that its camera's model takes it for: the model over every pixel."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from littoral.imaging.camera_model import CameraModel, brighter, bumps_at, edge_at, mixer
from littoral.imaging.colour import linear_to_srgb

FloatArray = NDArray[np.float64]


def apply(
    image: NDArray[np.uint8],
    model: CameraModel,
    to_frame: FloatArray | None = None,
    photo_px: tuple[int, int] | None = None,
) -> NDArray[np.uint8]:
    """An image, sRGB uint8 (height, width, 3), as the light that the model takes it for; see `anchors_of`."""
    if model.table is not None:
        return np.asarray(cv2.LUT(image, np.round(linear_to_srgb(model.table) * 255).astype(np.uint8)[None]), np.uint8)
    height, width = image.shape[:2]
    gain = np.exp(model.gain)
    table = (model.steps()[:, None] * gain).astype(np.float32)
    if np.abs(model.veil[1:]).max(initial=0.0) < 1e-6 and model.fading == 0 and model.mixing is None:
        plain = table - (model.veil[0] * gain).astype(np.float32)
        return np.asarray(cv2.LUT(image, np.round(linear_to_srgb(plain) * 255).astype(np.uint8)[None]), dtype=np.uint8)
    across = 40
    down = max(1, round(across * height / width))
    rows, columns = np.divmod(np.arange(across * down), across)
    place = np.stack([columns + 0.5, rows + 0.5], axis=1) / across
    edge = edge_at(place, width, np.eye(3) if to_frame is None else to_frame, photo_px or (width, height))
    fade = brighter(model.fading, edge)
    veil = _spread_out((bumps_at(place, height / width) @ model.veil) * fade, (down, across), (width, height))
    factor = _spread_out(fade, (down, across), (width, height)) if model.fading else None
    planes = []
    for c, plane in enumerate(cv2.split(image)):
        light = np.asarray(cv2.LUT(plane, table[:, c][None]), dtype=np.float32)
        light = light if factor is None else np.asarray(cv2.multiply(light, factor), dtype=np.float32)
        planes.append(np.asarray(cv2.scaleAdd(veil, -float(gain[c]), light), dtype=np.float32))
    if model.mixing is not None:
        mixed = cv2.transform(cv2.merge(planes), mixer(model.mixing).astype(np.float32))
        planes = [np.asarray(plane, dtype=np.float32) for plane in cv2.split(mixed)]
    seen = []
    for light in planes:
        # Even steps of the square root of light are nearly even to the eye: a table of them ends in sRGB.
        np.sqrt(np.clip(light, 0, 1, out=light), out=light)
        light *= np.float32(_STEPS)
        light += np.float32(0.5)
        seen.append(_ENCODED[light.astype(np.uint16)])
    return np.asarray(cv2.merge(seen), dtype=np.uint8)


def _spread_out(values: FloatArray, grid: tuple[int, int], size: tuple[int, int]) -> NDArray[np.float32]:
    """Values on a coarse grid (rows, columns), smoothly over an image of `size` (width, height)."""
    wide = cv2.resize(values.reshape(grid).astype(np.float32), size, interpolation=cv2.INTER_LINEAR)
    return np.asarray(wide, dtype=np.float32)


_STEPS = 4095
_ENCODED: NDArray[np.uint8] = np.round(linear_to_srgb((np.arange(_STEPS + 1) / _STEPS) ** 2) * 255).astype(np.uint8)
