"""Statistics against published values: every row of benchmarks/published_rows/trial_statistics.py holds."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from rows import HERE, load

PUBLISHED = load(HERE / "published_rows" / "trial_statistics.py")


ROWS: list[dict[str, Any]] = PUBLISHED.rows()


@pytest.mark.parametrize("row", ROWS, ids=[row["name"] for row in ROWS])
def test_row_holds(row: dict[str, Any]) -> None:
    assert row["holds"], f"{row['value']} against {row['reference']}, {row['limit']}: {row['source']}"


def test_the_rows_that_need_no_data_are_all_there() -> None:
    assert len(ROWS) >= 35


def test_the_rows_on_open_data_are_all_there(open_data: Path) -> None:
    assert sum("Water-milfoil" in row["name"] for row in ROWS) == 24
    assert sum("Maple" in row["name"] for row in ROWS) == 3
