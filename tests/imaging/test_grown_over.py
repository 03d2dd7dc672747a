"""What grows before a stone is a plant only where the plant stands; algae that reach its place are still algae."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from littoral.imaging.frames import Cut
from littoral.imaging.segment import Threshold, choose_threshold, grown_over, histograms

SIZE = 60
PLACE = 12
"""Columns on the right of the stone's box in which the plant may stand."""
GREEN, GREY = (110, 170, 50), (120, 118, 112)


@pytest.fixture
def cut() -> Cut:
    mask = np.ones((SIZE, SIZE), bool)
    mask[:, -PLACE:] = False
    return Cut(slice(0, SIZE), slice(0, SIZE), mask)


def stone(*green: tuple[slice, slice]) -> NDArray[np.uint8]:
    image = np.full((SIZE, SIZE, 3), GREY, np.uint8)
    for rows, columns in green:
        image[rows, columns] = GREEN
    return image


def plants(cut: Cut) -> list[Threshold]:
    whole = Cut(cut.rows, cut.columns, np.ones_like(cut.mask))
    image = stone((slice(0, SIZE), slice(SIZE // 2, SIZE)))
    return [choose_threshold(histograms(image, [whole], [("chroma",)])[0], "chroma")]


def test_a_plant_that_fills_its_place_and_reaches_out_has_grown_over(cut: Cut) -> None:
    image = stone((slice(10, SIZE), slice(SIZE - PLACE - 15, SIZE)))
    grown = grown_over(image, cut, ~cut.mask, plants(cut)) & cut.mask
    assert grown.sum() == pytest.approx(50 * 15, rel=0.1)


def test_algae_that_reach_the_place_of_a_plant_are_not_taken_for_it(cut: Cut) -> None:
    image = stone((slice(0, 20), slice(10, SIZE)))
    assert not (grown_over(image, cut, ~cut.mask, plants(cut)) & cut.mask).any()
