"""Algae: a film on stones and wood, and spots on the front glass, that cover an exactly known share of a polygon."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from littoral.demo.noise import Field, fractal_noise, smooth_noise
from littoral.demo.sprites import Sprite, srgb_of_lab

Image = NDArray[np.uint8]

FILM_LAB = np.array([[40.0, -17.0, 28.0], [52.0, -22.0, 38.0]])  # thin and thick, invented
SPOT_LAB = np.array([[50.0, -18.0, 26.0], [40.0, -22.0, 30.0]])


def growth_field(sprite: Sprite, kind: str, rng: np.random.Generator) -> Field:
    """Return where algae come first: the higher the sooner, shape (height, width) of the sprite."""
    shape = sprite.rgba.shape[:2]
    scale = sprite.frame.px_per_cm
    fine = fractal_noise(rng, shape, 0.30 * scale, octaves=3)
    if kind == "glass":
        field = 0.10 * fine + 0.35 * smooth_noise(rng, shape, (5 * scale, 5 * scale))
        for _ in range(150):
            x, y, r = rng.uniform(0, shape[1]), rng.uniform(0, shape[0]), rng.gamma(3.0, 0.07) * scale
            x0, x1 = max(0, int(x - 3 * r)), min(shape[1], int(x + 3 * r) + 1)
            y0, y1 = max(0, int(y - 3 * r)), min(shape[0], int(y + 3 * r) + 1)
            far = np.hypot(np.arange(x0, x1)[None, :] - x, np.arange(y0, y1)[:, None] - y) / (r + 1e-6)
            field[y0:y1, x0:x1] = np.maximum(field[y0:y1, x0:x1], rng.uniform(1.0, 2.2) - 0.9 * far)
        return np.asarray(field, dtype=np.float32)
    # Films start where most light falls: on what is bright in the drawn solid.
    bright = cv2.blur(sprite.rgba[..., :3].mean(axis=-1).astype(np.float32), (5, 5)) / 60.0
    return np.asarray(fractal_noise(rng, shape, 1.3 * scale, octaves=4) + 0.45 * fine + 0.8 * bright, dtype=np.float32)


def lay_algae(
    picture: Image, sprite: Sprite, field: Field, kind: str, share: float, polygon_px: NDArray[np.int32]
) -> NDArray[np.bool_]:
    """Paint algae over `picture` in place so that they cover `share` (0 to 1) of the polygon (n, 2) in the sprite's own
    pixels, and return where they are, shape (height, width) of the sprite."""
    if share <= 0.0:
        return np.zeros(field.shape, dtype=bool)
    inside = np.zeros(field.shape, dtype=np.uint8)
    cv2.fillPoly(inside, [polygon_px], 1)
    threshold = float(np.quantile(field[inside > 0], 1.0 - share))
    grown = field > threshold
    if kind != "glass":
        grown &= sprite.rgba[..., 3] > 127
    thickness = np.clip((field - threshold) / 0.9, 0.0, 1.0)[..., None]
    part = picture[sprite.y0 : sprite.y1, sprite.x0 : sprite.x1]
    thin, thick = srgb_of_lab(SPOT_LAB if kind == "glass" else FILM_LAB)
    film = thin + (thick - thin) * thickness
    if kind != "glass":  # the solid's own light and shade show through
        film = film * np.clip(0.45 + part.mean(axis=-1, keepdims=True) / 150.0, 0.4, 1.35)
    alpha = (0.68 + 0.24 * thickness) * grown[..., None]
    alpha = cv2.GaussianBlur(alpha.astype(np.float32), (0, 0), 0.7)[..., None]
    part[...] = np.clip(part * (1 - alpha) + film * alpha, 0, 255).astype(np.uint8)
    return np.asarray(grown)
