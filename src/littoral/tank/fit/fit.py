"""Fit levels to readings: the posterior of what tanks are like, for every nutrient that was read."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from littoral.tank.events import FloatArray
from littoral.tank.fit.forward import levels_of
from littoral.tank.fit.kept_tank import KeptTank, Stretches, stretches
from littoral.tank.fit.layout import Layout, layout_of, log_bias, tank_draws
from littoral.tank.fit.likelihood import log_likelihood
from littoral.tank.fit.methods import FitError, Method, Reading
from littoral.tank.fit.priors import Priors
from littoral.tank.fit.sampler import WALKERS, Mixing, draw_posterior

Pooling = Literal["each tank alone", "within arms", "across arms"]


@dataclass(frozen=True, slots=True, eq=False)
class NutrientFit:
    """Draws of one nutrient of the tanks of one group: z, shape (n_draws, columns of `layout`), equally weighted."""

    layout: Layout
    readings: tuple[Reading, ...]
    z: FloatArray
    mixing: Mixing


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """All fits. `seed` continues the draws' uptake after the last reading, so forecasts of one posterior compare.

    `repeated`: readings noted more than once, which count as one.
    """

    fits: tuple[NutrientFit, ...]
    priors: Priors
    pooling: Pooling
    seed: int
    repeated: tuple[Reading, ...]

    def of(self, tank: str, nutrient: str) -> NutrientFit:
        """Return the fit that holds a tank's nutrient. Raises FitError where there is none."""
        for fit in self.fits:
            if fit.layout.nutrient == nutrient and any(one.key == tank for one in fit.layout.tanks):
                return fit
        known = sorted({f"{one.key} {fit.layout.nutrient}" for fit in self.fits for one in fit.layout.tanks})
        raise FitError([f"No fit of {nutrient} in {tank}. There are: {', '.join(known)}."])

    @property
    def settled(self) -> bool:
        """Return whether every fit converged."""
        return all(fit.mixing.settled for fit in self.fits)


def fit_levels(
    tanks: Sequence[KeptTank],
    readings: Iterable[Reading],
    priors: Priors,
    rng: np.random.Generator,
    *,
    pooling: Pooling = "across arms",
    nutrients: Sequence[str] | None = None,
    walkers: int = WALKERS,
) -> Posterior:
    """Fit every nutrient that was read (or those asked for: without readings the prior comes back) in every tank.

    Pooling: "each tank alone"; "within arms", where tanks of an arm share source, release, half level and kit bias, and
    their uptakes are drawn to each other; "across arms", where all tanks share those and arms differ in uptake.
    `rng` decides everything: the same state gives the same posterior. `walkers`: fewer are faster and settle later.
    Raises FitError that lists all readings that cannot be, and BalanceError for events that cannot.
    """
    given = tuple(readings)
    faults = list(reading_faults(tanks, given, priors))
    if faults:
        raise FitError(faults)
    wanted = tuple(dict.fromkeys(reading.nutrient for reading in given)) if nutrients is None else tuple(nutrients)
    fits = [
        fit_nutrient(nutrient, group, readings_of(given, nutrient, group), priors, rng, walkers=walkers)
        for nutrient in wanted
        for group in groups_of(tanks, pooling)
    ]
    return Posterior(tuple(fits), priors, pooling, int(rng.integers(2**63)), repeated_in(given))


def fit_nutrient(
    nutrient: str,
    tanks: Sequence[KeptTank],
    readings: Sequence[Reading],
    priors: Priors,
    rng: np.random.Generator,
    *,
    walkers: int = WALKERS,
) -> NutrientFit:
    """Fit one nutrient of tanks that share what they share."""
    layout = layout_for(nutrient, tanks, readings, priors)
    density = likelihood_of(layout, readings)
    z, mixing = draw_posterior(density, len(layout.columns), rng, walkers=walkers)
    return NutrientFit(layout, tuple(readings), z, mixing)


