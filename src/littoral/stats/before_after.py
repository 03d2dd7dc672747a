"""Before, after, control, impact: did the difference of a pair change when the regimes began?

The series is second tank minus first (`compare.paired`); what both share cancels in it (Stewart-Oaten et al. 1986,
Ecology 67:929-940). Days of one series follow each other, and a shift of one tank by itself looks just like an effect:
tests of one pair reject too often, whatever the correction, and this module says by how much. Only a start day that was
drawn makes such a test honest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from littoral.stats.compare import LEVEL_STRUCTURES
from littoral.stats.estimate import Estimate
from littoral.stats.permutation import Permutation, judged, over_choices
from littoral.stats.regression import FEWEST_POINTS, Structure, TooFewPointsError, fit
from littoral.stats.series import FloatArray, Series


@dataclass(frozen=True, slots=True)
class OverRejection:
    """How often a test at 5 % called something where nothing had been done, as shares, and who counted."""

    plain: float
    autocorrelation_corrected: float
    pairs: int
    source: str


KNOWN_OVER_REJECTION = OverRejection(0.20, 0.15, 154, "Murtaugh 2002, Ecology 83:1752-1761, abstract")
"""On 154 real pairs that nobody had disturbed."""


@dataclass(frozen=True, slots=True, eq=False)
class StepChange:
    """Mean difference before and after, and its change, in the series' unit, and each structure's weight."""

    before: Estimate
    after: Estimate
    change: Estimate
    values_before: int
    values_after: int
    weight_of: dict[str, float]


@dataclass(frozen=True, slots=True)
class Intervention:
    """Randomised intervention analysis: its test, and how often it is known to be wrong at 5 %."""

    test: Permutation
    known: OverRejection


def step_change(
    difference: Series, *, change_day: float, structures: Sequence[Structure] = LEVEL_STRUCTURES
) -> StepChange:
    """Return how the mean of a pair's difference changed at `change_day`, by restricted likelihood.

    Averaged over white and autocorrelated errors (`stats.regression`); no trends, unlike `compare.mean_levels`: for a
    pair whose difference was level before. Raises TooFewPointsError below 4 values on either side.
    """
    after = difference.day >= change_day
    fewest = min(int(after.sum()), int((~after).sum()))
    if fewest < FEWEST_POINTS:
        raise TooFewPointsError(points=fewest, needed=FEWEST_POINTS, what=f"change of {difference.name}, each side")
    design = np.column_stack([~after, after]).astype(float)
    fitted = fit(difference.day, difference.value, design, structures=structures, what=f"change of {difference.name}")
    return StepChange(
        before=fitted.contrast([1.0, 0.0]),
        after=fitted.contrast([0.0, 1.0]),
        change=fitted.contrast([-1.0, 1.0]),
        values_before=int((~after).sum()),
        values_after=int(after.sum()),
        weight_of=fitted.weight_of,
    )


def randomised_intervention(
    difference: FloatArray, after: NDArray[np.bool_], *, rng: np.random.Generator | None = None
) -> Intervention:
    """Return the change of the mean of `difference` (n,) against every way of calling as many days `after` (n,).

    Carpenter, Frost, Heisey & Kratz 1989 (Ecology 70:1142-1152). It takes days as exchangeable, which days are not;
    hence `known`. Exact up to 200,000 arrangements, else by `rng`. Raises TooFewPointsError where a side has no value.
    """
    n, later = difference.size, int(after.sum())
    if later < 1 or later == n:
        raise TooFewPointsError(points=n, needed=n + 1, what="one side of the change")
    total = float(difference.sum())

    def change(chosen: NDArray[np.intp]) -> FloatArray:
        of_after = difference[chosen].sum(axis=1)
        return np.asarray(of_after / later - (total - of_after) / (n - later), dtype=np.float64)

    found, exact = over_choices(change, total=n, chosen=later, rng=rng)
    observed = float(change(np.flatnonzero(after)[None])[0])
    smallest_p = (1 + (2 * later == n)) / found.size
    return Intervention(judged(observed, found, exact=exact, smallest_p=smallest_p), KNOWN_OVER_REJECTION)


def drawn_start(difference: Series, *, change_day: float, could_be: Sequence[float]) -> Permutation:
    """Return the change of the mean against its change at each day that the start `could_be`, one drawn among them.

    The one test of a single pair whose rate does not depend on how days hang together: the draw of the start carries
    it (Edgington 1975, J Psychol 90:57-68). With m candidate days the p value is never below 1/m, so 20 are needed for
    0.05. Raises ValueError where `change_day` is not among them, TooFewPointsError where one has a side without value.
    """
    if change_day not in could_be:
        raise ValueError(f"day {change_day} is not among the {len(could_be)} days that the start was drawn from")

    def change(day: float) -> float:
        later = difference.day >= day
        fewest = min(int(later.sum()), int((~later).sum()))
        if fewest < 1:
            raise TooFewPointsError(points=0, needed=1, what=f"values on either side of day {day:g}")
        return float(difference.value[later].mean() - difference.value[~later].mean())

    found = np.array([change(day) for day in could_be])
    return judged(change(change_day), found, exact=True, smallest_p=1 / found.size)


def drawn_start_of_slope(
    log_ratio: Series, offsets: FloatArray, *, change_day: float, could_be: Sequence[float]
) -> Permutation:
    """Return the same test of the slope of a pair's `log_ratio`, n values, for growth.

    `offsets` (n, k) are columns that let the line jump, at trims. The statistic is the least-squares kink at a day
    over its standard error: the kink itself would be largest at days where it fits badly. Raises as `drawn_start`,
    and where a day leaves a slope undetermined.
    """
    if change_day not in could_be:
        raise ValueError(f"day {change_day} is not among the {len(could_be)} days that the start was drawn from")

    def change(day: float) -> float:
        since = log_ratio.day - day
        design = np.column_stack([np.ones(since.size), since, np.maximum(since, 0.0), *offsets.T])
        n, p = design.shape
        if n <= p or np.linalg.matrix_rank(design) < p:
            raise TooFewPointsError(points=n, needed=p + 1, what=f"slopes on either side of day {day:g}")
        coefficient = np.linalg.lstsq(design, log_ratio.value, rcond=None)[0]
        rest = log_ratio.value - design @ coefficient
        error = np.sqrt(float(rest @ rest) / (n - p) * np.linalg.inv(design.T @ design)[2, 2])
        return float(coefficient[2] / max(float(error), 1e-15))  # a perfect fit has a clear kink, not an infinite one

    found = np.array([change(day) for day in could_be])
    return judged(change(change_day), found, exact=True, smallest_p=1 / found.size)
