"""Stones and the driftwood root: solids given as a height over the picture plane, lit from above."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from littoral.demo.layout import LENGTH_CM, Frame, Place
from littoral.demo.noise import Field, fractal_noise, smooth_noise
from littoral.demo.sprites import Floats, Sprite, srgb_of_lab

LIGHT = np.array([-0.22, 0.80, 0.56])  # x right, y up, z to the viewer


def stone(frame: Frame, place: Place, rng: np.random.Generator) -> Sprite:
    """Return a rounded stone, half sunk in the substrate."""
    sprite = Sprite(
        frame,
        place.middle_cm - place.width_cm * 0.7,
        place.foot_cm - 1.5,
        place.middle_cm + place.width_cm * 0.7,
        place.foot_cm + place.height_cm * 1.3,
    )
    x, y = _grid(sprite)
    dx = (x - place.middle_cm) / (place.width_cm / 2)
    dy = (y - place.foot_cm - place.height_cm * 0.38) / (place.height_cm * 0.62)
    theta = np.arctan2(dy, dx)
    rim = 1.0 + sum(rng.normal(0, 0.055 / k**0.5) * np.cos(k * theta + rng.uniform(0, 6.3)) for k in range(2, 6))
    rho = (np.abs(dx / rim) ** 2.4 + np.abs(dy / rim) ** 2.4) ** (1 / 2.4)
    shape = x.shape
    lumps = fractal_noise(rng, shape, 1.6 * frame.px_per_cm, octaves=5)
    height = np.sqrt(np.clip(1 - rho**2, 0, 1)) * place.height_cm * 0.55 + 0.07 * lumps
    grain = fractal_noise(rng, shape, 0.35 * frame.px_per_cm, octaves=3)
    vein = np.exp(-((fractal_noise(rng, shape, 2.2 * frame.px_per_cm, octaves=3) / 0.12) ** 2))
    lightness = 57 + 3.5 * grain + 2.0 * lumps + 5 * vein
    lab = np.stack([lightness, 1.0 + 0.3 * lumps, 5.0 + 0.8 * lumps], axis=-1)
    _light(sprite, height, lab, rho, frame)
    _sink(sprite, y, place.foot_cm, rng)
    return sprite


@dataclass(frozen=True, slots=True)
class Branch:
    """A branch of the root: points (n, 2) in cm and its radius in cm at both ends."""

    points: tuple[tuple[float, float], ...]
    thick: float
    thin: float


ROOT = (
    Branch(((33.0, 5.0), (33.2, 8.0), (32.9, 11.0), (32.0, 13.4)), 2.30, 1.75),
    Branch(((32.3, 11.8), (30.2, 15.4), (28.6, 17.6), (26.6, 20.2), (25.2, 23.4)), 1.45, 0.14),
    Branch(((32.7, 11.0), (35.2, 14.6), (37.6, 16.6), (39.8, 19.4), (42.4, 23.8)), 1.60, 0.13),
    Branch(((36.9, 16.2), (39.6, 16.9), (42.2, 17.6), (45.2, 20.4)), 0.70, 0.10),
    Branch(((38.9, 18.2), (38.6, 20.4), (37.2, 23.0)), 0.48, 0.09),
    Branch(((28.9, 17.3), (27.0, 17.4), (25.2, 18.4), (23.9, 18.2)), 0.52, 0.09),
    Branch(((41.6, 17.4), (43.2, 16.6), (44.6, 16.8)), 0.34, 0.08),
    Branch(((32.2, 8.2), (29.6, 6.9), (26.4, 5.5)), 1.25, 0.45),
    Branch(((33.6, 8.0), (36.6, 6.9), (40.3, 5.4)), 1.30, 0.45),
    Branch(((33.0, 7.4), (34.4, 6.0), (35.2, 5.2)), 1.10, 0.50),
)


def root(frame: Frame, place: Place, rng: np.random.Generator, *, mirrored: bool) -> Sprite:
    """Return the branching root, with grain along each branch."""
    shift = place.middle_cm - (LENGTH_CM - 33.0 if mirrored else 33.0)
    middle = place.middle_cm
    sprite = Sprite(frame, middle - 12.0, 4.4, middle + 12.0, 24.5)
    x, y = _grid(sprite)
    shape = x.shape
    pixels = np.stack([x.ravel(), y.ravel()], axis=-1)
    height = np.full(shape, -1.0)
    lab = np.zeros((*shape, 3))
    edge = np.full(shape, 9.0)
    for branch in ROOT:
        path, radius = _branch_path(branch, rng)
        if mirrored:
            path = path * np.array([-1.0, 1.0]) + np.array([LENGTH_CM, 0.0])
        path = path + np.array([shift, 0.0])
        distance, nearest = cKDTree(path).query(pixels, distance_upper_bound=3.2)
        nearest = np.minimum(nearest, len(path) - 1)
        r = radius[nearest]
        across = np.clip(distance / r, 0, 9).reshape(shape)
        along = (nearest * 0.04).reshape(shape)
        tangent = np.gradient(path, axis=0)[nearest]
        offset = pixels - path[nearest]
        side = np.sign(tangent[:, 0] * offset[:, 1] - tangent[:, 1] * offset[:, 0]).reshape(shape)
        grain = _grain(along, side * np.arcsin(np.clip(across, 0, 1)), rng)
        solid = np.where(across < 1, r.reshape(shape) * np.sqrt(np.clip(1 - across**2, 0, 1)) + 0.013 * grain, -1.0)
        nearer = solid > height
        height = np.where(nearer, solid, height)
        edge = np.minimum(edge, across)
        shade = np.stack([40 + 4.5 * grain, 4.5 + 0.5 * grain, 10.5 + 1.0 * grain], axis=-1)
        lab = np.where(nearer[..., None], shade, lab)
    _light(sprite, np.maximum(height, 0.0), lab, edge, frame)
    _sink(sprite, y, place.foot_cm - 0.7, rng)
    return sprite


def _branch_path(branch: Branch, rng: np.random.Generator) -> tuple[Floats, Floats]:
    """A branch as points every 0.04 cm with slight bends, and the radius (cm) at each."""
    knots = np.asarray(branch.points)
    span = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(knots, axis=0).T))])
    at = np.arange(0.0, span[-1], 0.04)
    from scipy.interpolate import PchipInterpolator

    path = np.stack([PchipInterpolator(span, knots[:, axis])(at) for axis in (0, 1)], axis=-1)
    share = at / span[-1]
    wave = sum(rng.normal(0, 0.16 / k) * np.sin(k * at * 0.55 + rng.uniform(0, 6.3)) for k in range(1, 5))
    path[:, 0] += wave * np.minimum(1.0, share * 3)
    knots_in_wood = 1 + 0.04 * np.sin(at * 1.3 + rng.uniform(0, 6.3)) + 0.015 * np.sin(at * 3.1 + rng.uniform(0, 6.3))
    return path, (branch.thick + (branch.thin - branch.thick) * share**0.8) * knots_in_wood


def _grain(along: Floats, around: Floats, rng: np.random.Generator) -> Field:
    """Grain looked up along and around a branch, from a texture stretched along it."""
    texture = fractal_noise(rng, (256, 256), 11.0, octaves=4, stretch=7.0)
    column = ((along * 9.0) % 255).astype(np.float32)
    row = ((around / np.pi + 0.5) * 254).astype(np.float32)
    return np.asarray(cv2.remap(texture, column, row, cv2.INTER_LINEAR), dtype=np.float32)


def _grid(sprite: Sprite) -> tuple[Floats, Floats]:
    """The cm of every pixel's middle of a sprite."""
    scale = sprite.frame.px_per_cm
    origin = sprite.frame.px(np.zeros(2))
    x = (np.arange(sprite.x0, sprite.x1) + 0.5 - origin[0]) / scale
    y = (origin[1] - np.arange(sprite.y0, sprite.y1) - 0.5) / scale
    grid_x, grid_y = np.meshgrid(x, y)
    return grid_x, grid_y


