"""Real plants from the side, two pots in one frame: cover and height against hand-made masks.

Right answers: the masks of rice-side-view (SOURCE.txt of the open data sets: a mask's height is the truth of height).
Each photo is of other plants in the same place, so the two stands of one view are the left and the right half.
"""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pytest

from littoral.imaging import measure, segment
from littoral.imaging.frames import lay_out
from littoral.imaging.passes import pool, survey
from littoral.imaging.prepare import make_reference, prepare_photo
from littoral.imaging.regions import PaneShape, RegionShape, ViewShape

pytestmark = pytest.mark.real


def box(left: int, top: int, right: int, bottom: int) -> np.ndarray:
    return np.array([[left, top], [right, top], [right, bottom], [left, bottom]], dtype=float)


@pytest.mark.parametrize("every", [5, pytest.param(1, marks=pytest.mark.slow)])
def test_cover_and_height_of_two_pots(open_data: Path, every: int) -> None:
    """Cover within half a point and height within 6 % of the masks', in the mean; the leaves are a few pixels wide."""
    folder = open_data / "rice-side-view"
    files = sorted((folder / "photos").glob("*.JPG"))[::every]
    stands = (
        RegionShape("left", "stand", box(250, 140, 494, 462)),
        RegionShape("right", "stand", box(495, 140, 860, 462)),
    )
    view = ViewShape((1064, 708), (PaneShape("shelf", stands),))
    layout = lay_out(view, (1064, 708))
    reference = make_reference((path.read_bytes() for path in files), view)
    images = [prepare_photo(path.read_bytes(), view, reference).image for path in files]
    rules = pool(layout, {}, [survey(image, layout, {}) for image in images])
    found = {
        (i, at): segment.plant_mask(image, region.cut, rules.thresholds[at])
        for i, image in enumerate(images)
        for at, region in enumerate(layout.regions)
    }
    cover, height, tip = [], [], []
    for at, region in enumerate(layout.regions):
        cut = region.cut
        base = measure.base_row([measure.columns_of(found[i, at], cut) for i in range(len(files))])
        for i, path in enumerate(files):
            masks = [
                cv2.imread(str(one), cv2.IMREAD_GRAYSCALE) for one in (folder / "masks").glob(f"{path.stem}-*.png")
            ]
            hand = (np.max(masks, axis=0) > 127)[cut.rows, cut.columns] & cut.mask
            ours = found[i, at]
            cover.append(100 * (ours.sum() - hand.sum()) / cut.mask.sum())
            tall = [measure.canopy(measure.columns_of(mask, cut), base)[0] for mask in (ours, hand)]
            height.append(tall[0] / tall[1] - 1)
            tops = [base - np.flatnonzero(measure.rooted(mask, cut).any(axis=1))[0] for mask in (ours, hand)]
            tip.append(tops[0] / tops[1] - 1)
    assert len(cover) == 2 * len(files)
    assert np.abs(cover).mean() < 0.5
    assert np.abs(height).mean() < 0.06
    assert np.median(np.abs(tip)) < 0.04
