"""Alignment against homographies that were put in: how near, and when it says that it cannot."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from littoral.imaging.align import align, align_reference, warp
from littoral.imaging.frames import lay_out


def framing(*, turn: float, scale: float, shift: tuple[float, float], keystone: float = 0.0) -> np.ndarray:
    centre = np.array([320.0, 240.0])
    rotation = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]]) * scale
    corners = np.array([[0, 0], [640, 0], [640, 480], [0, 480]], dtype=float)
    moved = (corners - centre) @ rotation.T + centre + np.array(shift)
    moved[0] += keystone
    return np.asarray(cv2.getPerspectiveTransform(corners.astype(np.float32), moved.astype(np.float32)))


def reference_of(tank):
    layout = lay_out(tank.view(), (640, 480))
    image = tank.shoot(tank.draw(), seed=3)
    return layout, align_reference(image, trusted=~layout.plants, corners_px=tank.view().panes[0].corners_px)


@pytest.mark.parametrize(
    ("turn", "scale", "shift", "keystone"),
    [(0, 1, (0, 0), 0), (0.01, 1.02, (12, -7), 4), (-0.02, 0.97, (-13, 11), -5), (0.0, 1.0, (35, 20), 0)],
)
def test_framing_is_undone_though_plants_grew_and_light_changed(tank, turn, scale, shift, keystone) -> None:
    matrix = framing(turn=turn, scale=scale, shift=shift, keystone=keystone)
    _, reference = reference_of(tank)
    grown = tank.draw(red_px=240, green_px=30, algae=0.6, seed=5)
    photo = tank.shoot(grown, gains=(1.4, 1.2, 0.9), gamma=1.15, matrix=matrix)
    found = align(photo, reference)
    assert found.flags == ()
    assert found.residual_px is not None
    places = np.array([[[60, 80]], [[580, 80]], [[580, 440]], [[60, 440]], [[320, 240]]], dtype=float)
    back = cv2.perspectiveTransform(cv2.perspectiveTransform(places, matrix), found.matrix)
    # The matrices speak of pixel corners, the drawing of pixel centres: half a pixel times the scale is not an error.
    assert np.linalg.norm(back - places, axis=2).max() < 0.35
    assert found.residual_px < 0.4


def test_a_photo_of_something_else_is_flagged_not_bent(tank) -> None:
    _, reference = reference_of(tank)
    noise = np.random.default_rng(9).integers(0, 255, (480, 640, 3), dtype=np.uint8)
    found = align(cv2.GaussianBlur(noise, (0, 0), 2), reference)
    assert "not aligned" in found.flags[0]
    assert found.residual_px is None
    np.testing.assert_allclose(found.matrix, np.eye(3), atol=1e-9)


@pytest.mark.parametrize("seed", [0, 4])
def test_a_camera_that_stands_still_is_not_moved_by_what_wobbles(tank, seed) -> None:
    """Ripples move points together over a quarter of the frame: a fit to them leaves more than it moves."""
    _, reference = reference_of(tank)
    rng = np.random.default_rng(seed)
    x, y = np.meshgrid(np.arange(640, dtype=np.float32), np.arange(480, dtype=np.float32))
    ripple = [
        cv2.resize(rng.normal(0, 1, (4, 5)).astype(np.float32), (640, 480), interpolation=cv2.INTER_CUBIC)
        for _ in range(2)
    ]
    photo = cv2.remap(tank.shoot(tank.draw(), seed=3), x + ripple[0], y + ripple[1], cv2.INTER_LINEAR)
    found = align(photo, reference)
    assert np.abs(found.matrix - np.eye(3)).max() < 1e-9


def test_without_structure_outside_the_plants_it_only_scales(tank) -> None:
    image = tank.shoot(tank.draw())
    reference = align_reference(image, trusted=np.zeros((480, 640), dtype=bool))
    found = align(cv2.resize(image, (320, 240)), reference)
    assert found.flags == ("not aligned: too little structure outside the plants",)
    np.testing.assert_allclose(found.matrix, np.diag([2.0, 2.0, 1.0]))


def test_warp_by_a_plain_scale_is_a_resize(tank) -> None:
    image = tank.shoot(tank.draw())
    half = warp(image, np.diag([0.5, 0.5, 1.0]), (320, 240)).astype(int)
    assert np.abs(half - cv2.resize(image, (320, 240), interpolation=cv2.INTER_AREA)).mean() < 0.5
    double = warp(image, np.diag([2.0, 2.0, 1.0]), (1280, 960)).astype(int)
    resized = cv2.resize(image, (1280, 960), interpolation=cv2.INTER_LINEAR).astype(int)
    assert np.abs(double - resized)[4:-4, 4:-4].max() <= 3
