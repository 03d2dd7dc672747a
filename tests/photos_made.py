"""Photos drawn for tests: two tanks with stones and plants of their own, as a phone would take them on a day."""

from __future__ import annotations

import io
from functools import lru_cache

import cv2
import numpy as np
import pillow_heif
from PIL import Image

WIDTH, HEIGHT = 640, 480
Pixels = np.ndarray


@lru_cache(maxsize=8)
def _ground(tank: str) -> Pixels:
    rng = np.random.default_rng(sum(map(ord, tank)))
    image = np.full((HEIGHT, WIDTH, 3), (95.0, 110.0, 100.0))
    for _ in range(160):
        centre = int(rng.integers(0, WIDTH)), int(rng.integers(60, HEIGHT))
        axes = int(rng.integers(6, 46)), int(rng.integers(6, 30))
        colour = [float(one) for one in rng.integers(30, 200, 3)]
        cv2.ellipse(image, centre, axes, float(rng.uniform(0, 180)), 0, 360, colour, -1)
    return image


@lru_cache(maxsize=64)
def shot(tank: str, day: int = 0, *, seed: int = 0) -> Pixels:
    """A tank on a day: plants grow a little, the hand moves, light and noise differ. uint8 (480, 640, 3)."""
    rng = np.random.default_rng([sum(map(ord, tank)), day, seed])
    image = _ground(tank).copy()
    cv2.rectangle(image, (250, 300 - 2 * day), (320, 400), (60, 140, 50), -1)
    move = np.array([[1, 0, rng.uniform(-6, 6)], [0, 1, rng.uniform(-5, 5)]])
    image = cv2.warpAffine(image, move, (WIDTH, HEIGHT), borderMode=cv2.BORDER_REFLECT)
    image = image * rng.uniform(0.85, 1.15) + rng.normal(0, 3, image.shape)
    return np.clip(image, 0, 255).astype(np.uint8)


def with_hand(image: Pixels) -> Pixels:
    """Something plain and skin-coloured from the lower edge up."""
    spoilt = image.copy()
    cv2.ellipse(spoilt, (180, 430), (170, 210), 20, 0, 360, (200, 150, 125), -1)
    return spoilt


def dark(image: Pixels) -> Pixels:
    """The light is off."""
    noise = np.random.default_rng(5).normal(0, 2, image.shape)
    return np.clip(image * 0.04 + noise, 0, 255).astype(np.uint8)


def blurred(image: Pixels) -> Pixels:
    """The hand shook."""
    return np.asarray(cv2.GaussianBlur(image, (0, 0), 3.0))


def file_of(
    image: Pixels,
    *,
    taken: str = "",
    kind: str = "JPEG",
    camera: str = "",
    place: bool = False,
    orientation: int = 1,
    offset: str = "",
) -> bytes:
    """A file as a camera writes it; `taken` is EXIF's "2026:03:05 18:00:00"."""
    exif, stream = Image.Exif(), io.BytesIO()
    if taken:
        exif.get_ifd(0x8769)[0x9003] = taken
    if offset:
        exif.get_ifd(0x8769)[0x9011] = offset
    if camera:
        exif[0x0110] = camera
    if place:
        exif.get_ifd(0x8825).update({1: "N", 2: (52.0, 31.0, 7.5), 3: "E", 4: (13.0, 24.0, 36.0)})
    if orientation != 1:
        exif[0x0112] = orientation
        image = {3: image[::-1, ::-1], 6: np.rot90(image, 1), 8: np.rot90(image, -1)}[orientation]
    picture = Image.fromarray(np.ascontiguousarray(image))
    if kind == "HEIC":
        pillow_heif.from_pillow(picture).save(stream, quality=90, exif=exif.tobytes())
    else:
        picture.save(stream, kind, exif=exif, **({"quality": 92} if kind in ("JPEG", "WEBP") else {}))
    return stream.getvalue()
