"""One small demo and one drawn stage, shared by this room's tests."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from littoral.demo.layout import Frame, lay_out
from littoral.demo.picture import Stage, set_stage
from littoral.demo.scenario import write_demo
from littoral.demo.story import tell


@dataclass(frozen=True)
class Written:
    folder: Path
    trial_file: Path
    truth: dict[str, Any]


@pytest.fixture(scope="session")
def tiny_demo(tmp_path_factory: pytest.TempPathFactory) -> Written:
    """Seventeen days in thumbnails; tests must not write to it."""
    folder = tmp_path_factory.mktemp("tiny-demo")
    trial_file = write_demo(folder, days=17, size=(400, 300), workers=1)
    return Written(folder, trial_file, json.loads((folder / "truth" / "truth.json").read_text(encoding="utf-8")))


@pytest.fixture(scope="session")
def left_stage() -> Stage:
    story = tell(1, days=56)
    return set_stage(story, lay_out(story, "left"), Frame((800, 600)))
