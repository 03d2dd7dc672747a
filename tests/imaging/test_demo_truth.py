"""The rendered demo against its own truth: heights within 5 %, cover within 4 points (mean absolute over days)."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from littoral.demo.scenario import write_demo
from littoral.imaging.regions import PaneShape, RegionShape, ViewShape
from littoral.imaging.series import measure_series

pytestmark = [pytest.mark.slow, pytest.mark.timeout(900)]


def view_of(table: dict[str, Any]) -> ViewShape:
    width, _, height, _ = table["frame"].split()
    panes = []
    for tank, drawn in table["tanks"].items():
        regions = []
        for one in drawn["regions"]:
            kind = next(kind for kind in ("stand", "stone", "wood", "glass", "card") if kind in one)
            regions.append(RegionShape(one[kind], kind, np.array(one["polygon"], dtype=float)))  # type: ignore[arg-type]
        cm = float(drawn["width"].split()[0])
        panes.append(PaneShape(tank, tuple(regions), np.array(drawn["corners"], dtype=float), cm))
    return ViewShape((int(width), int(height)), tuple(panes))


@pytest.mark.parametrize("seed", [1, 6])
def test_measures_are_near_the_truth(tmp_path: Path, seed: int) -> None:
    folder = tmp_path / "demo"
    write_demo(folder, seed=seed, size=(1200, 900))
    truth = json.loads((folder / "truth" / "truth.json").read_text())["photos"]
    tables = tomllib.loads((folder / "trial.toml").read_text())["views"]
    height, cover, glass = [], [], []
    for name, table in tables.items():
        photos = sorted((path for path in truth if truth[path]["view"] == name), key=lambda path: truth[path]["taken"])
        files = [folder / path if (folder / path).exists() else folder / "photos" / path for path in photos]
        kept: dict[int, np.ndarray] = {}
        frames = measure_series(
            lambda i, files=files: files[i].read_bytes(),
            len(files),
            view_of(table),
            store=kept.__setitem__,
            load=kept.__getitem__,
        )
        for at, region in enumerate(frames[0].regions):
            right = [truth[path]["regions"][region.region] for path in photos]
            ours = [frame.regions[at] for frame in frames]
            if region.kind == "stand":
                height.append(
                    np.mean([abs(a.height_cm / b["height_cm"] - 1) for a, b in zip(ours, right, strict=True)])
                )
                cover.append(np.mean([abs(a.cover - b["cover"]) for a, b in zip(ours, right, strict=True)]))
            if region.kind == "glass":
                glass.append(np.mean([abs(a.algae - b["algae"]) for a, b in zip(ours, right, strict=True)]))
    assert np.mean(height) <= 0.05
    assert np.mean(cover) <= 0.04
    assert max(glass) <= 0.04
