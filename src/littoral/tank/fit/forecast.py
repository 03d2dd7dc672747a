"""Levels day by day, now and ahead, with bands; what if other things were done; the net removal that readings fix."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from littoral.tank.events import FloatArray, TankEvent
from littoral.tank.fit.fit import NutrientFit, Posterior
from littoral.tank.fit.forward import LEAST_BIOMASS, levels_of, release_at
from littoral.tank.fit.kept_tank import stretches
from littoral.tank.fit.layout import log_bias, tank_draws
from littoral.tank.fit.methods import FitError


@dataclass(frozen=True, slots=True, eq=False)
class Estimate:
    """Median, 50 % and 90 % intervals of one number, in the unit said where it is made."""

    median: float
    low_50: float
    high_50: float
    low_90: float
    high_90: float


@dataclass(frozen=True, slots=True, eq=False)
class Bands:
    """Levels of one nutrient in one tank, mg/L, arrays (n_days,). At an event's minute: just after it.

    `below_floor`, `above_ceiling`: probability on each day; `left_band`: probability of having been outside on any of
    the days up to it. None where no floor or ceiling was given.
    """

    tank: str
    nutrient: str
    day: FloatArray
    median: FloatArray
    low_50: FloatArray
    high_50: FloatArray
    low_90: FloatArray
    high_90: FloatArray
    below_floor: FloatArray | None
    above_ceiling: FloatArray | None
    left_band: FloatArray | None


def forecast(
    posterior: Posterior,
    *,
    tank: str,
    nutrient: str,
    days: ArrayLike,
    planned_events: Iterable[TankEvent] = (),
    floor_mg_per_l: float | None = None,
    ceiling_mg_per_l: float | None = None,
    band_from_day: float | None = None,
) -> Bands:
    """Return levels on `days` (ascending, days since day 0) with the tank's events and what is planned besides.

    Past days too; those before `band_from_day` do not count in `left_band`. Uptake walks on at random after the last
    reading, so bands widen. Ask a moment before an event's minute for the level before it. Raises FitError for a tank
    or nutrient not fitted, or days before the record.
    """
    fit = posterior.of(tank, nutrient)
    at = np.atleast_1d(np.asarray(days, dtype=np.float64))
    if at.size == 0 or not (np.diff(at) >= 0).all():
        raise FitError(["The days do not ascend. Give one or more, in order."])
    kept = fit.layout.tank(tank)
    level = _levels(posterior, fit, tank, (*kept.events, *planned_events), at)
    return _bands(tank, nutrient, at, level, floor_mg_per_l, ceiling_mg_per_l, band_from_day)


def what_if(
    posterior: Posterior,
    *,
    tank: str,
    nutrient: str,
    days: ArrayLike,
    events: Iterable[TankEvent],
    from_day: float,
    floor_mg_per_l: float | None = None,
    ceiling_mg_per_l: float | None = None,
) -> Bands:
    """Return levels had the tank, from `from_day` on, been given these events and no others.

    The same draws and the same wandering of uptake as in `forecast`, so two regimes overlaid differ by what was done,
    not by chance. Raises as `forecast`, and FitError for an event before `from_day`.
    """
    kept = posterior.of(tank, nutrient).layout.tank(tank)
    instead = tuple(events)
    early = [event.day for event in instead if event.day < from_day]
    if early:
        raise FitError([f"An event at day {min(early):g}, before day {from_day:g}. What has been done stays done."])
    before = tuple(event for event in kept.events if event.day < from_day)
    at = np.atleast_1d(np.asarray(days, dtype=np.float64))
    level = _levels(posterior, posterior.of(tank, nutrient), tank, (*before, *instead), at)
    return _bands(tank, nutrient, at, level, floor_mg_per_l, ceiling_mg_per_l, from_day)


def level_draws(
    posterior: Posterior, *, tank: str, nutrient: str, days: ArrayLike, planned_events: Iterable[TankEvent] = ()
) -> FloatArray:
    """Return levels of every draw, mg/L, shape (n_draws, n_days): what the bands are made of."""
    fit = posterior.of(tank, nutrient)
    events = (*fit.layout.tank(tank).events, *planned_events)
    return _levels(posterior, fit, tank, events, np.atleast_1d(np.asarray(days, dtype=np.float64)))


def net_removal(posterior: Posterior, *, tank: str, nutrient: str, day: float) -> Estimate:
    """Return what leaves the water by itself at that day's level, mg/L per day: uptake less release.

    Below zero the water gains. Readings do not fix maximal uptake and half level one by one, they do fix this; so this
    is what may be printed.
    """
    fit = posterior.of(tank, nutrient)
    kept = fit.layout.tank(tank)
    pieces = stretches(kept.course(nutrient), [day])
    draws = tank_draws(fit.layout, fit.z, tank, pieces, _walk_on(posterior, fit, tank, day))
    level = levels_of(pieces, draws)[:, 0]
    if len(pieces.days) == 0:
        drift, grown = np.zeros(len(level)), pieces.course.biomass_at(day)
    else:
        drift, grown = draws.log_drift[:, -1], pieces.course.biomass_at(day)
    uptake = draws.v_mg_per_l_per_day * np.exp(drift) * max(grown, LEAST_BIOMASS)
    taken = uptake * level / (draws.k_mg_per_l + level)
    return estimate(taken - release_at(draws, day - kept.start_day))


def method_bias(posterior: Posterior, *, tank: str, nutrient: str, method: str) -> Estimate:
    """Return what a method shows over what is in the water, as a factor (1.1: it reads 10 % high)."""
    fit = posterior.of(tank, nutrient)
    if method not in fit.layout.methods:
        raise FitError([f"{method} was not used for {nutrient}. Methods used: {', '.join(fit.layout.methods)}."])
    return estimate(np.exp(log_bias(fit.layout, fit.z, method)))


def source_level(posterior: Posterior, *, tank: str, nutrient: str) -> Estimate:
    """Return the level in the source water, mg/L."""
    fit = posterior.of(tank, nutrient)
    prior = fit.layout.priors.nutrients[nutrient].source
    return estimate(prior.median * np.exp(prior.log_sd * fit.layout.column(fit.z, "source")))


def estimate(values: FloatArray) -> Estimate:
    """Return median and intervals of draws."""
    q = np.quantile(values, [0.5, 0.25, 0.75, 0.05, 0.95])
    return Estimate(*(float(v) for v in q))


def _levels(
    posterior: Posterior, fit: NutrientFit, tank: str, events: tuple[TankEvent, ...], days: FloatArray
) -> FloatArray:
    pieces = stretches(fit.layout.tank(tank).with_events(events).course(fit.layout.nutrient), days)
    last = float(days.max()) if days.size else 0.0
    walk = _walk_on(posterior, fit, tank, last)
    return levels_of(pieces, tank_draws(fit.layout, fit.z, tank, pieces, walk))


def _walk_on(posterior: Posterior, fit: NutrientFit, tank: str, last_day: float) -> FloatArray:
    """Return weekly steps of uptake after the last reading, (n_draws, weeks): the same, week by week, every time."""
    index = [one.key for one in fit.layout.tanks].index(tank)
    gone = last_day - fit.layout.tanks[index].start_day - fit.layout.fitted_days[index]
    weeks = max(int(np.ceil(gone / 7.0)), 0) + 1
    order = [one is fit for one in posterior.fits].index(True)
    rng = np.random.default_rng([posterior.seed, order, index])
    return np.stack([rng.standard_normal(len(fit.z)) for _ in range(weeks)], axis=1)


def _bands(
    tank: str,
    nutrient: str,
    day: FloatArray,
    level: FloatArray,
    floor: float | None,
    ceiling: float | None,
    from_day: float | None,
) -> Bands:
    median, low_50, high_50, low_90, high_90 = np.quantile(level, [0.5, 0.25, 0.75, 0.05, 0.95], axis=0)
    below = None if floor is None else level < floor
    above = None if ceiling is None else level > ceiling
    counts = day >= (-np.inf if from_day is None else from_day)
    outside = [part & counts for part in (below, above) if part is not None]
    left = np.logical_or.accumulate(np.logical_or.reduce(outside), axis=1).mean(axis=0) if outside else None
    return Bands(
        tank=tank, nutrient=nutrient, day=day, median=median, low_50=low_50, high_50=high_50, low_90=low_90,
        high_90=high_90, below_floor=None if below is None else below.mean(axis=0),
        above_ceiling=None if above is None else above.mean(axis=0), left_band=left,
    )  # fmt: skip
