"""A brown plant before a green wall, where no index finds it: strokes on three photos, judged on the others."""

from __future__ import annotations

import io
from dataclasses import replace

import cv2
import numpy as np
import pytest
from PIL import Image
from tests.strokes_drawn import lines_within, overlap

from littoral.demo.layout import Frame, corners_px, lay_out, polygon_px
from littoral.demo.phone import spoil, take
from littoral.demo.picture import render_clean, set_stage
from littoral.demo.story import tell
from littoral.imaging.regions import PaneShape, RegionShape, ViewShape
from littoral.imaging.series import measure_series
from littoral.imaging.taught import Brush

BROWN = (38.0, 12.0, 20.0)
DAYS = tuple(range(0, 40, 5))
DRAWN_ON = (0, 3, 6)


def greened(still: np.ndarray) -> np.ndarray:
    """The tank's empty scene with a wall of moss: as light as before, and green."""
    lab = cv2.cvtColor(still.astype(np.float32) / 255, cv2.COLOR_RGB2Lab)
    lab[..., 0] = 0.8 * lab[..., 0] + 6
    lab[..., 1:] = 0.3 * lab[..., 1:] + (-22.0, 22.0)
    return np.clip(cv2.cvtColor(lab, cv2.COLOR_Lab2RGB) * 255, 0, 255).astype(np.uint8)


@pytest.mark.parametrize("number", [3, pytest.param(11, marks=pytest.mark.slow)])
def test_a_brown_stand_before_moss(number: int) -> None:
    story = tell(number, days=56)
    story = replace(story, stands=tuple(replace(s, leaf_lab=BROWN) if s.key == "red-stem" else s for s in story.stands))
    frame, layout = Frame((800, 600)), lay_out(story, "left")
    stage = set_stage(story, layout, frame)
    stage = replace(stage, still=greened(stage.still))
    place = next(one for one in layout.stands if one.key == "red-stem")
    outline = polygon_px(place.polygon_cm, frame).astype(float)
    pane = PaneShape("left", (RegionShape("red-stem", "stand", outline),), corners_px(frame).astype(float), 60.0)
    shots, truth = [], []
    for at, day in enumerate(DAYS):
        rng = np.random.default_rng([number, 77, at])
        clean = render_clean(stage, float(day), rng)
        shot = take(story.phone, rng, size=frame.size, nominal_framing=True)
        stream = io.BytesIO()
        Image.fromarray(spoil(clean.image, story.phone, shot, rng)).save(stream, "JPEG", quality=88)
        shots.append(stream.getvalue())
        truth.append(clean.label == stage.labels["red-stem"])
    inside = cv2.fillPoly(np.zeros((600, 800), np.uint8), [outline.astype(np.int32)], 1).astype(bool)
    rng = np.random.default_rng([number, 78])
    strokes = [
        Brush(at, side, path, 3.0)
        for at in DRAWN_ON
        for side, where in ((True, truth[at] & inside), (False, ~truth[at] & inside))
        for path in lines_within(where, rng, count=5)
    ]

    def shared(brushes: dict[int, list[Brush]]) -> float:
        kept: dict[int, np.ndarray] = {}
        marked: dict[int, np.ndarray] = {}
        measure_series(
            shots.__getitem__, len(shots), ViewShape((800, 600), (pane,)), store=kept.__setitem__,
            load=kept.__getitem__, mark=marked.__setitem__, strokes=brushes,
        )  # fmt: skip
        others = [at for at in range(len(DAYS)) if at not in DRAWN_ON]
        return float(np.mean([overlap(marked[at] == 1, truth[at] & inside) for at in others]))

    before, after = shared({}), shared({0: strokes})
    print(f"draw {number}: {before:.2f} by colour, {after:.2f} taught")
    assert before < 0.5
    assert after > 0.75
