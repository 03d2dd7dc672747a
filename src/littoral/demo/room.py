"""The dark room around the tank: wall and shelf out of focus, lamp and bench; nothing here is measured."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from littoral.demo.layout import HEIGHT_CM, LENGTH_CM, Frame, pixel
from littoral.demo.noise import fractal_noise
from littoral.demo.sprites import Floats

Image = NDArray[np.uint8]

BENCH_CM = -0.8  # where the bench's far edge is seen, below the bottom glass
LAMP_CM = (34.6, 35.7)


def dark_room(frame: Frame, words: str, rng: np.random.Generator) -> Image:
    """Return the room without the tank's inside, sRGB uint8 (height, width, 3); a tape on the bench says `words`."""
    rgb = _wall(frame, rng)
    _bench(rgb, frame, rng)
    picture = dithered(rgb, rng)
    _lamp(picture, frame)
    (left, _), (right, bottom) = pixel(frame, 0, HEIGHT_CM), pixel(frame, LENGTH_CM, 0)
    cv2.rectangle(picture, (left - 4, bottom), (right + 4, pixel(frame, 0, BENCH_CM)[1] + 3), (21, 21, 22), -1)
    _tape(picture, frame, words)
    _says_rendered(picture, frame)
    return picture


def dithered(rgb: Floats, rng: np.random.Generator) -> Image:
    """Round sRGB floats (height, width, 3) to bytes with a little noise, so that slow gradients show no steps."""
    return np.clip(rgb + rng.uniform(0, 1, rgb.shape[:2])[..., None], 0, 255).astype(np.uint8)


