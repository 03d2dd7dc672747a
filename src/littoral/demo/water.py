"""What stands still around the plants: the dark room, lamp and bench, the water's depth, the substrate, the card."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from littoral.demo.layout import (
    BACK_EDGE_CM,
    FILL_CM,
    FRONT_EDGE_CM,
    HEIGHT_CM,
    LENGTH_CM,
    Frame,
    Layout,
)
from littoral.demo.noise import fractal_noise, smooth_noise
from littoral.demo.sprites import Floats, srgb_of_lab

Image = NDArray[np.uint8]


def still_scene(frame: Frame, layout: Layout, rng: np.random.Generator) -> Image:
    """Return everything behind the plants, sRGB uint8 (height, width, 3)."""
    width, height = frame.size
    picture = _room(frame, rng)
    (left, top), (right, bottom) = _px(frame, 0, FILL_CM), _px(frame, LENGTH_CM, 0)
    y = np.linspace(0, 1, bottom - top, dtype=np.float64)[:, None]
    x = np.linspace(-1, 1, right - left, dtype=np.float64)[None, :]
    lightness = 64 - 20 * y**0.8 - 8 * x**2 - 3 * x**2 * y
    lightness = lightness + 1.2 * smooth_noise(rng, (bottom - top, right - left), (height / 6, width / 8))
    lab = np.stack(
        [lightness, np.full_like(lightness, -4.0), np.broadcast_to(-5.0 + 3.0 * y, lightness.shape)], axis=-1
    )
    picture[top:bottom, left:right] = _dithered(srgb_of_lab(lab), rng)
    _substrate(picture, frame, rng)
    _card(picture, frame, layout)
    return picture


def light_map(frame: Frame, rng: np.random.Generator) -> NDArray[np.float32]:
    """Return how the lamp's light falls off in the water and where shafts stand: a factor (height, width)."""
    width, height = frame.size
    x = np.arange(width, dtype=np.float32)[None, :]
    y = np.arange(height, dtype=np.float32)[:, None]
    (left, top), (right, bottom) = _px(frame, 0, FILL_CM), _px(frame, LENGTH_CM, 0)
    depth = np.clip((y - top) / (bottom - top), 0, 1)
    across = (x - (left + right) / 2) / (right - left) * 2
    fall = 1.06 - 0.30 * depth - 0.10 * across**2
    shafts = np.zeros((height, width), dtype=np.float32)
    for _ in range(9):
        start, lean, wide = rng.uniform(left, right), rng.uniform(-0.18, 0.18), rng.uniform(0.006, 0.022) * width
        middle = start + lean * (y - top)
        shafts += np.exp(-(((x - middle) / (wide * (1 + depth))) ** 2)) * rng.uniform(0.02, 0.06) * (1 - 0.75 * depth)
    inside = np.zeros((height, width), dtype=bool)
    inside[top:bottom, left:right] = True
    return np.where(inside, fall + shafts, 1.0).astype(np.float32)


