"""Gravel: its surface seen from a little above, and the section against the front glass."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from littoral.demo.layout import BACK_EDGE_CM, FRONT_EDGE_CM, LENGTH_CM, SIDE_CM, Frame, pixel
from littoral.demo.noise import smooth_noise
from littoral.demo.sprites import Floats, srgb_of_lab

Image = NDArray[np.uint8]

GRAINS = 18000


def lay_gravel(picture: Image, frame: Frame, rng: np.random.Generator) -> None:
    """Draw the gravel into `picture`, in place: grains are small at the back and large at the front glass."""
    scale = frame.px_per_cm
    (left, _), (right, bottom) = pixel(frame, 0, 0), pixel(frame, LENGTH_CM, 0)
    columns = np.arange(left, right)
    wave = smooth_noise(rng, (3, right - left), (3, 9 * scale))[1] * 0.16
    across = (columns - left) / (right - left) * LENGTH_CM
    side = np.clip(np.minimum(across, LENGTH_CM - across) / SIDE_CM, 0, 1)
    # The back edge runs up along the side panes, and gravel lies a little higher in the corners.
    back_cm = FRONT_EDGE_CM + (BACK_EDGE_CM + wave + 0.35 * (across / 30 - 1) ** 2 - FRONT_EDGE_CM) * side
    front_cm = FRONT_EDGE_CM + 0.5 * wave
    back_y, front_y = _rows(frame, back_cm), _rows(frame, front_cm)
    rows = np.arange(picture.shape[0])[:, None]
    under = (rows >= back_y[None, :]) & (rows < bottom)
    picture[:, left:right][under] = (84, 78, 69)
    below = picture[bottom:].copy()
    share = np.sort(rng.random(GRAINS))
    at = rng.integers(0, right - left, GRAINS)
    y = back_y[at] + share * (bottom - back_y[at])
    depth = np.clip((front_y[at] - y) / (front_y[at] - back_y[at] + 1), 0, 1)
    on_top = y < front_y[at]
    lab = np.stack([56 + rng.normal(0, 5, GRAINS), rng.normal(1.8, 0.9, GRAINS), rng.normal(8.0, 1.8, GRAINS)], axis=-1)
    tone = np.where(on_top, 1.0 - 0.22 * depth, 0.60 - 0.10 * (y - front_y[at]) / (bottom - front_y[at]))
    colours = srgb_of_lab(lab) * tone[:, None]
    radius = rng.uniform(0.08, 0.18, GRAINS) * scale * (1 - 0.45 * depth)
    squash = np.where(on_top, 0.62, 0.88)
    turn = rng.uniform(-30, 30, GRAINS)
    for number in range(GRAINS):
        middle = (int((left + at[number]) * 16), int(y[number] * 16))
        wide, tall = max(8, int(radius[number] * 16)), max(8, int(radius[number] * squash[number] * 16))
        red, green, blue = (float(value) for value in colours[number])
        angle = float(turn[number])
        dark = (red * 0.66, green * 0.66, blue * 0.66)
        cv2.ellipse(picture, middle, (wide, tall), angle, 0, 360, dark, -1, cv2.LINE_AA, 4)
        up = (middle[0], middle[1] - tall // 4)
        cv2.ellipse(picture, up, (wide * 3 // 4, tall * 3 // 4), angle, 0, 360, (red, green, blue), -1, cv2.LINE_AA, 4)
    picture[bottom:] = below
    _front_line(picture, frame, front_y, left)


def _rows(frame: Frame, heights_cm: Floats) -> Floats:
    return np.asarray(frame.px(np.stack([np.zeros_like(heights_cm), heights_cm], axis=-1))[..., 1])


def _front_line(picture: Image, frame: Frame, front_y: Floats, left: int) -> None:
    """Where the surface meets the front glass: a thin lit line above a soft shadow."""
    deep = round(0.9 * frame.px_per_cm)
    for step in range(deep):
        rows = np.clip(front_y.astype(int) + step, 0, picture.shape[0] - 1)
        columns = left + np.arange(len(front_y))
        tone = 1.0 - 0.30 * np.exp(-step / (0.25 * frame.px_per_cm))
        picture[rows, columns] = (picture[rows, columns] * tone).astype(np.uint8)
