"""A real null comparison: two like columns of wells, by their hand-made masks (open data, wolffia-wells)."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import cv2
import pytest

from littoral.findings.answers import answer
from littoral.findings.measured import Measured, MeasuredPhoto
from littoral.imaging.results import RegionMeasure
from littoral.trial.written.reader import read_trial

TRIAL = Path(__file__).parents[1] / "real" / "wolffia-wells.toml"
HOUR = 1 / 24


@pytest.mark.real
def test_two_like_columns_are_not_told_apart(open_data: Path, make_book: Callable[..., Any]) -> None:
    trial, faults = read_trial(TRIAL.read_text(encoding="utf-8"), where=TRIAL.name)
    assert faults == ()
    assert trial is not None
    photos: list[MeasuredPhoto] = []
    for file in sorted((open_data / "wolffia-wells" / "masks").glob("*.png")):
        mask = cv2.imread(str(file), cv2.IMREAD_GRAYSCALE)
        assert mask is not None
        day = int(file.stem[8:10]) - 1 + int(file.stem[11:13]) * HOUR
        regions = tuple(
            RegionMeasure(pane.tank, region.key, region.kind, cover=_share(mask, region.polygon_px))
            for pane in trial.views["device"].panes
            for region in pane.regions
        )
        photos.append(MeasuredPhoto(file.stem, file.stem, "device", day, None, None, None, "masks", (), regions))
    assert len(photos) == 25
    growth, colour = answer(make_book(trial), trial, measured=Measured(tuple(photos), "hand masks"))
    assert growth.rule == "cannot tell"
    assert growth.low is not None
    assert growth.high is not None
    assert growth.low < 0 < growth.high
    assert [value.days for value in growth.arms] == [25, 25]
    assert "could have been missed" in growth.wording
    assert (colour.rule, colour.missing) == (
        "not answered",
        "left column and right column: no photo gave a redness (CIELAB a*)",
    )


def _share(mask: Any, polygon: Any) -> float:
    """Return the share of white in a rectangle given by its corners."""
    xs, ys = [int(x) for x, _ in polygon], [int(y) for _, y in polygon]
    return float((mask[min(ys) : max(ys), min(xs) : max(xs)] > 127).mean())
