"""`make proof`: the demo's photos measured and compared with their truth, also on seeds never tuned on."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
from rows import Row, finish, row
from truth_errors import errors

from littoral.acts.import_trial import import_trial
from littoral.demo.scenario import write_demo

SEEDS = (1, 101, 202)
"""The demo's own, and two that were never looked at while the methods were tuned."""
TRUTH = "truth of the renderer, measured on its clean pictures (littoral.demo.truth)"


def accuracy_rows(seed: int, folder: Path) -> list[Row]:
    """Mean absolute errors over all photos, regions and days of one demo, with their limits."""
    files = folder / str(seed)
    trial_file = write_demo(files, seed=seed)
    import_trial(files / "logbook", trial_file)
    found = errors(files, files / "logbook")
    # The limits of cover and height are those of the demo's promise; the others are the targets of the method study.
    wanted = (
        ("canopy height", np.abs(found.height_percent), "% of truth", 5.0),
        ("cover", np.abs(found.cover_points), "points", 4.0),
        ("algae", np.abs(found.algae_points), "points", 4.0),
        ("colour", found.colour_de00, "ΔE00", 1.2),
    )
    return [
        row(
            f"{name}, seed {seed}: mean absolute error", float(values.mean()), unit, reference=TRUTH,
            limit=f"at most {limit:g}; 95th percentile {np.percentile(values, 95):.2f}",
            holds=bool(values.mean() <= limit), source=f"{found.photos} rendered photos, {found.excluded} set aside",
            difference=float(values.mean()),
        )
        for name, values, unit, limit in wanted
    ]  # fmt: skip


def main() -> int:
    """Measure every seed, print and write the rows."""
    rows: list[Row] = []
    with tempfile.TemporaryDirectory() as temporary:
        for seed in SEEDS:
            rows.extend(accuracy_rows(seed, Path(temporary)))
    return finish("proof", rows)


if __name__ == "__main__":
    sys.exit(main())