def _sink(sprite: Sprite, y: Floats, ground_cm: float, rng: np.random.Generator) -> None:
    """Hide what lies under the gravel: everything below an uneven line at `ground_cm`."""
    uneven = smooth_noise(rng, (3, y.shape[1]), (3, 0.25 * sprite.frame.px_per_cm))[1] * 0.06
    shown = np.clip((y - ground_cm - uneven[None, :]) * sprite.frame.px_per_cm + 0.5, 0, 1)
    sprite.rgba[...] = np.round(sprite.rgba * shown[..., None]).astype(np.uint8)


def _light(sprite: Sprite, height: Floats, lab: Floats, edge: NDArray[np.float64], frame: Frame) -> None:
    """Shade a height map (cm) with Lambert's law and write it where `edge` is under 1, with a smooth rim."""
    soft = cv2.GaussianBlur(height.astype(np.float32), (0, 0), max(0.6, 0.035 * frame.px_per_cm))
    down, right = np.gradient(soft * frame.px_per_cm)
    normal = np.stack([-right, down, np.ones_like(soft)], axis=-1)
    normal /= np.linalg.norm(normal, axis=-1, keepdims=True)
    lambert = np.clip(normal @ (LIGHT / np.linalg.norm(LIGHT)), 0, 1)
    rgb = srgb_of_lab(lab) * (0.30 + 0.95 * lambert)[..., None]
    # The rim is one pixel of coverage wide.
    slope = np.hypot(*np.gradient(edge)) + 1e-6
    alpha = np.where(edge < 1.4, np.clip((1.0 - edge) / slope + 0.5, 0, 1), 0.0)
    sprite.rgba[..., :3] = np.clip(rgb * alpha[..., None], 0, 255).astype(np.uint8)
    sprite.rgba[..., 3] = np.round(alpha * 255).astype(np.uint8)
