"""Proposed outlines of tanks: found where glass has straight edges, none where nothing has."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from littoral.imaging.outline import tank_outlines


def glass(picture: np.ndarray, corners: np.ndarray, *, colour: tuple[int, int, int] = (120, 160, 170)) -> None:
    import cv2

    cv2.fillPoly(picture, [corners.round().astype(np.int32)], colour)
    cv2.polylines(picture, [corners.round().astype(np.int32)], True, (15, 15, 18), 5)


@settings(max_examples=12)
@given(st.floats(0.05, 0.2), st.floats(0.1, 0.3), st.floats(-0.01, 0.01), st.integers(0, 99))
def test_one_tank_is_found_where_it_is(left: float, top: float, lean: float, seed: int) -> None:
    rng = np.random.default_rng(seed)
    picture = rng.normal(90, 6, (450, 800, 3)).clip(0, 255).astype(np.uint8)
    truth = np.array([[left, top], [0.9, top + lean], [0.9 - lean, 0.85], [left + lean, 0.85 + lean]]) * (800, 450)
    glass(picture, truth)
    found = tank_outlines(picture)
    assert len(found) == 1
    assert np.abs(found[0] - truth).max() < 8


def test_two_tanks_come_from_left_to_right() -> None:
    picture = np.full((450, 900, 3), 90, np.uint8)
    boxes = [np.array([[x, 80], [x + 370, 80], [x + 370, 380], [x, 380]], float) for x in (40, 480)]
    for one in boxes:
        glass(picture, one)
    found = tank_outlines(picture, tanks=2)
    assert [np.abs(a - b).max() < 8 for a, b in zip(found, boxes, strict=True)] == [True, True]


@pytest.mark.parametrize("seed", range(3))
def test_nothing_is_proposed_where_there_is_no_glass(seed: int) -> None:
    rng = np.random.default_rng(seed)
    assert tank_outlines(rng.integers(0, 255, (300, 400, 3), dtype=np.uint8)) == []
    assert tank_outlines(np.full((300, 400, 3), 128, np.uint8)) == []
