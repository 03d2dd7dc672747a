"""Readings that the rest of the record finds nearly impossible: kept, flagged, asked about; and slips that explain."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from littoral.tank.alarms import plain
from littoral.tank.events import FloatArray, TankEvent
from littoral.tank.fit.fit import NutrientFit, Posterior, likelihood_of, reading_weights
from littoral.tank.fit.forecast import Estimate, level_draws
from littoral.tank.fit.layout import log_bias
from littoral.tank.fit.likelihood import reading_likelihood, share_below, share_from
from littoral.tank.fit.methods import Reading

NEARLY_IMPOSSIBLE = 0.01
LONGEST_LOOK_BACK_DAYS = 14.0


@dataclass(frozen=True, slots=True, eq=False)
class Surprise:
    """How one reading agrees with all others.

    `probability`: of a result at least as far out (two-sided), by the fit without this reading (importance weights).
    `expected`: what it should have shown, mg/L. `effective_draws` behind both: below 100 the probability is rough.
    `flagged`: under 1 %. `ask` is what to ask the keeper, empty where not flagged.
    """

    reading: Reading
    probability: float
    expected: Estimate
    effective_draws: float
    flagged: bool
    ask: str


@dataclass(frozen=True, slots=True, eq=False)
class Slip:
    """A dose that may have been missed or doubled: `odds` is how many times better all readings then fit."""

    event: TankEvent
    what: str
    odds: float


def surprising(posterior: Posterior, readings: Iterable[Reading] | None = None) -> tuple[Surprise, ...]:
    """Return how each reading (by default all of the fit) agrees with the others, in the order given."""
    every = [one for fit in posterior.fits for one in fit.readings] if readings is None else list(readings)
    levels: dict[tuple[str, str], dict[float, FloatArray]] = {}  # a tank's whole course is worked out once
    for tank, nutrient in {(one.tank, one.nutrient): None for one in every}:
        days = sorted({one.day for one in every if (one.tank, one.nutrient) == (tank, nutrient)})
        found = level_draws(posterior, tank=tank, nutrient=nutrient, days=days)
        levels[tank, nutrient] = dict(zip(days, found.T, strict=True))
    return tuple(_surprise(posterior, one, levels[one.tank, one.nutrient][one.day]) for one in every)


def slips(posterior: Posterior, reading: Reading) -> tuple[Slip, ...]:
    """Return the doses of the two weeks before a reading, the likeliest slip first: missed, or given twice.

    `odds` compares all readings of the fit with and without the slip (importance sampling from the draws): a hint what
    to ask, no finding.
    """
    fit = posterior.of(reading.tank, reading.nutrient)
    kept = fit.layout.tank(reading.tank)
    row = kept.nutrients.index(reading.nutrient)
    base = likelihood_of(fit.layout, fit.readings)(fit.z)
    found = []
    for i, event in enumerate(kept.events):
        if type(event) is not TankEvent or event.adds_mg is None or event.adds_mg[row] <= 0:
            continue  # what only follows from doses, as nitrate from ammonium, was not for the keeper to miss
        if not reading.day - LONGEST_LOOK_BACK_DAYS <= event.day <= reading.day:
            continue
        for what, factor in (("missed", 0.0), ("given twice", 2.0)):
            events = (*kept.events[:i], replace(event, adds_mg=event.adds_mg * factor), *kept.events[i + 1 :])
            tanks = tuple(one.with_events(events) if one.key == kept.key else one for one in fit.layout.tanks)
            other = likelihood_of(replace(fit.layout, tanks=tanks), fit.readings)(fit.z)
            found.append(Slip(event, what, float(np.mean(np.exp(other - base)))))
    return tuple(sorted(found, key=lambda slip: -slip.odds))


def _surprise(posterior: Posterior, reading: Reading, level: FloatArray) -> Surprise:
    fit = posterior.of(reading.tank, reading.nutrient)
    method = posterior.priors.methods[reading.method]
    bias = log_bias(fit.layout, fit.z, reading.method) if reading.method in fit.layout.methods else np.zeros(len(level))
    weights = _without(fit, reading, reading_likelihood(method, reading, level, bias))
    low, high = reading.low_mg_per_l, reading.high_mg_per_l
    not_above = float(weights @ share_below(method, level, bias, high))
    not_below = float(weights @ share_from(method, level, bias, low))
    probability = min(1.0, 2.0 * min(not_above, not_below))
    expected = _weighted(level * np.exp(bias), weights)
    flagged = probability < NEARLY_IMPOSSIBLE
    ask = _question(reading, expected, posterior) if flagged else ""
    return Surprise(reading, probability, expected, float(1.0 / (weights**2).sum()), flagged, ask)


def _without(fit: NutrientFit, reading: Reading, likelihood: FloatArray) -> FloatArray:
    """Return weights of the draws for the fit without a reading, summing to one; even ones if it was not in the fit."""
    if reading not in fit.readings:
        return np.full(len(likelihood), 1.0 / len(likelihood))
    share = reading_weights(fit.readings)[fit.readings.index(reading)]
    copies = fit.readings.count(reading)
    weights = np.exp(-share * copies * np.log(likelihood))
    weights /= weights.sum()
    return weights


def _weighted(values: FloatArray, weights: FloatArray) -> Estimate:
    return Estimate(*(float(v) for v in weighted_quantile(values, weights, [0.5, 0.25, 0.75, 0.05, 0.95])))


def weighted_quantile(values: FloatArray, weights: FloatArray, at: list[float]) -> FloatArray:
    """Return quantiles of weighted draws: where the summed weight, by its middles, passes each share."""
    order = np.argsort(values)
    summed = np.cumsum(weights[order]) - weights[order] / 2
    quantiles: FloatArray = np.interp(at, summed / weights.sum(), values[order])
    return quantiles


def _question(reading: Reading, expected: Estimate, posterior: Posterior) -> str:
    high = reading.high_mg_per_l
    if reading.low_mg_per_l == high:
        shown = plain(high)
    elif np.isinf(high):
        shown = f"over {plain(reading.low_mg_per_l)}"
    else:
        shown = f"{plain(reading.low_mg_per_l)} to {plain(high)}"
    text = (
        f"{reading.nutrient} of day {math.floor(reading.day)} in {reading.tank} reads {shown} mg/L; all else says "
        f"{plain(expected.low_90)} to {plain(expected.high_90)} mg/L. The reading is kept. "
        "Was it this tank, this kit, this day?"
    )
    likely = [slip for slip in slips(posterior, reading)[:1] if slip.odds >= 3.0]
    if likely:
        text += f" It would fit better if the dose of day {math.floor(likely[0].event.day)} had been {likely[0].what}."
    return text
