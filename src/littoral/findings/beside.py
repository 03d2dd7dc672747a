"""Further tests shown beside the one that decides: of one pair with a baseline, and exact ones where tanks are few."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from littoral.findings.model import Beside
from littoral.findings.showing import GROWTH, ranged
from littoral.findings.tank_values import TankSeries, day_by_day
from littoral.stats.before_after import (
    KNOWN_OVER_REJECTION,
    drawn_start,
    drawn_start_of_slope,
    randomised_intervention,
    step_change,
)
from littoral.stats.crossover import orders_in_twos, randomisation
from littoral.stats.estimate import Estimate
from littoral.stats.growth import trim_offsets
from littoral.stats.permutation import Permutation, sign_flip, two_sample, within_blocks
from littoral.stats.regression import TooFewPointsError
from littoral.stats.series import FloatArray, Series
from littoral.trial.model import Trial

WEEK_DAYS = 7.0
FEWEST_OF_A_WEEK = 3
MOST_PAIRS = 17
"""More pairs than this would need a random sample of signs; then t serves."""

BACI = "Stewart-Oaten et al. 1986, Ecology 67:929-940"
RIA = "Carpenter et al. 1989, Ecology 70:1142-1152"
DRAWN = "Edgington 1975, J Psychol 90:57-68"
DEALT = "Fisher 1935, The Design of Experiments, section 21"


@dataclass(frozen=True, slots=True, eq=False)
class OfAPair:
    """What else is asked of one pair with a baseline: the step, which the claim needs too, and the tests beside it."""

    step: Estimate | None
    tests: tuple[Beside, ...]


def of_a_pair(trial: Trial, measure: str, second: TankSeries, first: TankSeries) -> OfAPair:
    """Return the further tests of one pair's change; none without a baseline, or where too few days pair.

    Growth is compared by the slopes of whole weeks: its step is the change of the slope itself, which decides already.
    """
    change_day = trial.baseline_days
    both = day_by_day(measure, second, first, change_day=change_day) if change_day else None
    if both is None:
        return OfAPair(None, ())
    trims = sorted({*second.trims, *first.trims})
    growth = measure in GROWTH
    values = weekly_slopes(both, trims, change_day=change_day) if growth else both
    tests: list[Beside] = []
    step = None
    if not growth:
        try:
            step = step_change(both, change_day=change_day).change
        except TooFewPointsError:
            return OfAPair(None, ())
        low, high = step.interval()
        said = ranged(measure, step.value, low, high, level=0.95, currency=trial.currency)
        tests.append(
            Beside(
                "step change", step.p_zero(), None, True,
                f"As one step of the pair's difference, without trends and with autocorrelation: {said}. A change is "
                "claimed only where both ways of reckoning it exclude 0 on the same side; its interval spans both.",
                BACI,
            )
        )  # fmt: skip
    after = values.day >= change_day
    if after.any() and not after.all() and values.day.size > 2:
        tests.append(_shuffled(values.value, after, weeks=growth))
    if trial.plan.start_drawn_from and (drawn := _drawn(trial, both, trims, growth=growth)) is not None:
        tests.append(drawn)
    return OfAPair(step, tuple(tests))


def weekly_slopes(ratio: Series, trims: Sequence[float], *, change_day: float) -> Series:
    """Return the slope (1/day) of a ratio's logarithm in each whole week before and after the change.

    Least squares with an offset at each trim; weeks of fewer than 3 photos, or cut up by trims, are left out.
    """
    week = np.floor((ratio.day - change_day) / WEEK_DAYS)
    days: list[float] = []
    slopes: list[float] = []
    for one in np.unique(week):
        inside = week == one
        day = ratio.day[inside]
        design = np.column_stack([np.ones(day.size), day - day.mean(), trim_offsets(day, trims)])
        if day.size < max(FEWEST_OF_A_WEEK, design.shape[1]) or np.linalg.matrix_rank(design) < design.shape[1]:
            continue
        days.append(change_day + (float(one) + 0.5) * WEEK_DAYS)
        slopes.append(float(np.linalg.lstsq(design, np.log(ratio.value[inside]), rcond=None)[0][1]))
    return Series(ratio.name, "1/day", "level", np.array(days), np.array(slopes))


def _shuffled(values: FloatArray, after: np.ndarray[tuple[int], np.dtype[np.bool_]], *, weeks: bool) -> Beside:
    # always the same draws: an answer is the same each time it is given
    test = randomised_intervention(values, after, rng=np.random.default_rng(20)).test
    known = KNOWN_OVER_REJECTION
    unit = "weeks" if weeks else "days"
    # said where it could hardly have come out under 0.05
    least = f", and it cannot go under {p_said(test.smallest_p)}" if test.smallest_p > 0.01 else ""
    return Beside(
        "randomised intervention analysis", test.p_value, test.smallest_p, False,
        f"Randomised intervention analysis of {values.size} {unit}: p = {p_said(test.p_value)}{least}. It decides "
        f"nothing, for it takes {unit} as if none resembled the one before, which they do: of {known.pairs} real "
        f"pairs that nobody had disturbed such tests called {100 * known.plain:g} %, and with that allowed for "
        f"{100 * known.autocorrelation_corrected:g} % (Murtaugh 2002).",
        RIA,
    )  # fmt: skip


def _drawn(trial: Trial, both: Series, trims: Sequence[float], *, growth: bool) -> Beside | None:
    could_be, day = trial.plan.start_drawn_from, trial.baseline_days
    try:
        if growth:
            logs = Series(both.name, "1", "level", both.day, np.log(both.value))
            test = drawn_start_of_slope(logs, trim_offsets(both.day, trims), change_day=day, could_be=could_be)
        else:
            test = drawn_start(both, change_day=day, could_be=could_be)
    except TooFewPointsError:
        return None
    return Beside(
        "drawn start", test.p_value, test.smallest_p, True,
        f"The start was drawn by lot from {len(could_be)} days: as clear a change is found at "
        f"{round(test.p_value * test.arrangements)} of them, p = {p_said(test.p_value)}. This test holds however days "
        f"follow each other; with {len(could_be)} days it cannot go under {p_said(test.smallest_p)}. Where it could go "
        "under the level, a change is claimed only if it does.",
        DRAWN,
    )  # fmt: skip


def of_pairs(values: Sequence[float]) -> tuple[Beside, ...]:
    """Return the exact test over pairs, one number of each: by turning each pair's sign."""
    if not 3 <= len(values) <= MOST_PAIRS:
        return ()
    return (_exact("sign flips", sign_flip(np.array(values)), f"{len(values)} pairs", "turning each pair's sign"),)


