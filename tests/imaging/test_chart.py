"""A chart of 24 patches: its values are the published ones, its turn is found, a hidden one is refused; real ones too.

Right answers for the photos: colour-cards/SOURCE.txt of the open data sets. Charts' corners were read off by hand.
"""

from __future__ import annotations

import warnings
from pathlib import Path

import cv2
import numpy as np
import pytest

from littoral.imaging.anchors import CARD_HIDDEN, anchors_of
from littoral.imaging.camera_out import apply
from littoral.imaging.chart import EDITIONS, chart_lab, chart_light, chart_off, fit_chart, light_of, read_chart
from littoral.imaging.colour import ciede2000, image_to_lab, linear_to_lab, linear_to_srgb
from littoral.imaging.correct import correct
from littoral.imaging.frames import lay_out
from littoral.imaging.regions import PaneShape, RegionShape, ViewShape
from littoral.imaging.target import pool_target
from littoral.trial.model import CHART_EDITIONS


def picture(path: Path) -> np.ndarray:
    return np.asarray(cv2.cvtColor(cv2.imread(str(path)), cv2.COLOR_BGR2RGB))


@pytest.mark.parametrize("edition", EDITIONS)
def test_values_are_the_published_ones(edition: str) -> None:
    """colour-science 0.4.7, datasets of the chart's two editions, and its own adaptation to D65 (Bradford)."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
    name = next(name for name in colour.CCS_COLOURCHECKERS if f"24 - {edition.split()[0].title()} Nov" in name)
    chart = colour.CCS_COLOURCHECKERS[name]
    xyz = np.array([colour.xyY_to_XYZ(xyy) for xyy in chart.data.values()])
    np.testing.assert_allclose(chart_lab(edition), colour.XYZ_to_Lab(xyz, chart.illuminant), atol=0.006)
    linear = colour.XYZ_to_RGB(xyz, "sRGB", illuminant=chart.illuminant, chromatic_adaptation_transform="Bradford")
    np.testing.assert_allclose(chart_light(edition), linear, atol=2e-3)
    assert chart_lab(edition).shape == (24, 3)
    assert set(EDITIONS) == set(CHART_EDITIONS)


def test_the_editions_differ_as_published() -> None:
    """CHECKS section 8: white 96.54, -0.43, 1.19 before and 95.19, -1.03, 2.93 after November 2014; foliage too."""
    np.testing.assert_allclose(chart_lab("before Nov 2014")[18], [96.54, -0.43, 1.19], atol=0.011)
    np.testing.assert_allclose(chart_lab("after Nov 2014")[18], [95.19, -1.03, 2.93], atol=0.011)
    np.testing.assert_allclose(chart_lab("before Nov 2014")[3], [43.14, -13.09, 21.90], atol=0.011)
    np.testing.assert_allclose(chart_lab("after Nov 2014")[3], [43.46, -12.74, 22.72], atol=0.011)
    with pytest.raises(ValueError, match="there is no edition"):
        chart_lab("2031")


def drawn(*, turn: int = 0) -> tuple[np.ndarray, np.ndarray]:
    """A chart of 300 x 200 px on black, turned by quarters, and its corners."""
    image = np.zeros((260, 360, 3), np.uint8)
    value = np.round(255 * linear_to_srgb(chart_light("after Nov 2014"))).astype(np.uint8).reshape(4, 6, 3)
    for row in range(4):
        for column in range(6):
            image[30 + 50 * row : 70 + 50 * row, 30 + 50 * column : 70 + 50 * column] = value[row, column]
    corners = np.array([[30, 30], [320, 30], [320, 220], [30, 220]], dtype=float)
    for _ in range(turn):
        corners = np.stack([corners[:, 1], image.shape[1] - 1 - corners[:, 0]], axis=1)
        image = np.ascontiguousarray(np.rot90(image))
    return image, corners


@pytest.mark.parametrize("turn", range(4))
@pytest.mark.parametrize("start", range(4))
def test_any_turn_and_any_first_corner(turn: int, start: int) -> None:
    image, corners = drawn(turn=turn)
    found = read_chart(image, np.roll(corners, start, axis=0), "after Nov 2014")
    assert found.whole
    assert found.off.max() < 1.0
    assert found.value[18].min() > 230  # the white patch
    assert found.value[23].max() < 60


def test_a_chart_without_four_corners_is_no_chart() -> None:
    with pytest.raises(ValueError, match="four corners"):
        read_chart(np.zeros((10, 10, 3), np.uint8), np.zeros((5, 2)), EDITIONS[0])


def charted(tank, *, covered: bool = False) -> tuple[ViewShape, np.ndarray]:
    scene = tank.draw()
    chart, corners = drawn()
    small = cv2.resize(chart, (180, 130), interpolation=cv2.INTER_AREA)
    scene[50:180, 430:610] = small
    if covered:
        scene[50:130, 430:610] = (70, 120, 50)
    shape = RegionShape("chart", "card", corners / 2 + np.array([430.0, 50.0]), chart="after Nov 2014")
    pane = tank.view().panes[0]
    regions = (*[one for one in pane.regions if one.kind != "card"], shape)
    return ViewShape((640, 480), (PaneShape("tank", regions, pane.corners_px, 60.0),)), scene


def test_a_camera_that_mixes_its_channels_is_taken_out_by_a_chart(tank) -> None:
    """Grey fields cannot tell mixing; patches in colour can, and the plants, which took no part, come back."""
    view, scene = charted(tank)
    layout = lay_out(view, (640, 480))
    mixing = np.array([[1.18, -0.12, -0.06], [-0.05, 1.12, -0.07], [0.02, -0.14, 1.12]])
    light = light_of(np.clip(scene, 0, 255)) @ mixing.T
    photo = tank.shoot(255 * linear_to_srgb(light), gains=(0.8, 0.75, 0.7), noise=0.5)
    anchors = anchors_of(photo, layout)
    target = pool_target([anchors], tall=0.75)
    assert target.mixed
    fixed = apply(photo, correct(anchors, target).model)

    def plants(image: np.ndarray) -> np.ndarray:
        lab = image_to_lab(np.clip(image, 0, 255).astype(np.uint8))
        return np.stack([lab[310:400, left : left + 70].mean(axis=(0, 1)) for left in (125, 305)])

    assert ciede2000(plants(photo), plants(scene)).min() > 3.5
    # The lens of this drawn camera does not fade, where one is taken for granted: that leaves some lightness.
    assert ciede2000(plants(fixed), plants(scene)).max() < 2.2


def test_a_covered_chart_takes_no_part(tank) -> None:
    view, scene = charted(tank, covered=True)
    anchors = anchors_of(tank.shoot(scene), lay_out(view, (640, 480)))
    assert CARD_HIDDEN in anchors.flags
    assert not anchors.usable[anchors.card].any()


CHARTS = {
    "chart-a.png": [[81, 87], [257, 87], [257, 360], [77, 360]],
    "chart-c.png": [[32, 33], [249, 33], [250, 356], [43, 356]],
    "chart-d.jpg": [[46, 70], [263, 70], [263, 402], [46, 402]],
    "chart-e.jpeg": [[54, 118], [353, 118], [353, 284], [54, 284]],
}


@pytest.mark.real
@pytest.mark.parametrize("name", CHARTS)
def test_real_charts_are_read_whole(open_data: Path, name: str) -> None:
    """Phones' own processing leaves a mean of 2.5 to 3.3 on them: no better is promised of a phone."""
    found = read_chart(picture(open_data / "colour-cards" / name), np.array(CHARTS[name], float), "after Nov 2014")
    assert found.whole
    assert found.off.mean() < 4.0


