"""The clean picture: what is covered is known exactly, and what the keeper's polygons hold is what they say."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from littoral.demo.algae import lay_algae
from littoral.demo.growth import algae_share
from littoral.demo.layout import LENGTH_CM, SURFACE_CM, Frame, corners_px, lay_out, polygon_px
from littoral.demo.picture import render_clean, set_stage
from littoral.demo.story import tell
from littoral.demo.truth import canopy_height_px, measure_clean


def inside(polygon, shape) -> np.ndarray:
    mask = np.zeros(shape, dtype=np.uint8)
    cv2.fillPoly(mask, [polygon], 1)
    return mask > 0


@pytest.mark.parametrize("share", [0.0, 0.03, 0.25, 0.6])
@pytest.mark.parametrize("key", ["stone", "small stone", "root", "front glass"])
def test_algae_cover_the_stated_share_of_the_polygon(left_stage, key, share) -> None:
    place = next(place for place in left_stage.layout.places if place.key == key)
    sprite = left_stage.solids[key]
    polygon = polygon_px(place.polygon_cm, left_stage.frame) - np.array([sprite.x0, sprite.y0], dtype=np.int32)
    picture = left_stage.still.copy()
    grown = lay_algae(picture, sprite, left_stage.algae_field[key], place.kind, share, polygon)
    part = inside(polygon, grown.shape)
    assert (grown & part).sum() / part.sum() == pytest.approx(share, abs=0.005)


@pytest.mark.parametrize("tank", ["left", "right"])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_polygons_of_stones_and_root_lie_on_them(seed, tank) -> None:
    story = tell(seed, days=56)
    stage = set_stage(story, lay_out(story, tank), Frame((800, 600)))
    for place in stage.layout.places:
        if place.kind not in ("stone", "wood"):
            continue
        sprite = stage.solids[place.key]
        polygon = polygon_px(place.polygon_cm, stage.frame) - np.array([sprite.x0, sprite.y0], dtype=np.int32)
        part = inside(polygon, sprite.rgba.shape[:2])
        assert (sprite.rgba[..., 3][part] > 127).mean() > 0.97, place.key


@pytest.mark.parametrize("day", [0.55, 33.55, 55.55])
def test_measured_algae_are_the_stated_ones_where_nothing_grows_before_them(left_stage, day) -> None:
    truth = measure_clean(left_stage, render_clean(left_stage, day, np.random.default_rng(1)), day)
    for key, kind in (("small stone", "stone"), ("root", "wood"), ("front glass", "glass")):
        assert truth[key]["algae"] == pytest.approx(algae_share(left_stage.story, "left", kind, day), abs=0.02), key


def test_the_card_is_grey_and_pale_and_stands_in_sight_all_the_time(left_stage) -> None:
    for day in (0.5, 30.5, 55.5):
        truth = measure_clean(left_stage, render_clean(left_stage, day, np.random.default_rng(int(day))), day)
        grey, pale = truth["grey card"]["lab"], truth["pale card"]["lab"]
        assert np.hypot(*grey[1:]) < 0.5
        assert np.hypot(*pale[1:]) < 0.5
        assert 47 < grey[0] < 52  # 18 % of white is L* 49.5
        assert pale[0] > 78


def test_polygons_lie_in_the_water_and_stand_apart() -> None:
    for seed in range(1, 6):
        story = tell(seed, days=56)
        for tank in ("left", "right"):
            layout = lay_out(story, tank)
            frame = Frame((1600, 1200))
            boxes = [np.asarray(stand.polygon_cm) for stand in layout.stands]
            for box in boxes + [np.asarray(place.polygon_cm) for place in layout.places]:
                assert box[:, 0].min() > 0
                assert box[:, 0].max() < LENGTH_CM
                assert box[:, 1].min() > 0
                assert box[:, 1].max() < SURFACE_CM
            masks = [inside(polygon_px(stand.polygon_cm, frame), (1200, 1600)) for stand in layout.stands]
            for i, one in enumerate(masks):
                for other in masks[i + 1 :]:
                    assert (one & other).sum() < 0.10 * min(one.sum(), other.sum())


def test_stands_stay_within_their_polygons(left_stage) -> None:
    """What grows out of its polygon is not measured, so it must be little, also when tallest."""
    for day in (0.5, 26.4, 39.5, 55.5):
        label = render_clean(left_stage, day, np.random.default_rng(3)).label
        for stand in left_stage.layout.stands:
            grown = label == left_stage.labels[stand.key]
            part = inside(polygon_px(stand.polygon_cm, left_stage.frame), label.shape)
            assert (grown & ~part).sum() < 0.15 * grown.sum(), (day, stand.key)


def test_the_same_moment_is_drawn_the_same_and_leaves_sway_between_moments(left_stage) -> None:
    one = render_clean(left_stage, 20.5, np.random.default_rng(5))
    again = render_clean(left_stage, 20.5, np.random.default_rng(5))
    swayed = render_clean(left_stage, 20.5, np.random.default_rng(6))
    assert np.array_equal(one.image, again.image)
    assert np.array_equal(one.label, again.label)
    assert not np.array_equal(one.image, swayed.image)


def test_corners_are_the_front_glass() -> None:
    corners = corners_px(Frame((1600, 1200)))
    assert corners.tolist() == [[80, 250], [1520, 250], [1520, 970], [80, 970]]


def test_canopy_leaves_out_columns_that_are_hardly_filled() -> None:
    mask = np.zeros((20, 10), dtype=bool)
    mask[10:20, 2:5] = True  # a block ten high
    mask[2, 7] = True  # one stray pixel far above
    assert canopy_height_px(mask, 20.0) == (18.0, 10.0)
    assert canopy_height_px(np.zeros((5, 5), dtype=bool), 5.0) == (0.0, 0.0)
