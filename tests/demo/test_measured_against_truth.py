"""What is measured on the rendered photos is compared with the truth they were drawn from.

Limits: the promise of the demo, heights within 5 % and cover within 4 points, mean absolute over photos and days.
"""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import numpy as np

HELPER = Path(__file__).parents[2] / "benchmarks" / "truth_errors.py"


def test_heights_and_cover_are_near_the_truth(small_demo) -> None:
    spec = importlib.util.spec_from_file_location("truth_errors", HELPER)
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module  # dataclasses look their own module up
    spec.loader.exec_module(module)
    found = module.errors(small_demo.files, small_demo.logbook)
    assert found.excluded <= 0.05 * found.photos
    assert found.cover_points.size >= 0.9 * 6 * found.photos
    assert found.height_percent.size >= 0.9 * 6 * found.photos
    assert np.abs(found.height_percent).mean() <= 5.0
    assert np.abs(found.cover_points).mean() <= 4.0
