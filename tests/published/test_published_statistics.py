"""Statistics against published values: every row of benchmarks/published_rows/trial_statistics.py holds."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from typing import Any

import pytest

FILE = Path(__file__).parents[2] / "benchmarks" / "published_rows" / "trial_statistics.py"


def _rows() -> list[dict[str, Any]]:
    spec = importlib.util.spec_from_file_location("published_rows_statistics", FILE)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    found: list[dict[str, Any]] = module.rows()
    return found


ROWS = _rows()


@pytest.mark.parametrize("row", ROWS, ids=[row["name"] for row in ROWS])
def test_row_holds(row: dict[str, Any]) -> None:
    assert row["holds"], f"{row['value']} against {row['reference']}, {row['limit']}: {row['source']}"


def test_the_rows_that_need_no_data_are_all_there() -> None:
    assert len(ROWS) >= 35


def test_the_rows_on_open_data_are_all_there(open_data: Path) -> None:
    assert sum("Water-milfoil" in row["name"] for row in ROWS) == 24
    assert sum("Maple" in row["name"] for row in ROWS) == 3