def of_tanks(
    second: Sequence[float], first: Sequence[float], blocks: Sequence[str] | None = None
) -> tuple[Beside, ...]:
    """Return the exact test over tanks, one number of each, `blocks` of second's then first's: by dealing them anew."""
    if min(len(second), len(first)) < 3:
        return ()
    tanks = f"{len(second)} and {len(first)} tanks"
    try:
        if blocks is None:
            test = two_sample(np.array(second), np.array(first))
            return (_exact("dealt anew", test, tanks, "dealing the tanks to the arms in every way"),)
        place = np.arange(len(second) + len(first)) < len(second)
        test = within_blocks(np.array([*second, *first]), place, np.array(blocks))
    except ValueError:  # more ways than are looked at one by one: then t serves
        return ()
    many = f"{tanks} in {len(set(blocks))} blocks"
    return (_exact("dealt anew within blocks", test, many, "dealing each block's tanks to the arms in every way"),)


def of_drawn_order(difference: FloatArray, swapped: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> tuple[Beside, ...]:
    """Return the exact test of one pair's crossover over all orders that its draw could have given."""
    test = randomisation(difference, swapped, orders_in_twos(swapped.size))
    return (_exact("drawn order", test, f"{swapped.size} periods", "every order that the draw could have given"),)


def _exact(name: str, test: Permutation, many: str, how: str) -> Beside:
    text = (
        f"Exact test by {how}: p = {p_said(test.p_value)}; with {many} it cannot go under {p_said(test.smallest_p)}. "
        "The t-test decides."
    )
    return Beside(name, test.p_value, test.smallest_p, False, text, DEALT)


def p_said(p: float) -> str:
    """Return a p value with two digits that count: 0.25, 0.048, under 0.0001."""
    return "under 0.0001" if p < 1e-4 else f"{p:.2g}"
