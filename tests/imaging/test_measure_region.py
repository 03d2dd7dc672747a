"""Masks to numbers: cover, canopy height and colour of shapes whose size is known."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import skimage.filters
from hypothesis import given, settings
from hypothesis import strategies as st

from littoral.imaging import greening, segment
from littoral.imaging.colour import linear_to_lab, srgb_to_linear
from littoral.imaging.frames import Cut, lay_out
from littoral.imaging.measure import (
    base_row,
    canopy,
    colour_error,
    columns_of,
    foot_row,
    holes_share,
    mid_colour,
    rooted,
    wide_share,
    yellow_share,
)
from littoral.imaging.regions import PaneShape, RegionShape, ViewShape


def whole(height: int = 200, width: int = 120) -> Cut:
    return Cut(slice(0, height), slice(0, width), np.ones((height, width), dtype=bool))


def block(top: int, bottom: int, left: int, right: int) -> np.ndarray:
    mask = np.zeros((200, 120), dtype=bool)
    mask[top:bottom, left:right] = True
    return mask


def test_height_of_a_block_is_its_height() -> None:
    columns = columns_of(block(80, 190, 20, 100), whole())
    assert canopy(columns, base_row([columns])) == (110.0, 80.0)


def test_a_neighbours_stray_leaf_does_not_raise_the_canopy() -> None:
    mask = block(120, 190, 20, 100) | block(10, 30, 0, 40)
    columns = columns_of(mask, whole())
    assert canopy(columns, 190.0) == (70.0, 80.0)
    assert not rooted(mask, whole())[10:30].any()


def test_a_thin_shoot_is_not_the_canopy() -> None:
    mask = block(120, 190, 20, 100)
    mask[20:30, 60] = True
    mask[30:120:8, 60] = True  # a column with gaps, filled to less than 30 % over its upper part
    columns = columns_of(mask, whole())
    height, _ = canopy(columns, 190.0)
    assert height == pytest.approx(70, abs=2)


def test_nothing_grows() -> None:
    columns = columns_of(np.zeros((200, 120), dtype=bool), whole())
    assert np.isnan(base_row([columns]))
    assert canopy(columns, base_row([columns])) == (0.0, 0.0)


def test_heights_count_from_the_foot_as_drawn_where_plant_comes_near_to_it() -> None:
    series = [columns_of(block(80, lowest, 20, 100), whole()) for lowest in (186, 188, 190)]
    assert base_row(series) == 188
    assert foot_row(series, 195.0, 200.0) == 195.0  # a front of substrate hides the lowest leaves
    assert foot_row(series, 199.0, 200.0) == 188  # the polygon goes on below the plant
    assert np.isnan(foot_row([columns_of(np.zeros((200, 120), dtype=bool), whole())], 199.0, 200.0))


def test_low_leaves_of_a_neighbour_are_no_canopy_and_lower_shoots_are() -> None:
    tall = block(90, 190, 20, 60)
    columns = columns_of(tall | block(170, 190, 60, 100), whole())  # a fifth as high: somebody else's
    assert canopy(columns, 190.0)[0] == 100.0
    columns = columns_of(tall | block(150, 190, 60, 100), whole())  # two fifths: the stand's own edge
    assert canopy(columns, 190.0)[0] == 70.0


@settings(deadline=None)
@given(st.integers(5, 150), st.integers(5, 100))
def test_canopy_of_any_block(tall: int, wide: int) -> None:
    columns = columns_of(block(195 - tall, 195, 10, 10 + wide), whole())
    assert canopy(columns, base_row([columns])) == (float(tall), float(wide))


def test_colour_is_the_mid_tones_and_ignores_glare() -> None:
    image = np.full((200, 120, 3), (70, 130, 40), dtype=np.uint8)
    image[:60] = 255  # 30 % glare: above the 60th percentile of luminance
    found = mid_colour(image, whole(), np.ones((200, 120), dtype=bool))
    assert found is not None
    np.testing.assert_allclose(found, linear_to_lab(srgb_to_linear(np.array([70, 130, 40]) / 255)), atol=1e-4)
    assert mid_colour(image, whole(), np.zeros((200, 120), dtype=bool)) is None


def test_colour_error_has_a_floor_and_grows_with_the_residual() -> None:
    assert colour_error(0.0, camera_locked=False) == 0.30
    assert colour_error(2.0, camera_locked=False) == pytest.approx(0.671, abs=0.001)
    assert colour_error(None, camera_locked=False) > colour_error(None, camera_locked=True)


@settings(deadline=None)
@given(st.integers(0, 2**32 - 1), st.floats(0.05, 0.95))
def test_two_classes_are_those_of_scikit_image(seed: int, share: float) -> None:
    """Otsu's threshold lies in the same gap between bins as skimage.filters.threshold_otsu on the same histogram."""
    rng = np.random.default_rng(seed)
    n = round(2000 * share)
    values = np.concatenate([rng.normal(10, 3, 2000 - n), rng.normal(40, 6, n)])
    counts, edges = np.histogram(values, 100, (-10, 80))
    found = segment.split_in_two(counts, (-10, 80))
    reference = skimage.filters.threshold_otsu(hist=(counts, (edges[:-1] + edges[1:]) / 2))
    assert found is not None
    between = counts[
        (edges[:-1] >= min(found.threshold, reference) + 0.9) & (edges[1:] <= max(found.threshold, reference))
    ]
    assert between.sum() == 0
    assert found.share == pytest.approx(float((values > found.threshold).mean()), abs=1e-9)


