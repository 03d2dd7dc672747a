"""Designs, scores, times, doses and regression against published values: every row of three files holds."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from rows import load

FOLDER = Path(__file__).parents[2] / "benchmarks" / "published_rows"
DESIGNS: list[dict[str, Any]] = load(FOLDER / "designs.py").rows()
GROUPS: list[dict[str, Any]] = load(FOLDER / "several_groups.py").rows()
NIST: list[dict[str, Any]] = load(FOLDER / "nist_regression.py").rows()
ROWS = [*DESIGNS, *GROUPS, *NIST]


@pytest.mark.parametrize("row", ROWS, ids=[row["name"] for row in ROWS])
def test_row_holds(row: dict[str, Any]) -> None:
    assert row["holds"], f"{row['value']} against {row['reference']}, {row['limit']}: {row['source']}"


def test_the_rows_that_need_no_data_are_all_there() -> None:
    named = [row["name"] for row in ROWS if not row["name"].startswith(("Lakes", "Water-milfoil", "Williams"))]
    assert len(named) == 38 + 36 + 18


def test_the_rows_on_open_data_are_all_there(open_data: Path) -> None:
    assert sum(row["name"].startswith("Lakes") for row in ROWS) == 14
    assert sum(row["name"].startswith("Water-milfoil") for row in ROWS) == 44
    assert sum(row["name"].startswith("Williams' critical") for row in ROWS) == 24
