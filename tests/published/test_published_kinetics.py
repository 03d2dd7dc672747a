"""Levels under uptake against worked values; each row names its source and its limit."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from typing import Any

import pytest

FILE = Path(__file__).parents[2] / "benchmarks" / "published_rows" / "kinetics.py"


def _rows() -> list[dict[str, Any]]:
    spec = importlib.util.spec_from_file_location("published_rows_kinetics", FILE)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    rows: list[dict[str, Any]] = module.rows()
    return rows


ROWS = _rows()


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["name"])
def test_published(row: dict[str, Any]) -> None:
    assert row["holds"], f"{row['name']}: {row['value']} against {row['reference']} ({row['source']})"


def test_no_row_went_missing() -> None:
    assert len(ROWS) == 21
