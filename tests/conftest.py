"""What every room's tests share: where the open data sets lie, and a skip that says so where they do not."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

REPOSITORY = Path(__file__).parent.parent


@pytest.fixture(scope="session")
def open_data() -> Path:
    """The folder of open data sets beside the repository (or at LITTORAL_DATA); skips where it is absent."""
    folder = Path(os.environ.get("LITTORAL_DATA", REPOSITORY.parent / "shared" / "data"))
    if not folder.is_dir():
        pytest.skip(f"open data sets not found at {folder}; set LITTORAL_DATA to their folder")
    return folder
