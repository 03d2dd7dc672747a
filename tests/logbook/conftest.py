"""A small logbook with everything in it."""

from __future__ import annotations

from pathlib import Path

import pytest
from faults.filled import Filled, fill


@pytest.fixture
def filled(tmp_path: Path) -> Filled:
    return fill(tmp_path / "logbook")
