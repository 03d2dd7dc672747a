"""`make proof`: the demo's photos against their truth, also on seeds never tuned on; and every design's false calls."""

from __future__ import annotations

import json
import sys
import tempfile
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
import keepers
from camera_methods import METHODS, compared
from demo_levels import level_rows
from design_calibration import rows as calibration_rows
from intake_rows import kill_rows, looks_rows
from rows import Row, finish, row
from truth_errors import errors

from littoral.acts.import_trial import import_trial
from littoral.demo.scenario import write_demo

SEEDS = (1, 304, 300, 301)
"""The demo's own; and the first from 300 on of each phone's character (plain, contrasty, soft), chosen before any was
drawn. Methods are tuned on seeds under 100 only: the camera's model on 1, 2, 3, 5, 6, 9 and 11."""
UNSEEN_SIZE = (1200, 900)
KEEPERS = "simulated keepers (benchmarks/keepers.py)"
TRUTH = "truth of the renderer, measured on its clean pictures (littoral.demo.truth)"


def accuracy_rows(seed: int, folder: Path) -> list[Row]:
    """Mean absolute errors over all photos, regions and days of one demo, with their limits."""
    files = folder / str(seed)
    trial_file = write_demo(files, seed=seed) if seed == 1 else write_demo(files, seed=seed, size=UNSEEN_SIZE)
    import_trial(files / "logbook", trial_file)
    found = errors(files, files / "logbook")
    more = level_rows(files / "logbook", seed) + camera_rows(files, seed)
    for what, covered in (("change over days", found.change_covered), ("absolute", found.absolute_covered)):
        more.append(
            row(
                f"colour, {what}, seed {seed}: stated 95 % intervals hold the truth",
                covered,
                "share",
                reference=TRUTH,
                limit="0.93 to 0.97",
                holds=0.93 <= covered <= 0.97,
                aim=True,
                source=f"L*, a*, b* of {found.colour_de00.size} stands on photos",
                difference=covered - 0.95,
            )
        )
    # The limits of cover and height are what the demo promises; the others are aims that the methods are measured
    # against and may miss: an aim that is missed is printed, and does not fail the run.
    wanted = (
        ("canopy height", np.abs(found.height_percent), "% of truth", 5.0, False),
        ("cover", np.abs(found.cover_points), "points", 4.0, False),
        ("algae", np.abs(found.algae_points), "points", 4.0, True),
        ("colour, change over days", found.colour_change_de00, "ΔE00", 0.6, True),
        ("colour, absolute", found.colour_de00, "ΔE00", 1.2, True),
    )
    return [
        row(
            f"{name}, seed {seed}: mean absolute error", float(values.mean()), unit, reference=TRUTH,
            limit=f"at most {limit:g}; 95th percentile {np.percentile(values, 95):.2f}",
            holds=bool(values.mean() <= limit), source=f"{found.photos} rendered photos, {found.excluded} set aside",
            aim=aim, difference=float(values.mean()),
        )
        for name, values, unit, limit, aim in wanted
    ] + more  # fmt: skip


def camera_rows(files: Path, seed: int) -> list[Row]:
    """Each way to take the camera out, on the same photos and masks of a demo; and how well stands are found."""
    found = compared(files, files / "logbook")
    phone = json.loads((files / "truth" / "truth.json").read_text())["phone"]["name"]
    rows = []
    for method in METHODS:
        used = method == METHODS[-1]
        for what, values, limit in (("absolute", found.absolute, 1.2), ("change over days", found.change, 0.6)):
            mean = float(values[method].mean())
            wanted = f"at most {limit:g}; " if used else "for comparison; "
            rows.append(row(
                f"{phone} phone, seed {seed}, colour {what}: {method}", mean, "ΔE00", reference=TRUTH,
                limit=f"{wanted}95th percentile {np.percentile(values[method], 95):.2f}",
                holds=mean <= limit if used else True, aim=True, difference=mean,
                source=f"{values[method].size} stands on photos, the same masks for all",
            ))  # fmt: skip
    mean = float(found.iou.mean())
    rows.append(row(
        f"{phone} phone, seed {seed}, stands: intersection over union", mean, "share",
        reference="labels of the clean picture", holds=mean >= 0.88, aim=True, difference=mean - 1,
        limit=f"at least 0.88; 5th percentile {np.percentile(found.iou, 5):.2f}",
        source=f"{found.iou.size} stands on photos",
    ))  # fmt: skip
    return rows


def keeper_rows(count: int = 200, others: int = 60, processes: int = 2) -> list[Row]:
    """Bands of levels against simulated keepers: coverage of the 90 % band, and ranks under the model's own truth.

    A weekly kit is what is promised, with `count` keepers; other ways to test have `others`, too few for a promise.
    """
    rows = []
    for number, design in enumerate(keepers.DESIGNS):
        asked = others if number else count
        for found in keepers.coverage_table(asked, processes, design):
            covered = float(found["covers 90 %"])
            rows.append(row(
                f"levels, {design}, {found['weeks']} weeks: the 90 % band holds the truth", covered, "share",
                reference=KEEPERS, holds=0.87 <= covered <= 0.93, aim=number > 0, difference=covered - 0.9,
                limit=f"0.87 to 0.93; 50 % band {found['covers 50 %']:.2f}; width {found['width 90 %']:.1f}, "
                f"RMSE {found['RMSE']:.1f}, bias {found['bias of mean']:.2f} ± {found['its error']:.2f} mg/L",
                source=f"{asked} keepers, another truth than the model's",
            ))  # fmt: skip
    ranks = keepers.calibration(count, processes)
    least = min(ranks, key=lambda name: ranks[name])
    rows.append(row(
        f"levels: least uniform ranks of {len(ranks)} ({least}), times their number", ranks[least] * len(ranks), "p",
        reference=KEEPERS, limit="above 0.01", holds=ranks[least] * len(ranks) > 0.01, aim=False,
        source=f"{count} keepers drawn from the priors; chi-square over ten bins, Bonferroni", difference=0.0,
    ))  # fmt: skip
    return rows


def main() -> int:
    """Measure every seed, simulate keepers and designs, print and write the rows."""
    rows: list[Row] = keeper_rows()
    with tempfile.TemporaryDirectory() as temporary:
        for seed in SEEDS:
            rows.extend(accuracy_rows(seed, Path(temporary)))
            rows.extend(looks_rows(Path(temporary) / str(seed), seed))
    rows.extend(kill_rows())
    rows.extend(calibration_rows())
    return finish("proof", rows)


if __name__ == "__main__":
    sys.exit(main())
