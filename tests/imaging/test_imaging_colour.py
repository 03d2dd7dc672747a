"""Colour against scikit-image and colour-science, and the properties a difference must have."""

from __future__ import annotations

import warnings

import numpy as np
import pytest
import skimage.color
from hypothesis import given
from hypothesis import strategies as st

from littoral.imaging.colour import (
    ciede2000,
    image_to_lab,
    linear_to_lab,
    linear_to_srgb,
    srgb_to_linear,
)

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # colour-science warns that plotting is not installed
    import colour as colour_science

lab_colours = st.tuples(st.floats(0, 100), st.floats(-120, 120), st.floats(-120, 120))


def test_difference_agrees_with_two_libraries() -> None:
    rng = np.random.default_rng(3)
    one = rng.uniform((0, -100, -100), (100, 100, 100), (4000, 3))
    two = one + rng.normal(0, 12, (4000, 3))
    ours = ciede2000(one, two)
    np.testing.assert_allclose(ours, skimage.color.deltaE_ciede2000(one, two), atol=1e-9)
    np.testing.assert_allclose(ours, colour_science.delta_E(one, two, method="CIE 2000"), atol=1e-9)


@given(lab_colours, lab_colours)
def test_difference_is_symmetric_and_never_negative(one: tuple[float, ...], two: tuple[float, ...]) -> None:
    there, back = float(ciede2000(one, two)), float(ciede2000(two, one))
    assert there >= 0
    assert there == pytest.approx(back, abs=1e-9)
    assert float(ciede2000(one, one)) == 0


def test_difference_broadcasts() -> None:
    image = np.zeros((3, 4, 3))
    assert ciede2000(image, np.array([1.0, 0, 0])).shape == (3, 4)


def test_curve_round_trips_at_every_byte() -> None:
    values = np.arange(256) / 255
    np.testing.assert_allclose(linear_to_srgb(srgb_to_linear(values)), values, atol=1e-12)
    assert linear_to_srgb([-1.0, 2.0]).tolist() == pytest.approx([0.0, 1.0])


def test_lab_agrees_with_scikit_image_over_all_hues() -> None:
    rng = np.random.default_rng(4)
    image = rng.integers(0, 256, (60, 70, 3), dtype=np.uint8)
    reference = skimage.color.rgb2lab(image)
    np.testing.assert_allclose(linear_to_lab(srgb_to_linear(image / 255)), reference, atol=2e-4)  # it rounds 7.787
    np.testing.assert_allclose(image_to_lab(image), reference, atol=0.05)
    assert float(ciede2000(image_to_lab(image), reference).mean()) < 0.003  # METHODS: 0.003 for this way
