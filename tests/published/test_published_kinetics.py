"""Levels under uptake against worked values; each row names its source and its limit."""

from __future__ import annotations

from typing import Any

import pytest
from rows import HERE, load

PUBLISHED = load(HERE / "published_rows" / "kinetics.py")


ROWS: list[dict[str, Any]] = PUBLISHED.rows()


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["name"])
def test_published(row: dict[str, Any]) -> None:
    assert row["holds"], f"{row['name']}: {row['value']} against {row['reference']} ({row['source']})"


def test_no_row_went_missing() -> None:
    assert len(ROWS) == 21
