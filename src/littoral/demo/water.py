"""The water: its depth behind the plants, the lamp's fall-off and shafts, the surface, the glass and the card."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from littoral.demo.layout import BACK_EDGE_CM, FILL_CM, HEIGHT_CM, LENGTH_CM, SIDE_CM, SURFACE_CM, Frame, Layout, pixel
from littoral.demo.noise import fractal_noise, smooth_noise
from littoral.demo.room import dark_room, dithered
from littoral.demo.sprites import Floats, srgb_of_lab
from littoral.demo.substrate import lay_gravel

Image = NDArray[np.uint8]
CARD = {"grey card": 131, "pale card": 222, "dark card": 63}
"""sRGB of the card's fields before the water's light falls on them."""


def still_scene(frame: Frame, layout: Layout, rng: np.random.Generator) -> Image:
    """Return everything behind the plants, sRGB uint8 (height, width, 3), before the lamp's light falls on it."""
    picture = dark_room(frame, f"{layout.tank} tank", rng)
    (left, top), (right, bottom) = pixel(frame, 0, FILL_CM), pixel(frame, LENGTH_CM, 0)
    picture[top:bottom, left:right] = dithered(_backdrop((bottom - top, right - left), rng), rng)
    lay_gravel(picture, frame, rng)
    _card(picture, frame, layout)
    return picture


def light_map(frame: Frame, rng: np.random.Generator) -> NDArray[np.float32]:
    """Return how the lamp's light falls off in the water and where shafts stand: a factor (height, width)."""
    width, height = frame.size
    x = np.arange(width, dtype=np.float32)[None, :]
    y = np.arange(height, dtype=np.float32)[:, None]
    (left, top), (right, bottom) = pixel(frame, 0, FILL_CM), pixel(frame, LENGTH_CM, 0)
    depth = np.clip((y - top) / (bottom - top), 0, 1)
    across = (x - (left + right) / 2) / (right - left) * 2
    fall = 1.20 - 0.26 * depth - 0.12 * across**2 - 0.06 * across**2 * depth
    shafts = np.zeros((height, width), dtype=np.float32)
    for _ in range(16):
        start, lean, wide = rng.uniform(left, right), rng.uniform(-0.10, 0.10), rng.uniform(0.003, 0.015) * width
        lean += 0.10 * (start - (left + right) / 2) / (right - left)
        middle = start + lean * (y - top)
        strength = rng.uniform(0.015, 0.05)
        shafts += strength * np.exp(-(((x - middle) / (wide * (1 + 1.2 * depth))) ** 2)) * (1 - 0.8 * depth) ** 1.2
    caustic = np.abs(fractal_noise(rng, (height, width), 1.5 * frame.px_per_cm, octaves=2, stretch=1.7))
    near_floor = np.exp(-(((y - pixel(frame, 0, 6.0)[1]) / (2.2 * frame.px_per_cm)) ** 2))
    caustics = 0.13 * near_floor * (np.exp(-caustic * 5.0) - 0.35)
    inside = np.zeros((height, width), dtype=bool)
    inside[top:bottom, left:right] = True
    return np.where(inside, fall + shafts + caustics, 1.0).astype(np.float32)


def surface_and_glass(picture: Image, frame: Frame, rng: np.random.Generator) -> None:
    """Draw what the glass and the water's surface mirror, the waterline, seams and rim over everything, in place.

    `rng` ripples the surface: it moves from photo to photo.
    """
    _side_panes(picture, frame)
    _surface(picture, frame, rng)
    _glass(picture, frame)


def _backdrop(shape: tuple[int, int], rng: np.random.Generator) -> Floats:
    """A frosted pale back glass seen through the water: brightest under the lamp, deeper and greener below."""
    height, width = shape
    y = np.linspace(0, 1, height, dtype=np.float64)[:, None]
    x = np.linspace(-1, 1, width, dtype=np.float64)[None, :]
    lightness = 76 - 29 * y**0.85 - 9 * x**2 - 5 * np.abs(x) ** 6
    lightness = lightness + 0.9 * smooth_noise(rng, shape, (height / 5, width / 9))
    a = -6.5 + 1.5 * y + 0.0 * x
    b = -7.5 + 5.5 * y + 0.0 * x
    return srgb_of_lab(np.stack([lightness, a, b], axis=-1))


