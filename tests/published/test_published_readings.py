"""Readings, standards, conductivity and alarms against values printed elsewhere; each row names its source."""

from __future__ import annotations

from typing import Any

import pytest
from rows import HERE, load

PUBLISHED = load(HERE / "published_rows" / "readings.py")


ROWS: list[dict[str, Any]] = PUBLISHED.rows()


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["name"])
def test_published(row: dict[str, Any]) -> None:
    assert row["holds"], f"{row['name']}: {row['value']} against {row['reference']} ({row['source']})"
    assert row["source"]


def test_no_row_has_gone() -> None:
    assert len(ROWS) == 20
    assert len({row["name"] for row in ROWS}) == len(ROWS)
    assert sum("KCl" in row["name"] for row in ROWS) == 6
    assert sum("PHREEQC" in row["source"] for row in ROWS) == 5