def mirror_in_bench(picture: Image, frame: Frame) -> None:
    """Lay a dim, blurred reflection of the tank on the bench, in place."""
    (left, _), (right, bottom) = pixel(frame, 0, 0), pixel(frame, LENGTH_CM, 0)
    bench = pixel(frame, 0, BENCH_CM)[1]
    deep = min(picture.shape[0] - bench, pixel(frame, 0, 0)[1] - pixel(frame, 0, 9.0)[1])
    if deep < 4:
        return
    tank = picture[bottom - deep : bottom, left:right]
    small = cv2.resize(tank, ((right - left) // 4, max(1, deep // 4)), interpolation=cv2.INTER_AREA)
    blurred = cv2.GaussianBlur(np.ascontiguousarray(small[::-1]), (0, 0), 2.5, sigmaY=5.0)
    wide = cv2.resize(blurred, (right - left, deep), interpolation=cv2.INTER_LINEAR).astype(np.float32)
    fade = (0.26 * (1 - np.linspace(0, 1, deep, dtype=np.float32)) ** 1.5)[:, None, None]
    part = picture[bench : bench + deep, left:right]
    part[...] = np.minimum(part + wide * fade, 255).astype(np.uint8)


def _wall(frame: Frame, rng: np.random.Generator) -> Floats:
    width, height = frame.size
    y = np.linspace(0, 1, height)[:, None]
    x = np.linspace(-1, 1, width)[None, :]
    unit = width / 1600
    shelf = np.zeros((height, width), dtype=np.float32)
    board = round(0.165 * height)
    at = 0.0
    while at < width:  # books and jars on a shelf, far out of focus
        wide, tall = rng.uniform(14, 46) * unit, rng.uniform(60, 150) * unit
        if rng.random() < 0.8:
            cv2.rectangle(
                shelf, (int(at), int(board - tall)), (int(at + wide), board), float(rng.uniform(0.15, 1.0)), -1
            )
        at += wide
    cv2.rectangle(shelf, (0, board), (width, board + max(1, round(16 * unit))), 1.1, -1)
    blurred = np.asarray(cv2.GaussianBlur(shelf, (0, 0), 6 * unit), dtype=np.float64)
    glow = np.exp(-(((y - 0.13) / 0.16) ** 2) - (x / 0.75) ** 2)
    wall = (33 - 11 * np.abs(x) ** 1.5 + 15 * glow) * (1 - 0.35 * y)
    light = wall + (8 + 14 * glow) * blurred
    return np.stack([light * 1.05, light * 1.0, light * 0.93], axis=-1)


def _bench(rgb: Floats, frame: Frame, rng: np.random.Generator) -> None:
    width, height = frame.size
    top = pixel(frame, 0, BENCH_CM)[1]
    deep = height - top
    x = np.linspace(-1, 1, width)[None, :]
    y = np.linspace(0, 1, deep)[:, None]
    scale = frame.px_per_cm / 24
    grain = fractal_noise(rng, (deep, width), 7.0 * scale, octaves=4, stretch=22.0)
    broad = fractal_noise(rng, (deep, width), 40.0 * scale, octaves=2, stretch=16.0)
    light = 66 - 26 * y - 20 * x**2 + 3.0 * grain + 4.0 * broad
    contact = 1 - 0.55 * np.exp(-y * deep / (0.5 * frame.px_per_cm))
    rgb[top:] = np.stack([light * 1.02, light * 0.80, light * 0.60], axis=-1) * contact[..., None]


def _lamp(picture: Image, frame: Frame) -> None:
    (left, low), (right, high) = pixel(frame, 5.5, LAMP_CM[0]), pixel(frame, LENGTH_CM - 5.5, LAMP_CM[1])
    rim = pixel(frame, 0, HEIGHT_CM)[1]
    thick = max(2, round(0.16 * frame.px_per_cm))
    for x_cm, out in ((9.0, -1), (LENGTH_CM - 9.0, 1)):
        x = pixel(frame, x_cm, 0)[0]
        cv2.line(picture, (x, low), (x + out * thick * 9, rim), (58, 60, 62), thick, cv2.LINE_AA)
    body = picture[high:low, left:right]
    body[...] = np.linspace(66, 30, low - high)[:, None, None] * np.array([1.0, 1.01, 1.03])
    strip = max(2, round(0.20 * frame.px_per_cm))
    inset = round(0.8 * frame.px_per_cm)
    glow = np.zeros(picture.shape[:2], dtype=np.float32)
    cv2.rectangle(glow, (left + inset, low), (right - inset, low + strip), 1.0, -1)
    wide = cv2.GaussianBlur(glow, (0, 0), 0.9 * frame.px_per_cm) * 95 + cv2.GaussianBlur(glow, (0, 0), 1.2) * 225
    lit = picture + wide[..., None] * np.array([0.98, 1.0, 0.96])
    picture[...] = np.minimum(lit, 255).astype(np.uint8)


def _tape(picture: Image, frame: Frame, words: str) -> None:
    """A strip of paper tape on the bench with the tank's name, as clubs do."""
    scale = frame.px_per_cm
    corners = np.array([[3.2, -2.6], [11.4, -2.75], [11.55, -4.35], [3.1, -4.15]])
    px = np.round(frame.px(corners) * 16).astype(np.int32)
    cv2.fillPoly(picture, [px + np.int32(scale * 2)], (22, 17, 13), lineType=cv2.LINE_AA, shift=4)
    cv2.fillPoly(picture, [px], (146, 134, 108), lineType=cv2.LINE_AA, shift=4)
    at = pixel(frame, 4.1, -3.75)
    size = 1.02 * scale / 24
    thick = max(1, round(scale / 12))
    cv2.putText(picture, words, at, cv2.FONT_HERSHEY_SIMPLEX, size, (48, 44, 52), thick, cv2.LINE_AA)


def _says_rendered(picture: Image, frame: Frame) -> None:
    width, height = frame.size
    size = max(0.35, 0.60 * width / 1600)
    at = (round(0.845 * width), round(0.955 * height))
    cv2.putText(picture, "rendered demo", at, cv2.FONT_HERSHEY_SIMPLEX, size, (168, 152, 130), 1, cv2.LINE_AA)
