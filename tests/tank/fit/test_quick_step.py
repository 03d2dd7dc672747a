"""The quick step against the exact one, which is tested against SciPy's integrator."""

from __future__ import annotations

import numpy as np
import pytest

from littoral.tank.fit.quick_step import quick_step
from littoral.tank.saturating import saturating_step


@pytest.mark.parametrize("days", [0.05, 0.5, 1.0, 2.0, 3.5])
def test_errors_are_as_small_as_the_module_says(days: float) -> None:
    rng = np.random.default_rng(0)
    uptake, half = 1.5 * np.exp(1.2 * rng.standard_normal(20_000)), 3.0 * np.exp(1.2 * rng.standard_normal(20_000))
    inflow, level = (
        0.3 * np.exp(rng.standard_normal(20_000)),
        10 * rng.random(20_000) * np.exp(rng.standard_normal(20_000)),
    )
    quick = quick_step(level, uptake_per_day=uptake, half_level=half, inflow_per_day=inflow, days=days)
    exact = saturating_step(level, uptake_mg=uptake * days, half_mg=half, inflow_mg=inflow * days).end_mg
    error = np.abs(quick - exact)
    assert np.quantile(error, 0.99) < 0.01
    assert np.quantile(error / (exact + 0.1), 0.999) < 0.05


def test_edges_stay_numbers() -> None:
    """No level, next to no uptake, inflow above uptake: finite, and never below zero."""
    for level, uptake, half, inflow in [
        (0.0, 1.0, 1.0, 0.0),
        (5.0, 1e-9, 3.0, 0.1),
        (0.0, 1.0, 1.0, 2.0),
        (400.0, 50.0, 1e-3, 0.0),
    ]:
        args = [np.array([v, v]) for v in (level, uptake, half, inflow)]
        found = quick_step(args[0], uptake_per_day=args[1], half_level=args[2], inflow_per_day=args[3], days=3.0)
        exact = saturating_step(args[0], uptake_mg=args[1] * 3, half_mg=args[2], inflow_mg=args[3] * 3).end_mg
        assert (found >= 0).all()
        assert found == pytest.approx(exact, abs=0.05)