@pytest.mark.real
@pytest.mark.parametrize("edition", EDITIONS)
def test_the_half_hidden_chart_is_refused(open_data: Path, edition: str) -> None:
    corners = np.array([[250, 340], [598, 340], [590, 857], [240, 855]], dtype=float)
    assert not read_chart(picture(open_data / "colour-cards" / "partial_card_rgb.png"), corners, edition).whole


@pytest.mark.real
def test_one_chart_in_two_lights(open_data: Path) -> None:
    """22 patches: 2.76 apart before; upstream's own correction leaves 0.31, a plain affine fit 0.22; 0.5 is the aim.

    Each patch is also predicted from the 21 others, which a flexible fit could not do.
    """
    folder = open_data / "colour-cards"
    label = cv2.imread(str(folder / "colorcard_mask.png"), cv2.IMREAD_GRAYSCALE)

    def patches(name: str) -> np.ndarray:
        image = picture(folder / name).astype(float)
        return np.array([image[label == grey].mean(axis=0) for grey in range(10, 230, 10)])

    source, goal = patches("source1_img.png"), light_of(patches("target_img.png"))
    before = ciede2000(linear_to_lab(light_of(source)), linear_to_lab(goal))
    assert before.mean() == pytest.approx(2.76, abs=0.01)
    assert chart_off(fit_chart(source, goal), source, goal).mean() < 0.4
    alone = []
    for i in range(len(source)):
        rest = np.arange(len(source)) != i
        alone.append(chart_off(fit_chart(source[rest], goal[rest]), source[i : i + 1], goal[i : i + 1])[0])
    assert np.mean(alone) < 0.5