def counts_of(look: str, values: np.ndarray) -> np.ndarray:
    return np.histogram(np.clip(values, *segment.bounds(look)), segment.BINS, segment.bounds(look))[0]


def test_look_is_chosen_by_the_ground() -> None:
    rng = np.random.default_rng(2)
    grey = {
        "chroma": np.r_[rng.normal(6, 2, 7000), rng.normal(40, 6, 3000)],
        "green": np.r_[rng.normal(0, 2, 7000), rng.normal(-35, 6, 3000)],  # red plants
        "dark": rng.normal(0, 0.02, 10000),
    }
    pink = {
        "chroma": rng.normal(46, 6, 10000),
        "green": rng.normal(-40, 7, 10000),
        "dark": np.r_[rng.normal(0, 0.05, 9300), rng.normal(0.25, 0.04, 500), rng.normal(0.6, 0.05, 200)],
    }
    brown = {
        "chroma": np.r_[rng.normal(30, 3, 6000), rng.normal(45, 3, 4000)],
        "green": np.r_[rng.normal(-8, 3, 6000), rng.normal(30, 4, 4000)],
        "dark": rng.normal(0, 0.02, 10000),
    }
    for values, look in ((grey, "chroma"), (pink, "dark"), (brown, "green")):
        found = segment.choose_threshold({name: counts_of(name, value) for name, value in values.items()})
        assert found.look == look
        assert found.split is not None
    assert found.split.share == pytest.approx(0.4, abs=0.01)


def test_a_bare_and_a_full_region() -> None:
    rng = np.random.default_rng(5)
    for level, look in ((5, "empty"), (45, "full")):
        pooled = {
            "chroma": counts_of("chroma", rng.normal(level, 2, 5000)),
            "green": counts_of("green", rng.normal(level / 2 if look == "full" else 0, 1, 5000)),
            "dark": counts_of("dark", rng.normal(0, 0.02, 5000)),
        }
        found = segment.choose_threshold(pooled)
        assert found.look == look
        assert found.flags
        mask = segment.plant_mask(np.zeros((200, 120, 3), np.uint8), whole(), found)
        assert mask.mean() == (1.0 if look == "full" else 0.0)


