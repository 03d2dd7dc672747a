"""Crossovers in which nothing was done, through the whole comparison: how often they speak of the regime."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from scipy.stats import binom

from littoral.findings.crossed import Crossed, crossed
from littoral.findings.tank_values import TankSeries
from littoral.stats.series import Series
from littoral.trial.plan import Plan, draw_order

RUNS = 400


def tank_of(key: str, value: np.ndarray) -> TankSeries:
    series = Series(key, "points per cm", "level", np.arange(value.size) + 0.5, value)
    return TankSeries(key, series, (), {}, (), (), (), ())


def test_tanks_that_differ_drift_and_wander_are_called_as_often_as_the_level_says(make_trial):
    """Tank difference of 20 %, a common drift, days that hang together (AR 0.7 within 3-week periods)."""
    rng = np.random.default_rng(31)
    trial = make_trial(baseline_days=0.0)
    called = 0
    for run in range(RUNS):
        plan = Plan("crossover", 21.0, 7.0, draw_order(6, seed=run), "drawn by lot", half_life_days=2.0)
        one = replace(trial, plan=plan, length_days=126.0)
        values = []
        for level in rng.normal(1.0, 0.2, 2):
            noise = np.zeros(126)
            for day in range(1, 126):
                noise[day] = 0.7 * noise[day - 1] + rng.normal(0, 0.05)
            values.append(level + 0.004 * np.arange(126) + noise)
        found = crossed(one, "compactness", [(tank_of("left", values[0]), tank_of("right", values[1]))])
        assert isinstance(found, Crossed)
        assert found.swaps.why_too_short == ""
        low, high = found.effect.interval()
        called += not low <= 0 <= high
    # no more than 5 % but for chance: 999 of 1000 such simulations stay below
    assert called <= binom.ppf(0.999, RUNS, 0.05)
    assert called >= binom.ppf(0.001, RUNS, 0.02)  # nor does it refuse to speak