def glass_front(picture: Image, frame: Frame) -> None:
    """Draw the water's edge, the silicone seams and the glass's rim over everything, in place."""
    scale = frame.px_per_cm
    (left, top), (right, bottom) = _px(frame, 0, HEIGHT_CM), _px(frame, LENGTH_CM, 0)
    line = _px(frame, 0, FILL_CM)[1]
    seam = max(2, round(0.35 * scale))
    for x0 in (left, right - seam):
        part = picture[top:bottom, x0 : x0 + seam]
        part[...] = (part * 0.35 + np.array([14, 16, 17])).astype(np.uint8)
    part = picture[bottom - seam : bottom, left:right]
    part[...] = (part * 0.35 + np.array([10, 11, 12])).astype(np.uint8)
    band = picture[line - max(1, seam // 3) : line + max(1, seam // 4), left:right]
    band[...] = np.clip(band * 0.6 + np.array([70, 78, 80]), 0, 255).astype(np.uint8)
    cv2.rectangle(picture, (left - 3, top), (right + 2, bottom + 2), (64, 74, 76), 2, cv2.LINE_AA)


def _px(frame: Frame, x_cm: float, y_cm: float) -> tuple[int, int]:
    x, y = np.round(frame.px(np.array([x_cm, y_cm]))).astype(int)
    return int(x), int(y)


def _dithered(rgb: Floats, rng: np.random.Generator) -> Image:
    """Round to bytes with a little noise, so that slow gradients show no steps."""
    return np.clip(rgb + rng.uniform(0, 1, rgb.shape[:2])[..., None], 0, 255).astype(np.uint8)


def _room(frame: Frame, rng: np.random.Generator) -> Image:
    width, height = frame.size
    y = np.linspace(0, 1, height)[:, None]
    x = np.linspace(-1, 1, width)[None, :]
    wall = 26 - 10 * np.abs(x) ** 1.5 + 10 * np.exp(-(((y - 0.13) / 0.2) ** 2) - (x / 0.9) ** 2)
    rgb = np.stack([wall * 1.04, wall, wall * 0.96], axis=-1)
    bench = _px(frame, 0, -0.8)[1]
    grain = fractal_noise(rng, (height - bench, width), 9.0 * frame.px_per_cm / 24, octaves=4, stretch=14.0)
    light = 62 - 30 * np.linspace(0, 1, height - bench)[:, None] - 14 * x**2
    rgb[bench:] = np.stack([light + 5 * grain, light * 0.80 + 4.4 * grain, light * 0.62 + 3.6 * grain], axis=-1)
    picture = _dithered(rgb, rng)
    (left, top), (right, bottom) = _px(frame, 0, HEIGHT_CM), _px(frame, LENGTH_CM, 0)
    cv2.rectangle(picture, (left - 4, bottom), (right + 4, bench + 2), (22, 22, 22), -1)
    scale = frame.px_per_cm
    lamp_y = top - round(4.4 * scale)
    cv2.rectangle(
        picture,
        (left + round(6 * scale), lamp_y - round(0.9 * scale)),
        (right - round(6 * scale), lamp_y),
        (38, 39, 41),
        -1,
    )
    cv2.rectangle(
        picture,
        (left + round(7 * scale), lamp_y),
        (right - round(7 * scale), lamp_y + max(2, round(0.22 * scale))),
        (250, 252, 246),
        -1,
    )
    words = max(0.35, 0.62 * frame.size[0] / 1600)
    cv2.putText(
        picture,
        "rendered demo",
        (round(0.875 * width), round(0.982 * height)),
        cv2.FONT_HERSHEY_SIMPLEX,
        words,
        (150, 140, 125),
        1,
        cv2.LINE_AA,
    )
    return picture


def _substrate(picture: Image, frame: Frame, rng: np.random.Generator) -> None:
    """Gravel: the surface seen from a little above, and the section against the front glass."""
    scale = frame.px_per_cm
    (left, back), (right, bottom) = _px(frame, 0, BACK_EDGE_CM), _px(frame, LENGTH_CM, 0)
    front = _px(frame, 0, FRONT_EDGE_CM)[1]
    picture[back:bottom, left:right] = (74, 70, 64)
    count = 9000
    share = rng.random(count) ** 0.8
    rows = np.sort(back + share * (bottom - back))
    columns = rng.uniform(left, right, count)
    lightness = 52 + rng.normal(0, 8, count)
    colour = srgb_of_lab(np.stack([lightness, rng.normal(1.0, 1.0, count), rng.normal(6.0, 2.0, count)], axis=-1))
    size = rng.uniform(0.10, 0.21, count) * scale
    for number in range(count):
        y = rows[number]
        depth = np.clip((front - y) / (front - back), 0, 1)
        tone = 1.0 - 0.30 * depth if y < front else 0.62
        squash = 0.55 if y < front else 0.85
        radius = size[number] * (1 - 0.45 * depth)
        axes = (max(1, int(radius * 16)), max(1, int(radius * squash * 16)))
        middle = (int(columns[number] * 16), int(y * 16))
        red, green, blue = (float(value) * tone for value in colour[number])
        cv2.ellipse(picture, middle, axes, 0, 0, 360, (red * 0.7, green * 0.7, blue * 0.7), -1, cv2.LINE_AA, 4)
        lit = (axes[0] * 3 // 4, axes[1] * 3 // 4)
        up = (middle[0], middle[1] - axes[1] // 4)
        cv2.ellipse(picture, up, lit, 0, 0, 360, (red, green, blue), -1, cv2.LINE_AA, 4)


def _card(picture: Image, frame: Frame, layout: Layout) -> None:
    """The grey and white card, standing in the water at the back."""
    cards = {place.key: place for place in layout.places if place.kind == "card"}
    for key, rgb in (("grey card", (119, 119, 119)), ("white card", (208, 208, 208))):
        place = cards[key]
        left, bottom = _px(frame, place.middle_cm - place.width_cm / 2, place.foot_cm)
        right, top = _px(frame, place.middle_cm + place.width_cm / 2, place.foot_cm + place.height_cm)
        cv2.rectangle(picture, (left, top), (right, bottom), rgb, -1)
