"""A sweep of fits over draws and settings: others give what one core gives, in the same order, bit for bit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from littoral.findings.machines.cluster import connected
from littoral.findings.machines.sweep import sweep
from littoral.stats.compare import mean_levels
from littoral.stats.series import Series


@dataclass(frozen=True)
class Setting:
    draw: int
    trend: float


def fitted(task: Setting, shared: int) -> str:
    """What is fitted to a simulated series of so many days, every digit of it."""
    rng, day = np.random.default_rng(task.draw), np.arange(float(shared))
    return repr(mean_levels(Series("cover", "1", "level", day, task.trend * day + rng.normal(size=shared))))


SETTINGS = [Setting(draw, trend) for draw in range(4) for trend in (0.0, 0.5)]


def test_a_cluster_and_one_core_give_the_same_in_the_same_order(cluster_here: str) -> None:
    alone = sweep(fitted, SETTINGS, 20)
    assert len(set(alone)) == len(SETTINGS)
    with connected(cluster_here) as cluster:
        assert sweep(fitted, SETTINGS, 20, cluster=cluster) == alone


@pytest.mark.slow
def test_processes_of_this_computer_give_the_same() -> None:
    assert sweep(fitted, SETTINGS, 20, processes=2) == sweep(fitted, SETTINGS, 20)
