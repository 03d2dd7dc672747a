"""Chemistry and levels against values printed elsewhere; each row names its source and its limit."""

from __future__ import annotations

from typing import Any

import pytest
from rows import HERE, load

FOLDER = HERE / "published_rows"


MODULE = load(FOLDER / "chemistry.py")
CHEMISTRY, LEVELS = MODULE.rows(), load(FOLDER / "levels.py").rows()


@pytest.mark.parametrize("row", [*CHEMISTRY, *LEVELS], ids=lambda row: row["name"])
def test_published(row: dict[str, Any]) -> None:
    assert row["holds"], f"{row['name']}: {row['value']} against {row['reference']} ({row['source']})"


def test_no_row_has_gone() -> None:
    """Counts and kinds, so that a row cannot vanish to make the table look better."""
    names = [row["name"] for row in CHEMISTRY]
    for prefix, at_least in {
        "Hoagland and Arnon": 17,
        "Murashige and Skoog": 10,
        "SIS medium": 14,
        "OECD 201 medium": 17,
        "US-EPA AAP medium": 14,
        "modified Steinberg medium": 11,
        "Smart and Barko medium": 7,
        "label factor": 6,
        "element shares": 1,
    }.items():
        assert sum(name.startswith(prefix) for name in names) == at_least, prefix
    assert sum("misprint" in name for name in names) == 8
    assert len(CHEMISTRY) >= 109
    assert len(LEVELS) == 27


def test_a_misprint_row_fails_when_we_agree_with_the_misprint() -> None:
    assert not MODULE._misprint("K", 6.0, "mg/L", "6.0", "3.85", "test")["holds"]
    assert not MODULE._row("K", 3.86, "mg/L", "3.85", "test")["holds"]
    assert MODULE._row("K", 3.8549, "mg/L", "3.85", "test")["holds"]
