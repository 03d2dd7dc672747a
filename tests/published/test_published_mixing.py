"""Solubility, density, labels, hazards and growers' worked examples against values printed elsewhere."""

from __future__ import annotations

from typing import Any

import pytest
from rows import HERE, load

PUBLISHED = load(HERE / "published_rows" / "mixing.py")


ROWS: list[dict[str, Any]] = PUBLISHED.rows()


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["name"])
def test_published(row: dict[str, Any]) -> None:
    assert row["holds"], f"{row['name']}: {row['value']} against {row['reference']} ({row['source']})"
    assert row["source"]


def test_no_row_has_gone() -> None:
    assert len(ROWS) == 70
    assert len({row["name"] for row in ROWS}) == len(ROWS)
    assert sum("of added water" in row["name"] for row in ROWS) == 11
    assert sum("compiled against CRC" in row["name"] for row in ROWS) == 6
    assert sum(row["name"].startswith("density of") for row in ROWS) == 6
    assert sum(row["name"].startswith("hazard label") for row in ROWS) == 5
