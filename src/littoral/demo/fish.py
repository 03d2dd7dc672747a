"""A few small silver fish in the open water: life, and a nuisance that a measuring tool has to bear."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from littoral.demo.layout import Frame, Layout
from littoral.demo.sprites import Floats, Sprite

Image = NDArray[np.uint8]

SCHOOL = 7
LENGTH_CM = 2.1


def swim(picture: Image, label: NDArray[np.uint8], frame: Frame, layout: Layout, rng: np.random.Generator) -> None:
    """Draw the school over `picture` in place, clear of every measured polygon; hidden parts lose their `label`."""
    heading = float(rng.choice([-1.0, 1.0]))
    middle = np.array([rng.uniform(24, 46), rng.uniform(19, 23)])
    for _ in range(SCHOOL):
        at = middle + rng.normal(0, 1, 2) * np.array([5.0, 1.6])
        length = LENGTH_CM * rng.uniform(0.85, 1.1)
        facing = heading if rng.random() < 0.85 else -heading
        tilt = rng.normal(0, 0.10)
        squeeze = rng.uniform(0.7, 1.0)
        if _free(at, length, layout):
            _draw(picture, label, frame, at, length, facing * squeeze, tilt)


def _free(at: Floats, length: float, layout: Layout) -> bool:
    if not (4.0 < at[0] < 56.0 and 10.0 < at[1] < 25.0):
        return False
    polygons = [stand.polygon_cm for stand in layout.stands] + [place.polygon_cm for place in layout.places]
    for polygon in polygons:
        corners = np.asarray(polygon)
        low, high = corners.min(axis=0) - length, corners.max(axis=0) + length
        if bool(np.all(at > low) and np.all(at < high)):
            return False
    return True


def _draw(
    picture: Image, label: NDArray[np.uint8], frame: Frame, at: Floats, length: float, facing: float, tilt: float
) -> None:
    s = np.linspace(0, 1, 14)
    deep = 0.15 * np.sin(np.pi * s**0.72) ** 0.8
    back = np.stack([0.5 - s * 0.82, deep * 1.05], axis=-1)
    belly = np.stack([0.5 - s * 0.82, -deep * 0.95], axis=-1)
    spine = np.stack([0.5 - s * 0.82, deep * 0.18], axis=-1)
    tail = np.array([[-0.30, 0.015], [-0.50, 0.13], [-0.44, 0.0], [-0.50, -0.13], [-0.30, -0.015]])
    fin = np.array([[0.10, 0.13], [-0.02, 0.22], [-0.10, 0.12]])
    sprite = Sprite(frame, at[0] - length, at[1] - length / 2, at[0] + length, at[1] + length / 2)
    turn = np.array([[np.cos(tilt), np.sin(tilt)], [-np.sin(tilt), np.cos(tilt)]])

    def put(shape: Floats) -> Floats:
        return np.asarray(at + length * (shape * np.array([facing, 1.0])) @ turn)

    sprite.fill(put(tail)[None], np.array([[128.0, 136.0, 138.0]]))
    sprite.fill(put(fin)[None], np.array([[130.0, 138.0, 140.0]]))
    sprite.fill(put(np.concatenate([back, spine[::-1]]))[None], np.array([[104.0, 112.0, 112.0]]))
    sprite.fill(put(np.concatenate([belly, spine[::-1]]))[None], np.array([[196.0, 204.0, 204.0]]))
    sprite.lines(put(spine[1:])[None], np.array([52.0, 58.0, 62.0]), 0.08)
    eye = 0.035 * np.stack([np.cos(s * 6.5), np.sin(s * 6.5)], axis=-1) + np.array([0.38, 0.025])
    sprite.fill(put(eye)[None], np.array([[20.0, 22.0, 24.0]]))
    sprite.over(picture, label, 0)
