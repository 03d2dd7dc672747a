"""See the levels of a trial: what is in the water now and in the days to come, with their doubt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import numpy as np

from littoral.acts.choosing import chosen_trial
from littoral.acts.written_regime import written_regimes
from littoral.errors import extras_needed
from littoral.findings.estimates.estimated import estimate_levels
from littoral.findings.estimates.model import Estimates
from littoral.findings.estimates.other_regime import other_bands
from littoral.findings.measuring import measure_photos
from littoral.logbook.book import Logbook
from littoral.progress import Progress
from littoral.tank.fit.forecast import Bands
from littoral.tank.fit.sensitivity import Sensitivity, prior_sensitivity
from littoral.trial.model import Trial


@dataclass(frozen=True, slots=True, eq=False)
class SeenLevels:
    """A trial and what is known of its levels."""

    trial: Trial
    estimates: Estimates


@extras_needed()
def see_levels(
    folder: Path,
    trial_key: str | None = None,
    *,
    now: datetime,
    progress: Progress | None = None,
) -> SeenLevels:
    """Fit what is not fitted yet and return every level of a trial as known at `now` (aware).

    Photos say how the plants grew, so those not measured yet are measured first.
    """
    with Logbook.open(folder) as book:
        trial = book.trial(chosen_trial(book, trial_key))
        measured = measure_photos(book, trial, progress=progress)
        return SeenLevels(
            trial,
            estimate_levels(book, trial, now=now, measured=measured, progress=progress),
        )


def try_regimes(seen: SeenLevels, written: Sequence[str]) -> tuple[Bands, ...]:
    """Return the levels over the two weeks to come had tanks been fed as `written` ("left: macro 10 mL") from now on.

    Nothing is noted. Raises FaultsError that names every line which cannot be.
    """
    regimes = written_regimes(seen.trial, written, now_day=seen.estimates.now_day)
    return tuple(
        bands
        for tank, regime in regimes.items()
        for bands in other_bands(seen.trial, seen.estimates, tank=tank, regime=regime)
    )


@extras_needed()
def prior_shifts(seen: SeenLevels) -> tuple[Sensitivity, ...]:
    """Fit again with priors half and twice as wide: how far each level of today moves. Takes twice the fit's time."""
    rng = np.random.default_rng(20260303)
    return prior_sensitivity(seen.estimates.posterior, rng, at_day=seen.estimates.now_day)