@pytest.mark.parametrize("share", [0.0, 0.2, 0.6])
def test_algae_share_and_no_algae_on_clean_stone(share: float) -> None:
    """METHODS: a threshold taken per photo invents algae on clean stone."""
    rng = np.random.default_rng(11)
    cut = Cut(slice(0, 80), slice(0, 100), np.ones((80, 100), dtype=bool))

    def stone(covered: float) -> np.ndarray:
        image = 100 + rng.normal(0, 4, (80, 100, 1)) + np.zeros(3)
        image[:, : round(100 * covered)] *= np.array([0.6, 0.95, 0.5])
        return np.clip(image, 0, 255).astype(np.uint8)

    clean = greening.clean_state([stone(0) for _ in range(3)], cut)
    series = [stone(0), stone(share / 2), stone(share)]
    pooled = np.sum([greening.greening_histogram(image, cut, clean) for image in series], axis=0)
    threshold = greening.greening_threshold(pooled, clean)
    for image, covered in zip(series, (0, share / 2, share), strict=True):
        assert np.mean(greening.greening(image, cut, clean) > threshold) == pytest.approx(covered, abs=0.015)


def test_polygons_lie_where_they_were_drawn() -> None:
    view = ViewShape(
        (1000, 800),
        (
            PaneShape(
                "tank",
                (
                    RegionShape("stand", "stand", np.array([[100, 100], [300, 100], [300, 500], [100, 500]], float)),
                    RegionShape("stone", "stone", np.array([[200, 400], [600, 400], [600, 600], [200, 600]], float)),
                    RegionShape("off", "glass", np.array([[900, 700], [1500, 700], [1500, 900], [900, 900]], float)),
                ),
                corners_px=np.array([[50, 50], [950, 50], [950, 750], [50, 750]], float),
                width_cm=45.0,
            ),
        ),
    )
    layout = lay_out(view, (4000, 3200))
    assert layout.size_px == (1000, 800)
    stand, stone, off = layout.regions
    assert stand.cut.mask.sum() == pytest.approx(200 * 400, rel=0.01)
    assert stand.px_per_cm == pytest.approx(20.0)
    assert stone.cut.mask.sum() == pytest.approx(400 * 200, rel=0.01)
    assert stand.hidden is not None  # the stone's foot is lower: it stands before the stand
    assert stand.hidden.sum() == pytest.approx(100 * 100, rel=0.03)
    assert off.cut.mask.any()
    lawn = RegionShape("lawn", "stand", np.array([[100, 500], [300, 500], [300, 700], [100, 700]], float))
    pane = view.panes[0]
    before = lay_out(ViewShape((1000, 800), (replace(pane, regions=(*pane.regions, lawn)),)), (1000, 800)).regions[1]
    # The lawn stands before the stone and may outgrow its 200 px by 15 % on either side.
    assert before.cut.mask.sum() == pytest.approx(400 * 200 - 130 * 100, rel=0.01)
    small = lay_out(view, (500, 400))
    assert small.size_px == (500, 400)
    assert small.regions[0].px_per_cm == pytest.approx(10.0)
    with pytest.raises(ValueError, match="must have a size"):
        lay_out(ViewShape((0, 10), ()), (10, 10))


def test_yellow_leaves_are_counted_and_green_and_red_ones_are_not() -> None:
    image = np.full((200, 120, 3), (70, 130, 40), dtype=np.uint8)
    image[:50] = (205, 180, 60)  # yellow
    image[150:] = (150, 40, 45)  # red
    everywhere = np.ones((200, 120), dtype=bool)
    assert yellow_share(image, whole(), everywhere) == pytest.approx(0.25)
    assert yellow_share(image, whole(), np.zeros_like(everywhere)) is None


def test_holes_are_what_an_outline_encloses() -> None:
    mask = block(80, 180, 20, 100)
    assert holes_share(mask) == 0.0
    mask[100:140, 40:60] = False
    assert holes_share(mask) == pytest.approx(40 * 20 / (100 * 80))


def test_wide_patches_are_film_and_small_ones_spots() -> None:
    covered = block(20, 60, 10, 60)  # 40 x 50 px, at 20 px/cm a film
    for row in range(80, 180, 20):
        covered[row : row + 5, 30:35] = True
    share = wide_share(covered, 20.0)
    assert share == pytest.approx(2000 / (2000 + 5 * 25))
    assert wide_share(np.zeros_like(covered), 20.0) == 0.0
