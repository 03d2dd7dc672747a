"""Mixed models against R: every row of benchmarks/published_rows/mixed_models.py holds."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from rows import load

BENCHMARKS = Path(__file__).parents[2] / "benchmarks"

ROWS: list[dict[str, Any]] = load(BENCHMARKS / "published_rows" / "mixed_models.py").rows()


@pytest.mark.parametrize("row", ROWS, ids=[row["name"] for row in ROWS])
def test_row_holds(row: dict[str, Any]) -> None:
    assert row["holds"], f"{row['value']} against {row['reference']}, {row['limit']}: {row['source']}"


def test_they_are_all_there() -> None:
    assert len(ROWS) == 114
