"""A small tank drawn for these tests: textured ground, grey card, stone, two stands of known size, known camera."""

from __future__ import annotations

import io
from dataclasses import dataclass

import cv2
import numpy as np
import pytest
from PIL import Image

from littoral.imaging.regions import PaneShape, RegionShape, ViewShape

WIDTH, HEIGHT = 640, 480
BASE = 400  # row where the stands stand


def box(left: int, top: int, right: int, bottom: int) -> np.ndarray:
    return np.array([[left, top], [right, top], [right, bottom], [left, bottom]], dtype=float)


@dataclass(frozen=True)
class SmallTank:
    """Draws photos; stands are rectangles of leaves, so that cover and height are known exactly."""

    ground: np.ndarray

    def draw(self, *, red_px: int = 100, green_px: int = 100, algae: float = 0.0, seed: int = 0) -> np.ndarray:
        image = self.ground.copy()
        rng = np.random.default_rng(seed)
        for left, tall, colour in ((120, red_px, (150, 40, 45)), (300, green_px, (70, 130, 40))):
            leaves = np.array(colour) * rng.uniform(0.8, 1.2, (tall, 80, 1))
            image[BASE - tall : BASE, left : left + 80] = np.clip(leaves, 0, 255)
        wide = round(100 * algae)
        image[360:440, 450 : 450 + wide] = image[360:440, 450 : 450 + wide] * np.array([0.55, 0.95, 0.45])
        return image

    def view(self, *, locked: bool = False) -> ViewShape:
        regions = (
            RegionShape("red", "stand", box(100, 150, 220, BASE)),
            RegionShape("green", "stand", box(280, 150, 400, BASE)),
            RegionShape("stone", "stone", box(450, 360, 550, 440)),
            RegionShape("grey card", "card", box(40, 340, 90, 390)),
        )
        pane = PaneShape("tank", regions, box(20, 40, 620, 460), width_cm=60.0)
        return ViewShape((WIDTH, HEIGHT), (pane,), camera_locked=locked)

    def shoot(
        self,
        image: np.ndarray,
        *,
        gains: tuple[float, float, float] = (1, 1, 1),
        gamma: float = 1.0,
        matrix: np.ndarray | None = None,
        noise: float = 1.5,
        seed: int = 1,
    ) -> np.ndarray:
        """Spoil a picture as a phone does; `matrix` (3, 3) takes pixels of the picture to pixels of the photo."""
        light = np.where(image / 255 <= 0.04045, image / 255 / 12.92, ((image / 255 + 0.055) / 1.055) ** 2.4)
        light = (light * np.array(gains)) ** gamma
        shown = np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.maximum(light, 1e-9) ** (1 / 2.4) - 0.055)
        shown = np.clip(shown * 255 + np.random.default_rng(seed).normal(0, noise, shown.shape), 0, 255)
        photo = np.round(shown).astype(np.uint8)
        if matrix is not None:
            photo = cv2.warpPerspective(photo, matrix, (WIDTH, HEIGHT), borderMode=cv2.BORDER_REPLICATE)
        return np.asarray(photo)

    def jpeg(self, photo: np.ndarray, quality: int = 92) -> bytes:
        stream = io.BytesIO()
        Image.fromarray(photo).save(stream, "JPEG", quality=quality, subsampling=0)
        return stream.getvalue()


@pytest.fixture(scope="session")
def tank() -> SmallTank:
    rng = np.random.default_rng(7)
    y, x = np.mgrid[0:HEIGHT, 0:WIDTH]
    coarse = cv2.resize(rng.normal(0, 1, (48, 64)), (WIDTH, HEIGHT), interpolation=cv2.INTER_CUBIC)
    fine = cv2.GaussianBlur(rng.normal(0, 1, (HEIGHT, WIDTH)), (0, 0), 1.2)
    level = 120 - 0.08 * y + 10 * coarse + 30 * fine
    ground = np.stack([level, level * 1.01, level * 1.03], axis=-1)
    ground[y >= BASE] *= 0.6
    ground[y >= BASE] *= np.array([1.05, 1.0, 0.92])
    outside = (x < 20) | (x >= 620) | (y < 40) | (y >= 460)
    ground[outside] = 25
    ground[360:440, 450:550] = 95 + 12 * fine[360:440, 450:550, None]
    ground[340:390, 40:90] = 118
    return SmallTank(np.clip(ground, 0, 255))
