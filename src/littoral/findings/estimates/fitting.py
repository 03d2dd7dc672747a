"""The fit of a trial's levels: done once, and kept in the logbook's cache until something that it hangs on changes."""

from __future__ import annotations

import hashlib
import io
import json
import zlib
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass, replace
from zipfile import BadZipFile

import numpy as np

from littoral.findings.estimates.kept_tanks import Kept
from littoral.findings.estimates.nitrifying import nitrified_events
from littoral.logbook.book import Logbook
from littoral.progress import Progress
from littoral.tank.fit.fit import (
    NutrientFit,
    Pooling,
    Posterior,
    fit_nutrient,
    reading_faults,
    reading_weights,
)
from littoral.tank.fit.kept_tank import KeptTank
from littoral.tank.fit.layout import layout_of
from littoral.tank.fit.methods import FitError, Reading
from littoral.tank.fit.priors import LogNormal, Priors, default_priors, with_prior
from littoral.tank.fit.sampler import Mixing
from littoral.trial.model import Trial

MINUTE = 1 / 1440
"""Events of one minute count together (`tank.events.by_minute`), so those of a reading's own minute bear on it."""
FIT_VERSION = "1"
"""Raised whenever fitted numbers change, so that no older fit is taken from the cache."""
SEED = 20260301
LEAST_SAID_MG_PER_L = 0.01
"""A level written as 0 means below what a report tells apart; a log-normal needs something."""
SAID_LOG_SD = 0.15
SAID = "as the trial file says, give or take 15 in 100 (common practice, no source)"
"""What is written down for the source water and for day 0 is believed, but not to the digit."""


@dataclass(frozen=True, slots=True)
class _Part:
    """One nutrient of tanks that share what they share: a fit of its own."""

    nutrient: str
    tanks: tuple[KeptTank, ...]
    readings: tuple[Reading, ...]


def priors_of(trial: Trial, kept: Kept) -> Priors:
    """Return the priors with what the trial file says of source water and of the levels on day 0."""
    priors = default_priors({key: way.method for key, way in kept.ways.items()})
    known = [key for key in kept.nutrients if key in priors.nutrients]
    for key in known:
        if trial.source is not None and key in trial.source.level_mg_per_l:
            priors = with_prior(priors, key, "source", _said(trial.source.level_mg_per_l[key]))
    starts = {}
    for tank in kept.tanks:
        for key in known:
            said = trial.tanks[tank.key].start_level_mg_per_l.get(key)
            if said is not None:
                starts[tank.key, key] = _said(said)
            elif trial.source is not None and key in trial.source.level_mg_per_l:
                # nothing is said of day 0: near the source water, where a tank that was just filled is; one that ran
                # before says its `start_levels`, and the page asks for them
                near = max(trial.source.level_mg_per_l[key], LEAST_SAID_MG_PER_L)
                starts[tank.key, key] = LogNormal(near, 0.7, "near the source water; common practice, no source")
    return replace(priors, start_of_tank=starts)


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
    parts = [
        _Part(
            nutrient,
            group,
            tuple(one for one in readings if one.nutrient == nutrient and _of(one, group)),
        )
        for nutrient in kept.nutrients
        for group in _groups(tanks, pooling)
    ]
    fits = []
    for done, part in enumerate(parts):
        if progress is not None:
            progress(done, len(parts), f"fitting {part.nutrient}")
        fits.append(_kept_fit(book, part, priors))
    repeated = tuple(one for one, share in zip(readings, reading_weights(readings), strict=True) if share < 1.0)
    return Posterior(tuple(fits), priors, pooling, SEED, repeated)


def _kept_fit(book: Logbook, part: _Part, priors: Priors) -> NutrientFit:
    name = f"{_hash_of(part, priors)}.npz"
    path = book.cache_path("levels", name)
    methods = tuple(dict.fromkeys(reading.method for reading in part.readings))
    last = [
        max(
            [
                tank.start_day + 7.0,
                *(r.day for r in part.readings if r.tank == tank.key),
            ]
        )
        for tank in part.tanks
    ]
    days = [end - tank.start_day for end, tank in zip(last, part.tanks, strict=True)]
    layout = layout_of(part.nutrient, part.tanks, methods, priors, days)
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
            return NutrientFit(layout, part.readings, z, mixing)
    except (OSError, EOFError, BadZipFile, zlib.error, NotImplementedError, ValueError, KeyError, TypeError):
        pass  # nothing there, or not whole: it is worked out anew
    fit = fit_nutrient(part.nutrient, part.tanks, part.readings, priors, np.random.default_rng(SEED))
    plain = asdict(fit.mixing)
    powers = plain.pop("powers")
    data = io.BytesIO()
    np.savez_compressed(data, z=fit.z, powers=np.array(powers), mixing=np.array(json.dumps(plain)))
    book.keep_cached("levels", name, data.getvalue())
    return fit


def _hash_of(part: _Part, priors: Priors) -> str:
    """Return a name that changes with anything that the fit hangs on: nothing done after a tank's last reading does."""
    said: list[object] = [
        FIT_VERSION,
        SEED,
        part.nutrient,
        asdict(priors.nutrients[part.nutrient]),
    ]
    said += [priors.dose.log_sd, priors.change.log_sd, priors.drift_per_week.log_sd]
    said += [priors.between_tanks.log_sd, priors.between_arms.log_sd]
    said += [[asdict(one), asdict(priors.methods[one.method])] for one in part.readings]
    for tank in part.tanks:
        row = tank.nutrients.index(part.nutrient)
        start = priors.start_of_tank.get((tank.key, part.nutrient))
        events = [
            [
                event.day,
                0.0 if event.adds_mg is None else float(event.adds_mg[row]),
                event.share_changed,
                event.topped_up_l,
            ]
            for event in tank.events
            if event.day <= max((one.day for one in part.readings if one.tank == tank.key), default=-1.0) + MINUTE
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


def _said(level_mg_per_l: float) -> LogNormal:
    log_sd = SAID_LOG_SD if level_mg_per_l >= LEAST_SAID_MG_PER_L else 1.0
    return LogNormal(max(level_mg_per_l, LEAST_SAID_MG_PER_L), log_sd, SAID)


def _with_nitrified(tank: KeptTank, days: float) -> KeptTank:
    turned = nitrified_events(tank, tank.events, from_day=tank.start_day, to_day=days)
    return tank.with_events((*tank.events, *turned)) if turned else tank


def _of(reading: Reading, group: Sequence[KeptTank]) -> bool:
    return any(tank.key == reading.tank for tank in group)


def _groups(tanks: Sequence[KeptTank], pooling: Pooling) -> list[tuple[KeptTank, ...]]:
    keys: dict[Pooling, Callable[[KeptTank], str]] = {
        "across arms": lambda _tank: "",
        "within arms": lambda tank: tank.arm,
        "each tank alone": lambda tank: tank.key,
    }
    groups: dict[str, list[KeptTank]] = {}
    for tank in tanks:
        groups.setdefault(keys[pooling](tank), []).append(tank)
    return [tuple(group) for group in groups.values()]
