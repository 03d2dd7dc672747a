"""Two tanks of one trial, fed richly and sparingly, with six weeks of weekly readings by a colour kit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from littoral.tank.events import TankEvent
from littoral.tank.fit.fit import Posterior, fit_levels
from littoral.tank.fit.kept_tank import KeptTank
from littoral.tank.fit.methods import Reading, step_borders
from littoral.tank.fit.priors import Priors, default_priors, usual_method

NET_L = 50.0
STEPS = step_borders([0, 5, 10, 20, 40, 80])


@dataclass(frozen=True)
class Trial:
    tanks: tuple[KeptTank, ...]
    readings: tuple[Reading, ...]
    priors: Priors


def a_tank(key: str, arm: str, dose_mg_per_l: float) -> KeptTank:
    events = [TankEvent(day + 0.4, np.array([dose_mg_per_l * NET_L])) for day in range(42) if day % 7 in (1, 3, 5)]
    events += [TankEvent(7.0 * week + 0.5, share_changed=0.3) for week in range(1, 6)]
    return KeptTank(key, arm, ("nitrate",), tuple(sorted(events, key=lambda e: e.day)), NET_L)


def step_reading(tank: str, week: int, step: int) -> Reading:
    return Reading(tank, "nitrate", 7.0 * week + 0.45, "kit", STEPS[step], STEPS[step + 1])


def a_trial() -> Trial:
    rich, lean = (2, 3, 3, 3, 3, 4), (1, 1, 0, 0, 1, 0)
    readings = [step_reading("rich", week, step) for week, step in enumerate(rich, start=1)]
    readings += [step_reading("lean", week, step) for week, step in enumerate(lean, start=1)]
    kit = usual_method("colour_steps", borders_mg_per_l=STEPS, key="kit")
    meter = usual_method("photometer", top_mg_per_l=100.0)
    priors = default_priors({"kit": kit, "photometer": meter})
    return Trial((a_tank("rich", "rich", 5.0), a_tank("lean", "lean", 1.0)), tuple(readings), priors)


@pytest.fixture(scope="session")
def trial() -> Trial:
    return a_trial()


@pytest.fixture(scope="session")
def posterior(trial: Trial) -> Posterior:
    return fit_levels(trial.tanks, trial.readings, trial.priors, np.random.default_rng(1))
