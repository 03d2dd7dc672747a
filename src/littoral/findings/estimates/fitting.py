"""The fit of a trial's levels: done once, and kept in the logbook's cache until something that it hangs on changes."""

from __future__ import annotations

import hashlib
import io
import json
import zlib
from collections.abc import Sequence
from dataclasses import asdict, replace
from zipfile import BadZipFile

import numpy as np

from littoral.findings.estimates.kept_tanks import Kept
from littoral.findings.estimates.nitrifying import nitrified_events
from littoral.logbook.book import Logbook
from littoral.progress import Progress
from littoral.speech.say import say
from littoral.tank.fit.fit import (
    NutrientFit,
    Pooling,
    Posterior,
    fit_nutrient,
    groups_of,
    layout_for,
    reading_faults,
    readings_of,
    repeated_in,
)
from littoral.tank.fit.kept_tank import KeptTank
from littoral.tank.fit.methods import FitError, Reading
from littoral.tank.fit.priors import Priors
from littoral.tank.fit.sampler import Mixing

MINUTE = 1 / 1440
"""Events of one minute count together (`tank.events.by_minute`), so those of a reading's own minute bear on it."""
FIT_VERSION = "1"
"""Raised whenever fitted numbers change, so that no older fit is taken from the cache."""
SEED = 20260301


def fitted(
    book: Logbook,
    kept: Kept,
    priors: Priors,
    *,
    pooling: Pooling = "across arms",
    to_day: float | None = None,
    progress: Progress | None = None,
) -> Posterior:
    """Return the posterior of every nutrient of `kept`, from the cache where it is there.

    `to_day` leaves out later readings: what was known then. `progress` counts fits. Raises FitError for readings that
    cannot be.
    """
    readings = tuple(one for one in kept.readings if to_day is None or one.day < to_day)
    faults = list(reading_faults(kept.tanks, readings, priors))
    if faults:
        raise FitError(faults)
    tanks = [_with_nitrified(tank, kept.until_day) for tank in kept.tanks]
    parts = [(nutrient, group) for nutrient in kept.nutrients for group in groups_of(tanks, pooling)]
    fits = []
    for done, (nutrient, group) in enumerate(parts):
        if progress is not None:
            progress(done, len(parts), say("fitting {nutrient}", nutrient=nutrient))
        fits.append(_kept_fit(book, nutrient, group, readings_of(readings, nutrient, group), priors))
    return Posterior(tuple(fits), priors, pooling, SEED, repeated_in(readings))


def _kept_fit(
    book: Logbook, nutrient: str, tanks: Sequence[KeptTank], readings: tuple[Reading, ...], priors: Priors
) -> NutrientFit:
    layout = layout_for(nutrient, tanks, readings, priors)
    name = f"{_hash_of(nutrient, tanks, readings, priors)}.npz"
    path = book.cache_path("levels", name)
    try:
        with np.load(io.BytesIO(path.read_bytes()), allow_pickle=False) as file:
            mixing = Mixing(
                **{
                    **json.loads(str(file["mixing"])),
                    "powers": tuple(file["powers"].tolist()),
                }
            )
            z = file["z"]
        if z.ndim == 2 and z.shape[1] == len(layout.columns):
            return NutrientFit(layout, readings, z, mixing)
    except (OSError, EOFError, BadZipFile, zlib.error, NotImplementedError, ValueError, KeyError, TypeError):
        pass  # nothing there, or not whole: it is worked out anew
    fit = fit_nutrient(nutrient, tanks, readings, priors, np.random.default_rng(SEED))
    plain = asdict(fit.mixing)
    powers = plain.pop("powers")
    data = io.BytesIO()
    np.savez_compressed(data, z=fit.z, powers=np.array(powers), mixing=np.array(json.dumps(plain)))
    book.keep_cached("levels", name, data.getvalue())
    return fit


def _hash_of(nutrient: str, tanks: Sequence[KeptTank], readings: Sequence[Reading], priors: Priors) -> str:
    """Return a name that changes with anything that the fit hangs on: nothing done after a tank's last reading does."""
    said: list[object] = [
        FIT_VERSION,
        SEED,
        nutrient,
        asdict(priors.nutrients[nutrient]),
    ]
    said += [priors.dose.log_sd, priors.change.log_sd, priors.drift_per_week.log_sd]
    said += [priors.between_tanks.log_sd, priors.between_arms.log_sd]
    said += [[asdict(one), asdict(priors.methods[one.method])] for one in readings]
    for tank in tanks:
        row = tank.nutrients.index(nutrient)
        start = priors.start_of_tank.get((tank.key, nutrient))
        events = [
            [
                event.day,
                0.0 if event.adds_mg is None else float(event.adds_mg[row]),
                event.share_changed,
                event.topped_up_l,
            ]
            for event in tank.events
            if event.day <= max((one.day for one in readings if one.tank == tank.key), default=-1.0) + MINUTE
        ]
        grown = (
            []
            if tank.biomass is None or tank.biomass_day is None
            else [tank.biomass_day.tolist(), tank.biomass.tolist()]
        )
        said.append([tank.key, tank.arm, tank.net_volume_l, tank.evaporation_l_per_day, tank.topped_up_with,
                     tank.start_day, events, grown, None if start is None else asdict(start)])  # fmt: skip
    return hashlib.sha256(json.dumps(said, default=str).encode()).hexdigest()[:24]


def thinned(posterior: Posterior, draws: int) -> Posterior:
    """Return a posterior of fewer draws, evenly taken, for answers that must come at once."""

    def fewer(fit: NutrientFit) -> NutrientFit:
        rows = np.linspace(0, len(fit.z) - 1, min(draws, len(fit.z))).astype(int)
        return replace(fit, z=fit.z[rows])

    return replace(posterior, fits=tuple(fewer(fit) for fit in posterior.fits))


def _with_nitrified(tank: KeptTank, days: float) -> KeptTank:
    turned = nitrified_events(tank, tank.events, from_day=tank.start_day, to_day=days)
    return tank.with_events((*tank.events, *turned)) if turned else tank
