"""What is computed the quick way, against the same computed plainly."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest

from littoral.imaging.camera_model import NOISE, CameraModel, bumps_at, fit, jacobian, lightness
from littoral.imaging.camera_out import apply
from littoral.imaging.colour import image_to_lab, linear_to_srgb
from littoral.imaging.frames import Cut, every, touching
from littoral.imaging.measure import yellow_share

TALL = 0.75
MIXING = np.array([0.03, 0.01, 0.02, 0.04, 0.0, 0.02])


def camera(rng: np.random.Generator, *, mixed: bool = False) -> CameraModel:
    bumps = bumps_at(np.zeros((1, 2)), TALL).shape[1]
    veil = np.concatenate([[0.01], rng.normal(0, 0.004, bumps - 1)])
    return CameraModel(np.array([0.2, 0.0, -0.1]), np.array([0.1, -0.05, 0.05]), veil, 0.05, MIXING if mixed else None)


def blocks(rng: np.random.Generator, count: int = 160) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    place = rng.uniform(0, 1, (count, 2)) * [1, TALL]
    return rng.uniform(15, 240, (count, 3)), bumps_at(place, TALL), ((place - [0.5, TALL / 2]) ** 2).sum(axis=1) * 4


@pytest.mark.parametrize("mixed", [False, True])
def test_slopes_of_the_camera_are_those_of_small_steps(mixed: bool) -> None:
    rng = np.random.default_rng(1)
    model, (value, bumps, edge) = camera(rng, mixed=mixed), blocks(rng)
    names = ("gain", "curve", "veil", *(("mixing",) if mixed else ()))
    plain = []
    for name in names:
        for at in range(len(getattr(model, name))):
            step = np.zeros(len(getattr(model, name)))
            step[at] = 1e-6
            up, down = (replace(model, **{name: getattr(model, name) + sign * step}) for sign in (1, -1))
            move = lightness(up.light(value, bumps, edge)) - lightness(down.light(value, bumps, edge))
            plain.append(move.ravel() / 2e-6)
    light = model.light(value, bumps, edge).ravel()
    bent = light > 0.002  # below it a place may lie on the bend of the curves, where a step is half of each side
    quick = jacobian(model, value, bumps, edge)
    np.testing.assert_allclose(quick[bent], np.stack(plain, axis=1)[bent], rtol=1e-4, atol=1e-3)


def test_a_fit_from_near_by_ends_where_one_from_far_off_does() -> None:
    rng = np.random.default_rng(2)
    true, (value, bumps, edge) = camera(rng), blocks(rng, 300)
    goal = np.maximum(true.light(value, bumps, edge) * rng.normal(1, 0.02, (300, 1)), 1e-3)
    goal[:20] *= 1.6  # what has changed counts for nothing
    half = np.arange(300) % 2 == 0
    whole = fit(value, goal, bumps, edge, np.ones(300), fading=0.05)[0]
    parts = value[half], goal[half], bumps[half], edge[half], np.ones(150)
    far, near = (fit(*parts, fading=0.05, start=start)[0] for start in (None, whole))
    off = lightness(far.light(value, bumps, edge)) - lightness(near.light(value, bumps, edge))
    assert np.sqrt((off * off).mean()) < NOISE / 8  # both stop within the fit's tolerance of the same end
    assert np.abs(off).max() < NOISE


@pytest.mark.parametrize("mixed", [False, True])
def test_a_picture_is_freed_of_its_camera_pixel_by_pixel(mixed: bool) -> None:
    rng = np.random.default_rng(3)
    model = camera(rng, mixed=mixed)
    coarse = rng.integers(20, 236, (8, 10, 3), dtype=np.uint8)
    image = np.asarray(cv2.resize(coarse, (120, 90), interpolation=cv2.INTER_CUBIC), dtype=np.uint8)
    rows, columns = np.mgrid[0:90, 0:120]
    place = np.stack([columns.ravel() + 0.5, rows.ravel() + 0.5], axis=1) / 120
    edge = ((place * 120 - [60, 45]) ** 2).sum(axis=1) / 60**2
    light = model.light(image.reshape(-1, 3).astype(float), bumps_at(place, TALL), edge)
    plain = np.round(linear_to_srgb(light) * 255).reshape(image.shape)
    assert np.abs(apply(image, model).astype(float) - plain).max() <= 2  # veil and fading from a coarse grid


def test_yellow_pixels_are_those_of_its_hues() -> None:
    rng = np.random.default_rng(4)
    image = rng.integers(0, 256, (60, 80, 3), dtype=np.uint8)
    mask = rng.random((50, 70)) < 0.7
    cut = Cut(slice(5, 55), slice(4, 74), np.ones((50, 70), bool))
    lab = image_to_lab(cut.of(image))[mask]
    hue, chroma = np.degrees(np.arctan2(lab[:, 2], lab[:, 1])), np.hypot(lab[:, 1], lab[:, 2])
    plain = ((hue > 70) & (hue < 100) & (chroma > 20) & (lab[:, 0] > 35)).mean()
    assert plain > 0.02
    assert yellow_share(image, cut, mask) == pytest.approx(plain, abs=1.5 / mask.sum())


def test_pixels_and_pieces_are_those_of_plain_indexing() -> None:
    rng = np.random.default_rng(5)
    image = rng.integers(0, 256, (61, 83, 3), dtype=np.uint8)
    cut = Cut(slice(3, 40), slice(7, 60), np.ones((37, 53), bool))
    mask, there = rng.random((37, 53)) < 0.3, rng.random((37, 53)) < 0.02
    np.testing.assert_array_equal(cut.pixels(image, mask), cut.of(image)[mask])
    np.testing.assert_array_equal(every(3, image), image[::3, ::3])
    _, labels = cv2.connectedComponents(mask.astype(np.uint8))
    np.testing.assert_array_equal(touching(mask, there), np.isin(labels, [one for one in labels[there] if one]))
