"""Colour against values printed elsewhere; each row names its source."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from rows import HERE, load

from littoral.imaging.colour import ciede2000

PUBLISHED = load(HERE / "published_rows" / "colour.py")


@pytest.mark.parametrize("row", PUBLISHED.rows(), ids=lambda row: row["name"])
def test_published_colour(row: dict[str, Any]) -> None:
    assert row["holds"], f"{row['name']}: {row['value']} against {row['reference']} ({row['source']})"


def test_every_kind_of_value_is_there() -> None:
    names = " ".join(row["name"] for row in PUBLISHED.rows())
    assert len(PUBLISHED.rows()) == 4 + 15 + 19
    assert all(word in names for word in ("sRGB value", "L*", "CIEDE2000"))


@pytest.mark.real
def test_all_34_pairs_of_sharma(open_data: Path) -> None:
    """All of Sharma, Wu, Dalal 2005, Table 1, to its four digits (file of scikit-image's tests, BSD-3)."""
    lines = (open_data / "tables" / "ciede2000_test_data.txt").read_text().splitlines()
    numbers = np.array([[float(cell) for cell in line.split()] for line in lines if line and line[0] != "#"])
    assert numbers.shape == (34, 23)
    found = ciede2000(numbers[:, 2:5], numbers[:, 17:20])
    np.testing.assert_allclose(found, numbers[:, 15], rtol=0, atol=5.001e-5)
