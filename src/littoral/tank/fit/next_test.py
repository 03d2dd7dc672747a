"""Which test, on which day, would narrow the answer most."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from littoral.tank.events import FloatArray, TankEvent
from littoral.tank.fit.fit import Posterior
from littoral.tank.fit.forecast import level_draws
from littoral.tank.fit.layout import log_bias
from littoral.tank.fit.likelihood import reading_likelihood, step_shares
from littoral.tank.fit.methods import FitError, Method, Reading
from littoral.tank.fit.surprise import weighted_quantile

SIMULATED_NUMBERS = 60


@dataclass(frozen=True, slots=True)
class Candidate:
    """A test that could be done: which tank and nutrient, on which day, by which method (a key of the priors)."""

    tank: str
    nutrient: str
    day: float
    method: str


@dataclass(frozen=True, slots=True)
class Worth:
    """What a test is worth: width of the 90 % band of the level, mg/L, at the day asked about, now and expected after.

    `narrowed`: the share of the width that the test is expected to take away, 0 to 1.
    """

    candidate: Candidate
    width_now: float
    width_after: float
    narrowed: float


def next_test(
    posterior: Posterior,
    candidates: Sequence[Candidate],
    rng: np.random.Generator,
    *,
    at_day: float,
    planned_events: Sequence[TankEvent] = (),
) -> tuple[Worth, ...]:
    """Return candidates by what they are worth for the level of their own tank and nutrient at `at_day`, best first.

    For a colour kit every step is weighed by its probability; for a number, results are drawn. The draws are reweighted
    by each result. Raises FitError for a tank, nutrient or method not known.
    """
    days: dict[tuple[str, str], list[float]] = {}
    for one in candidates:
        days.setdefault((one.tank, one.nutrient), [at_day]).append(one.day)
    levels: dict[tuple[str, str, float], FloatArray] = {}
    for (tank, nutrient), asked in days.items():  # once for all days of a level: what takes the time
        every = sorted(set(asked))
        drawn = level_draws(posterior, tank=tank, nutrient=nutrient, days=every, planned_events=planned_events)
        levels |= {(tank, nutrient, day): drawn[:, at] for at, day in enumerate(every)}
    worths = [
        _worth(
            posterior, one, rng, then=levels[one.tank, one.nutrient, one.day],
            target=levels[one.tank, one.nutrient, at_day],
        )
        for one in candidates
    ]  # fmt: skip
    return tuple(sorted(worths, key=lambda worth: -worth.narrowed))


def _worth(
    posterior: Posterior, candidate: Candidate, rng: np.random.Generator, *, then: FloatArray, target: FloatArray
) -> Worth:
    """Weigh one test, from the level's draws on its day and on the day asked about, each (n_draws,)."""
    fit = posterior.of(candidate.tank, candidate.nutrient)
    method = posterior.priors.methods.get(candidate.method)
    if method is None:
        raise FitError([f"No method {candidate.method!r}. Methods are {', '.join(posterior.priors.methods)}."])
    if method.key in fit.layout.methods:
        bias = log_bias(fit.layout, fit.z, method.key)
    else:  # a kit not used so far: its bias is still as the prior has it
        bias = method.bias_log_mean + method.bias_log_sd * rng.standard_normal(len(then))
    even = np.full(len(then), 1.0 / len(then))
    now = _width(target, even)
    shares = _results(method, then, bias, rng)
    probability = shares.mean(axis=1)
    widths = [_width(target, one / one.sum()) for one in shares]
    after = float(probability @ np.array(widths) / probability.sum())
    narrowed = 1.0 - after / now if now > 0 else 0.0
    return Worth(candidate, now, after, narrowed)


def _results(method: Method, level: FloatArray, bias: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Return how probable each result is in each draw, (n_results, n_draws), up to a factor that cancels."""
    if method.kind == "steps":
        if not method.borders_mg_per_l:
            raise FitError([f"{method.key} has no borders. Give the kit's steps to weigh a test with it."])
        return step_shares(method, level, bias)
    x = level * np.exp(bias)
    rows = rng.choice(len(x), size=SIMULATED_NUMBERS)
    sd = np.hypot(method.relative_sd * x, method.absolute_sd_mg_per_l)
    shown = np.maximum(x[rows] + sd[rows] * rng.standard_normal(len(rows)), 0.0)
    readings = [Reading("", "", 0.0, method.key, float(value), float(value)) for value in shown]
    density = np.stack([reading_likelihood(method, reading, level, bias) for reading in readings])
    # results were drawn as often as they are probable: each counts the same
    scaled: FloatArray = density / density.mean(axis=1, keepdims=True)
    return scaled


def _width(values: FloatArray, weights: FloatArray) -> float:
    low, high = weighted_quantile(values, weights, [0.05, 0.95])
    return float(high - low)
