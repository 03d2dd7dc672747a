"""Pooling against published values: every row of benchmarks/published_rows/pooling.py holds."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from rows import HERE, load

from littoral.stats.heterogeneity import restricted_log_likelihood
from littoral.stats.pooling import pool

PUBLISHED = load(HERE / "published_rows" / "pooling.py")


ROWS: list[dict[str, Any]] = PUBLISHED.rows()


@pytest.mark.parametrize("row", ROWS, ids=[row["name"] for row in ROWS])
def test_row_holds(row: dict[str, Any]) -> None:
    assert row["holds"], f"{row['value']} against {row['reference']}, {row['limit']}: {row['source']}"


def test_the_rows_that_need_no_data_are_all_there() -> None:
    assert sum("CO2" not in row["name"] for row in ROWS) == 57


def test_the_rows_on_open_data_are_all_there(open_data: Path) -> None:
    assert sum("CO2" in row["name"] for row in ROWS) == 12


def test_where_the_reference_stopped_early_ours_is_the_likelier() -> None:
    """The reference's search for tau2 on latitude stops at steps below 1e-5 (its documented default)."""
    y, v = PUBLISHED.risk_ratios()
    latitude = PUBLISHED.TRIALS[:, 4]
    x = np.column_stack([np.ones(13), latitude])
    ours = pool(y, v, moderators=latitude).tau2
    assert abs(ours - 0.076355) < 1e-5
    assert restricted_log_likelihood(ours, y, v, x) > restricted_log_likelihood(0.076355, y, v, x)
