"""How much of an answer comes from the priors: the same fit with all widths halved and doubled."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from littoral.tank.fit.fit import Posterior, fit_nutrient
from littoral.tank.fit.forecast import Estimate, estimate, level_draws
from littoral.tank.fit.priors import with_width

WIDTHS = (0.5, 2.0)


@dataclass(frozen=True, slots=True, eq=False)
class Sensitivity:
    """One level at one day, mg/L, with the priors as they are, half as wide and twice as wide.

    `shift`: the larger move of the median, over half the width of the 90 % band as fitted. `prior_bound`: above 0.5,
    when the answer hangs on the priors as much as on the readings, and should be said so.
    """

    tank: str
    nutrient: str
    fitted: Estimate
    narrow: Estimate
    wide: Estimate
    shift: float

    @property
    def prior_bound(self) -> bool:
        """Return whether the answer hangs on the priors."""
        return self.shift > 0.5


def prior_sensitivity(posterior: Posterior, rng: np.random.Generator, *, at_day: float) -> tuple[Sensitivity, ...]:
    """Refit every nutrient with priors of other widths (the doubts of methods stay) and compare levels at a day.

    Takes twice as long as the fit itself.
    """
    refits = []
    for factor in WIDTHS:
        priors = with_width(posterior.priors, factor)
        fits = tuple(
            fit_nutrient(fit.layout.nutrient, fit.layout.tanks, fit.readings, priors, rng) for fit in posterior.fits
        )
        refits.append(Posterior(fits, priors, posterior.pooling, posterior.seed, posterior.repeated))
    rows = []
    for fit in posterior.fits:
        for tank in fit.layout.tanks:
            found = [_at(one, tank.key, fit.layout.nutrient, at_day) for one in (posterior, *refits)]
            half = (found[0].high_90 - found[0].low_90) / 2
            moved = max(abs(other.median - found[0].median) for other in found[1:])
            shift = moved / half if half > 0 else np.inf
            rows.append(Sensitivity(tank.key, fit.layout.nutrient, found[0], found[1], found[2], float(shift)))
    return tuple(rows)


def _at(posterior: Posterior, tank: str, nutrient: str, day: float) -> Estimate:
    return estimate(level_draws(posterior, tank=tank, nutrient=nutrient, days=[day])[:, 0])
