"""Feeding against worked examples and published recipes; each row names its source and its limit."""

from __future__ import annotations

from typing import Any

import pytest
from rows import HERE, load

PUBLISHED = load(HERE / "published_rows" / "feeding.py")


ROWS: list[dict[str, Any]] = PUBLISHED.rows()


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["name"])
def test_published(row: dict[str, Any]) -> None:
    assert row["holds"], f"{row['name']}: {row['value']} against {row['reference']} ({row['source']})"


def test_no_row_has_gone() -> None:
    names = [row["name"] for row in ROWS]
    assert len(set(names)) == len(names) == 31
    assert all(row["source"] for row in ROWS)
