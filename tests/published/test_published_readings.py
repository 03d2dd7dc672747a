"""Readings, standards, conductivity and alarms against values printed elsewhere; each row names its source."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from typing import Any

import pytest

FILE = Path(__file__).parents[2] / "benchmarks" / "published_rows" / "readings.py"


def _rows() -> list[dict[str, Any]]:
    spec = importlib.util.spec_from_file_location("published_rows_readings", FILE)
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
    assert row["source"]


def test_no_row_has_gone() -> None:
    assert len(ROWS) == 20
    assert len({row["name"] for row in ROWS}) == len(ROWS)
    assert sum("KCl" in row["name"] for row in ROWS) == 6
    assert sum("PHREEQC" in row["source"] for row in ROWS) == 5
