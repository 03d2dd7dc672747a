"""How much of the levels comes from what was held likely beforehand: the same fit with other priors."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from littoral.acts.levels_words import name_of, tank_words
from littoral.findings.estimates.model import Estimates
from littoral.progress import Progress
from littoral.publish.level_words import with_doubt
from littoral.speech.say import say
from littoral.tank.fit.sensitivity import prior_sensitivity
from littoral.trial.model import Trial

SEED = 20260304


@dataclass(frozen=True, slots=True)
class PriorShift:
    """One level now: as fitted, with priors half as wide, twice as wide; `hangs` says that it rests on the priors."""

    name: str
    fitted: str
    narrow: str
    wide: str
    shift_percent: int
    hangs: bool


def other_priors(trial: Trial, estimates: Estimates, *, progress: Progress | None = None) -> tuple[PriorShift, ...]:
    """Return each level now under other priors. Takes twice as long as the fit did; `progress` is told once."""
    if progress is not None:
        progress(0, 1, say("fitting with other priors, twice"))
    rng = np.random.default_rng(SEED)
    rows = prior_sensitivity(estimates.posterior, rng, at_day=estimates.now_day)
    return tuple(
        PriorShift(
            name=f"{name_of(row.nutrient)}, {tank_words(trial, row.tank)}",
            fitted=with_doubt(row.fitted),
            narrow=with_doubt(row.narrow),
            wide=with_doubt(row.wide),
            shift_percent=round(100 * row.shift) if np.isfinite(row.shift) else 999,
            hangs=row.prior_bound,
        )
        for row in rows
    )