def _card(picture: Image, frame: Frame, layout: Layout) -> None:
    """The card with its grey, pale and dark field, standing in the water at the back, with a thin rim."""
    cards = {place.key: place for place in layout.places if place.kind == "card"}
    boxes = {}
    for key, place in cards.items():
        left, bottom = pixel(frame, place.middle_cm - place.width_cm / 2, place.foot_cm)
        right, top = pixel(frame, place.middle_cm + place.width_cm / 2, place.foot_cm + place.height_cm)
        boxes[key] = (left, top, right, bottom)
    left, _, right, bottom = boxes["grey card"]
    top = boxes["dark card"][1]
    rim = max(1, round(0.10 * frame.px_per_cm))
    shadow = np.zeros(picture.shape[:2], dtype=np.float32)
    cv2.rectangle(shadow, (left + 3 * rim, top + 2 * rim), (right + 4 * rim, bottom + rim), 1.0, -1)
    soft = np.asarray(cv2.GaussianBlur(shadow, (0, 0), 3.0 * rim), dtype=np.float32)
    picture[...] = (picture * (1 - 0.35 * soft[..., None])).astype(np.uint8)
    cv2.rectangle(picture, (left - rim, top - rim), (right + rim, bottom), (52, 54, 56), -1)
    for key, value in CARD.items():
        x0, y0, x1, y1 = boxes[key]
        cv2.rectangle(picture, (x0, y0), (x1, y1), (value, value, value), -1)


def _side_panes(picture: Image, frame: Frame) -> None:
    """The side panes seen from within: they mirror what stands beside them, dimmed."""
    (left, top), (right, bottom) = pixel(frame, 0, FILL_CM), pixel(frame, LENGTH_CM, 0)
    wide = round(SIDE_CM * frame.px_per_cm)
    reach = round(4.2 * wide)
    fade = np.linspace(0.62, 0.86, wide, dtype=np.float32)[None, :, None]
    for side in ("left", "right"):
        part = picture[top:bottom, left : left + wide] if side == "left" else picture[top:bottom, right - wide : right]
        beside = (
            picture[top:bottom, left + wide : left + wide + reach]
            if side == "left"
            else picture[top:bottom, right - wide - reach : right - wide]
        )
        mirrored = cv2.resize(np.ascontiguousarray(beside[:, ::-1]), (wide, bottom - top), interpolation=cv2.INTER_AREA)
        mirrored = cv2.GaussianBlur(mirrored, (0, 0), 1.2).astype(np.float32)
        part[...] = (mirrored * (fade if side == "left" else fade[:, ::-1])).astype(np.uint8)
    low = pixel(frame, 0, BACK_EDGE_CM + 0.3)[1]
    for x in (left + wide, right - wide):
        seam = picture[top:low, x - 1 : x + 1]
        seam[...] = (seam * 0.82).astype(np.uint8)


def _surface(picture: Image, frame: Frame, rng: np.random.Generator) -> None:
    """The underside of the surface mirrors what is below it; ripples break the picture up."""
    (left, top), (right, low) = pixel(frame, 0, FILL_CM), pixel(frame, LENGTH_CM, SURFACE_CM)
    deep = low - top
    below = picture[low : low + 2 * deep, left:right]
    mirrored = cv2.resize(np.ascontiguousarray(below[::-1]), (right - left, deep), interpolation=cv2.INTER_AREA)
    ripple = fractal_noise(rng, (deep, right - left), 0.35 * frame.px_per_cm, octaves=2, stretch=7.0)
    columns = np.arange(right - left, dtype=np.float32)[None, :] + 2.0 * ripple
    rows = np.arange(deep, dtype=np.float32)[:, None] + 2.0 * ripple
    moved = cv2.remap(mirrored, columns, rows, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT)
    bright = 1.10 + 0.16 * np.maximum(ripple, 0)[..., None] + np.linspace(0.10, 0.0, deep)[:, None, None]
    picture[top:low, left:right] = np.minimum(moved * bright + 6, 255).astype(np.uint8)
    edge = picture[low - 1 : low + 1, left:right]
    edge[...] = np.minimum(edge * 1.06 + 6, 255).astype(np.uint8)


def _glass(picture: Image, frame: Frame) -> None:
    scale = frame.px_per_cm
    (left, top), (right, bottom) = pixel(frame, 0, HEIGHT_CM), pixel(frame, LENGTH_CM, 0)
    line = pixel(frame, 0, FILL_CM)[1]
    seam = max(2, round(0.30 * scale))
    air = picture[top:line, left:right]
    air[...] = np.minimum(air * 0.92 + np.linspace(7, 15, line - top)[:, None, None], 255).astype(np.uint8)
    for x0 in (left, right - seam):
        part = picture[top:bottom, x0 : x0 + seam]
        part[...] = (part * 0.30 + np.array([12, 14, 15])).astype(np.uint8)
    part = picture[bottom - seam : bottom, left:right]
    part[...] = (part * 0.30 + np.array([10, 11, 12])).astype(np.uint8)
    # The meniscus: a dark line under a bright one.
    thick = max(1, round(0.09 * scale))
    picture[line - thick : line, left:right] = np.minimum(picture[line - thick : line, left:right] * 0.3 + 150, 255)
    under = picture[line : line + thick, left:right]
    under[...] = (under * 0.72).astype(np.uint8)
    rim = max(2, round(0.14 * scale))
    cv2.rectangle(picture, (left - rim, top), (right + rim - 1, top + rim), (120, 140, 142), -1)
    for x0, x1 in ((left - rim, left), (right, right + rim)):
        edge = picture[top:bottom, x0:x1]
        edge[...] = (edge * 0.4 + np.array([52, 66, 66])).astype(np.uint8)
