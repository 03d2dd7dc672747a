"""How sure levels are: how well the draws mixed, and what was held likely before any reading."""

from __future__ import annotations

import math
from dataclasses import dataclass

from littoral.acts.levels_words import name_of
from littoral.findings.estimates.model import Estimates
from littoral.publish.level_words import mg
from littoral.speech.say import say
from littoral.tank.fit.priors import NutrientPriors
from littoral.tank.fit.sampler import FEWEST_EFFECTIVE, LARGEST_R_HAT

NINE_IN_TEN = 1.6449
"""Standard deviations to each end of a range that holds 9 of 10 of a normal distribution."""
PRIOR_WORDS = {
    "uptake": ("taken up by all plants, at most", "mg/L per day"),
    "half_level": ("level at which half of that is taken up", "mg/L"),
    "release": ("given off by soil, animals and food, at first", "mg/L per day"),
    "fade_days": ("days in which that falls to a third", "days"),
    "source": ("in the source water", "mg/L"),
    "start": ("in the tank on day 0", "mg/L"),
}


@dataclass(frozen=True, slots=True)
class SureRow:
    """How well the draws of one nutrient mixed."""

    name: str
    readings: int
    r_hat: str
    effective: str
    settled: bool


@dataclass(frozen=True, slots=True)
class Settled:
    """From where on draws are trusted: R-hat at most, effective draws at least."""

    r_hat: float = LARGEST_R_HAT
    effective: float = FEWEST_EFFECTIVE


@dataclass(frozen=True, slots=True)
class PriorRow:
    """What was held likely of one nutrient before any reading: the middle, nine in ten, and who says so."""

    name: str
    what: str
    middle: str
    range: str
    unit: str
    source: str


def sure_rows(estimates: Estimates) -> tuple[SureRow, ...]:
    """Return how well the draws of each nutrient mixed."""
    return tuple(
        SureRow(
            name=name_of(fit.layout.nutrient),
            readings=len(fit.readings),
            r_hat=f"{fit.mixing.r_hat:.3f}",
            effective=f"{fit.mixing.effective_draws:,.0f}",
            settled=fit.mixing.settled,
        )
        for fit in estimates.posterior.fits
    )


def prior_rows(estimates: Estimates) -> tuple[PriorRow, ...]:
    """Return what was held likely before any reading, with who says so."""
    rows = []
    for nutrient in estimates.nutrients:
        prior: NutrientPriors = estimates.posterior.priors.nutrients[nutrient]
        for field, (what, unit) in PRIOR_WORDS.items():
            one = getattr(prior, field)
            low, high = (one.median * math.exp(side * NINE_IN_TEN * one.log_sd) for side in (-1, 1))
            rows.append(
                PriorRow(
                    name_of(nutrient),
                    what,
                    mg(one.median),
                    say("{mg} to {mg_2}", mg=mg(low), mg_2=mg(high)),
                    unit,
                    one.source,
                )
            )
    return tuple(rows)
