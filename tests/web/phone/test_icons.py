"""Our mark as PNG against another drawing program, and the outlines against shapes that are known."""

from __future__ import annotations

import io
from math import pi

import numpy as np
import pytest

from littoral.web.assets import own_assets
from littoral.web.phone.icons import PAPER, coverage, icon
from littoral.web.phone.outline import outlines


def read(png: bytes) -> np.ndarray:
    image = pytest.importorskip("PIL.Image").open(io.BytesIO(png))
    return np.asarray(image.convert("RGBA")).astype(int)


def test_the_mark_is_drawn_as_another_program_draws_it():
    """Against resvg, through vl-convert: https://github.com/linebender/resvg, a renderer of SVG by others."""
    vl_convert = pytest.importorskip("vl_convert")
    theirs = read(vl_convert.svg_to_png(own_assets()["mark.svg"].content.decode(), scale=16))
    ours = read(icon(512, "any"))
    assert ours.shape == theirs.shape == (512, 512, 4)
    off = np.abs(ours[..., 3] - theirs[..., 3])
    assert off.mean() < 0.2
    assert (off > 64).sum() == 0  # a quarter of a pixel, at a few edges at most
    solid = (ours[..., 3] == 255) & (theirs[..., 3] == 255)
    assert solid.sum() > 50_000
    assert np.abs(ours - theirs)[solid].max() <= 1


@pytest.mark.parametrize("side", [180, 192, 512])
def test_a_maskable_icon_keeps_the_mark_within_the_safe_circle(side):
    """W3C Web Application Manifest, section on icon masks: a circle of 40 % of the icon's side is always shown."""
    pixels = read(icon(side, "maskable"))
    assert pixels.shape == (side, side, 4)
    assert (pixels[..., 3] == 255).all()
    marked = np.argwhere((pixels[..., :3] != PAPER).any(axis=2)) + 0.5 - side / 2
    assert len(marked) > 0.05 * side * side
    assert np.hypot(*marked.T).max() <= 0.4 * side + 1


def test_coverage_of_shapes_that_are_known():
    square = coverage([[(2.25, 3.5), (6.75, 3.5), (6.75, 9.0), (2.25, 9.0)]], 12)
    assert square.sum() == pytest.approx(4.5 * 5.5)
    assert square[4, 2] == pytest.approx(0.75)
    assert square[3, 4] == pytest.approx(0.5)
    (circle,) = outlines("M10 50a40 40 0 0 1 80 0a40 40 0 0 1-80 0z")
    assert coverage([list(circle)], 100).sum() == pytest.approx(pi * 40**2, rel=2e-3)
    (curve,) = outlines("M10 90Q50 10 90 90z")  # under a parabola: two thirds of the triangle of its handles
    assert coverage([list(curve)], 100).sum() == pytest.approx(2 / 3 * 80 * 80 / 2, rel=2e-3)


@pytest.mark.parametrize("data", ["M1 1S2 2 3 3", "M1 1L2", "5 5", "M1 1a2 3 0 0 1 4 4", "M0 0z5 5"])
def test_what_is_not_read_is_refused(data):
    with pytest.raises(ValueError, match=r"read here|ends early"):
        outlines(data)