def likelihood_of(layout: Layout, readings: Sequence[Reading]) -> Callable[[FloatArray], FloatArray]:
    """Return the log likelihood as a function of z: (n, columns) to (n,). What depends on no draw is prepared once."""
    prepared: list[tuple[str, Stretches, list[tuple[Method, list[Reading], FloatArray, list[int]]]]] = []
    for tank in layout.tanks:
        ours = [reading for reading in readings if reading.tank == tank.key]
        if not ours:
            continue
        weights = np.array(reading_weights(ours))
        by_method = []
        for key in dict.fromkeys(reading.method for reading in ours):
            rows = [i for i, reading in enumerate(ours) if reading.method == key]
            by_method.append((layout.priors.methods[key], [ours[i] for i in rows], weights[rows], rows))
        prepared.append((tank.key, stretches(tank.course(layout.nutrient), [r.day for r in ours]), by_method))

    def density(z: FloatArray) -> FloatArray:
        total = np.zeros(len(z))
        for key, pieces, by_method in prepared:
            level = levels_of(pieces, tank_draws(layout, z, key, pieces))
            for method, ours, weight, rows in by_method:
                total += log_likelihood(method, ours, weight, level[:, rows], log_bias(layout, z, method.key))
        return total

    return density


def reading_weights(readings: Sequence[Reading]) -> list[float]:
    """Return 1 for each reading, or 1/k where the same result of the same minute is noted k times: it is one test."""
    counts: dict[tuple[object, ...], int] = {}
    for reading in readings:
        counts[_same(reading)] = counts.get(_same(reading), 0) + 1
    return [1.0 / counts[_same(reading)] for reading in readings]


def reading_faults(tanks: Sequence[KeptTank], readings: Iterable[Reading], priors: Priors) -> Iterable[str]:
    """Yield what is wrong with readings, each with what would be right."""
    known: Mapping[str, KeptTank] = {tank.key: tank for tank in tanks}
    for reading in readings:
        name = reading.name or f"the {reading.nutrient} reading of day {reading.day:g} in {reading.tank}"
        low, high = reading.low_mg_per_l, reading.high_mg_per_l
        method = priors.methods.get(reading.method)
        if reading.tank not in known:
            yield f"{name}: no such tank. Tanks are {', '.join(known)}."
        elif not reading.day >= known[reading.tank].start_day or not np.isfinite(reading.day):
            yield f"{name}: before the record begins. It begins at day {known[reading.tank].start_day:g}."
        if not (0 <= low <= high) or low == np.inf:
            yield f"{name}: from {low:g} to {high:g} mg/L. Give a range from 0 up, low first."
        elif low == high and method is not None and method.kind == "steps":
            yield f"{name}: a colour step is a range, not {low:g} mg/L. Give the borders of the step."
        if method is None:
            yield f"{name}: no method {reading.method!r}. Methods are {', '.join(priors.methods)}."


def _same(reading: Reading) -> tuple[object, ...]:
    minute = round(reading.day * 1440)
    return (reading.tank, reading.nutrient, minute, reading.method, reading.low_mg_per_l, reading.high_mg_per_l)


def groups_of(tanks: Sequence[KeptTank], pooling: Pooling) -> tuple[tuple[KeptTank, ...], ...]:
    """Return the groups of tanks that are fitted together, in the tanks' order."""
    groups: dict[str, list[KeptTank]] = {}
    for tank in tanks:
        shared = {"across arms": "", "within arms": tank.arm, "each tank alone": tank.key}[pooling]
        groups.setdefault(shared, []).append(tank)
    return tuple(tuple(group) for group in groups.values())


def readings_of(readings: Iterable[Reading], nutrient: str, tanks: Sequence[KeptTank]) -> tuple[Reading, ...]:
    """Return the readings of one nutrient in some tanks."""
    keys = {tank.key for tank in tanks}
    return tuple(one for one in readings if one.nutrient == nutrient and one.tank in keys)


def repeated_in(readings: Sequence[Reading]) -> tuple[Reading, ...]:
    """Return the readings that are noted more than once, which count as one."""
    return tuple(one for one, share in zip(readings, reading_weights(readings), strict=True) if share < 1.0)


def layout_for(nutrient: str, tanks: Sequence[KeptTank], readings: Sequence[Reading], priors: Priors) -> Layout:
    """Return what is unknown of one nutrient in tanks that share what they share, given the readings it is fitted to.

    Raises FitError for a nutrient without priors.
    """
    if nutrient not in priors.nutrients:
        raise FitError([f"No priors for {nutrient}. There are some for {', '.join(priors.nutrients)}; give your own."])
    methods = tuple(dict.fromkeys(reading.method for reading in readings))
    last = [max([tank.start_day + 7.0, *(r.day for r in readings if r.tank == tank.key)]) for tank in tanks]
    fitted = [end - tank.start_day for end, tank in zip(last, tanks, strict=True)]
    return layout_of(nutrient, tanks, methods, priors, fitted)
