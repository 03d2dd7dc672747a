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
    mix = None if model.mixing is None else mixer(model.mixing).astype(np.float32)
    tables = [np.ascontiguousarray(table[:, c])[None] for c in range(3)]
    seen = np.empty_like(image)
    # A few rows at a time stay in the processor's cache, and in memory that is asked for once.
    lights = np.empty((3, STRIPE_ROWS, width), dtype=np.float32)
    places, bytes_ = np.empty(lights.shape, dtype=np.uint16), np.empty(lights.shape, dtype=np.uint8)
    for top in range(0, height, STRIPE_ROWS):
        stripe = slice(top, min(top + STRIPE_ROWS, height))
        tall = stripe.stop - stripe.start
        light, steps, encoded = lights[:, :tall], places[:, :tall], bytes_[:, :tall]
        for c, plane in enumerate(cv2.split(image[stripe])):
            cv2.LUT(plane, tables[c], dst=light[c])
            if factor is not None:
                cv2.multiply(light[c], factor[stripe], dst=light[c])
            cv2.scaleAdd(veil[stripe], -float(gain[c]), light[c], dst=light[c])
        if mix is not None:
            cv2.split(cv2.transform(cv2.merge(list(light)), mix), mv=list(light))
        # Even steps of the square root of light are nearly even to the eye: a table of them ends in sRGB.
        np.clip(light, 0, 1, out=light)
        np.sqrt(light, out=light)
        light *= np.float32(_STEPS)
        light += np.float32(0.5)
        np.copyto(steps, light, casting="unsafe")
        _ENCODED.take(steps, out=encoded, mode="clip")
        cv2.merge(list(encoded), dst=seen[stripe])
    return seen


def _spread_out(values: FloatArray, grid: tuple[int, int], size: tuple[int, int]) -> NDArray[np.float32]:
    """Values on a coarse grid (rows, columns), smoothly over an image of `size` (width, height)."""
    wide = cv2.resize(values.reshape(grid).astype(np.float32), size, interpolation=cv2.INTER_LINEAR)
    return np.asarray(wide, dtype=np.float32)


STRIPE_ROWS = 24
_STEPS = 4095
_ENCODED: NDArray[np.uint8] = np.round(linear_to_srgb((np.arange(_STEPS + 1) / _STEPS) ** 2) * 255).astype(np.uint8)
