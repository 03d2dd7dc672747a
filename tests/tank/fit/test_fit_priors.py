"""The table of priors: its shape is pinned, every number says where it comes from, and rows can be replaced."""

from __future__ import annotations

import math
import tomllib
from importlib import resources

import pytest

from littoral.tank.fit.methods import FitError
from littoral.tank.fit.priors import LogNormal, default_priors, usual_method, with_prior, with_width


def test_every_row_says_its_source() -> None:
    table = tomllib.loads(resources.files("littoral.tank.fit").joinpath("priors.toml").read_text(encoding="utf-8"))
    rows = [row for part in (*table["nutrient"].values(), table["spread"]) for row in part.values()]
    rows += table["method"].values()
    assert len(rows) == 4 * 6 + 5 + 3
    assert all(len(row["source"]) > 10 for row in rows)
    medians = [row["median"] for part in table["nutrient"].values() for row in part.values()]
    assert math.fsum(medians) == pytest.approx(397.753)


def test_rows_are_replaced_and_widened() -> None:
    priors = with_prior(default_priors({}), "nitrate", "source", LogNormal(8.0, 0.1, "water report"))
    assert priors.nutrients["nitrate"].source.median == 8.0
    wide = with_width(priors, 2.0)
    assert wide.nutrients["nitrate"].source.log_sd == pytest.approx(0.2)
    assert wide.drift_per_week.log_sd == pytest.approx(2 * priors.drift_per_week.log_sd)
    with pytest.raises(FitError, match="No priors for zinc"):
        with_prior(priors, "zinc", "source", LogNormal(1.0, 1.0, "test"))
    with pytest.raises(FitError, match="above zero"):
        LogNormal(0.0, 1.0, "test")
    with pytest.raises(FitError, match="No usual method"):
        usual_method("tea leaves")
