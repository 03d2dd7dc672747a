"""Estimate the levels of a trial: what is in the water now, in the days to come, and how sure that is."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import numpy as np

from littoral.errors import LittoralError
from littoral.findings.doses import observed_days
from littoral.findings.estimates.ahead import next_change, planned_ahead
from littoral.findings.estimates.alarms_ahead import alarms_ahead
from littoral.findings.estimates.days import JUST_BEFORE, days_to_draw
from littoral.findings.estimates.fitting import fitted
from littoral.findings.estimates.kept_tanks import Kept, kept_tanks
from littoral.findings.estimates.model import (
    Estimates,
    LevelEstimate,
    Narrowing,
    TestedLevel,
)
from littoral.findings.estimates.nitrifying import Nitrified
from littoral.findings.estimates.told_priors import priors_of
from littoral.findings.estimates.water_ahead import changes_by_conductivity
from littoral.findings.estimates.ways_to_test import next_way, with_way
from littoral.findings.measured import Measured
from littoral.logbook.book import Logbook
from littoral.progress import Progress
from littoral.tank.events import TankEvent
from littoral.tank.fit.fit import Posterior
from littoral.tank.fit.forecast import (
    Estimate,
    estimate,
    forecast,
    level_draws,
    net_removal,
    source_level,
)
from littoral.tank.fit.kept_tank import KeptTank
from littoral.tank.fit.next_test import Candidate, Worth, next_test
from littoral.tank.fit.priors import Priors, default_priors
from littoral.tank.fit.surprise import surprising
from littoral.tank.limiting import (
    Limiting,
    LimitingError,
    limits_by_stock,
    limits_by_uptake,
)
from littoral.trial.days import day_of
from littoral.trial.entries import Reading
from littoral.trial.model import Band, Trial

DAYS_AHEAD = 14
WEEKS_OF_NARROWING = (2, 4, 6)
TEST_WITHIN_DAYS = 7
SEED = 20260302


class NothingToEstimateError(LittoralError):
    """A trial has nothing from which a level could be estimated."""

    def __init__(self, why: str, right: str) -> None:
        self.why = why
        super().__init__(f"no level can be estimated: {why}. {right}")


def estimate_levels(
    book: Logbook,
    trial: Trial,
    *,
    now: datetime,
    measured: Measured | None = None,
    progress: Progress | None = None,
) -> Estimates:
    """Return the levels of a trial as known at `now` (aware), which is cut to the days on record for one that is over.

    `measured` photos say how the plants grew. Raises NothingToEstimateError; FitError and BalanceError where entries
    contradict each other.
    """
    entries = book.entries(trial.key)
    today = max(day_of(now, trial), 0.0)
    ended = today >= trial.length_days
    now_day = min(today, float(observed_days(trial, entries))) if ended else today
    known = tuple(default_priors({}).nutrients)
    kept = kept_tanks(trial, entries, known=known, measured=measured, now_day=now_day)
    _check(kept)
    priors = priors_of(trial, kept)
    posterior = fitted(book, kept, priors, progress=progress)
    to_day = now_day + DAYS_AHEAD
    surprises = {one.reading.name: one for one in surprising(posterior)}
    shown = {entry.id: entry.payload for entry in entries if isinstance(entry.payload, Reading)}
    levels = []
    for nutrient in kept.nutrients:
        for tank in kept.tanks:
            planned = planned_ahead(trial, tank, from_day=now_day, to_day=to_day, entries=entries)
            results = tuple(
                TestedLevel(
                    one.name, one.day, one.low_mg_per_l, one.high_mg_per_l, shown[one.name].shown,
                    shown[one.name].method, surprises[one.name],
                )
                for one in posterior.of(tank.key, nutrient).readings
                if one.tank == tank.key
            )  # fmt: skip
            band = trial.bands.get(nutrient, Band())
            levels.append(_level(posterior, tank, nutrient, now_day, to_day, planned, results, band))
    return Estimates(
        now_day=now_day,
        to_day=to_day,
        ended=ended,
        levels=tuple(levels),
        narrowing=_narrowing(book, kept, priors, progress),
        next_tests=_next_tests(trial, posterior, kept, now_day),
        alarms={
            tank.key: alarms_ahead(trial, posterior, kept, tank, now_day=now_day, to_day=to_day) for tank in kept.tanks
        },
        changes={tank.key: changes_by_conductivity(trial, entries, tank) for tank in kept.tanks},
        limiting={tank.key: _limiting(posterior, kept, tank, now_day) for tank in kept.tanks},
        kept=kept,
        posterior=posterior,
        remarks=(*kept.remarks, *(f"not used: {why}" for why in kept.unused)),
    )


def _check(kept: Kept) -> None:
    if not kept.tanks:
        raise NothingToEstimateError(
            "no tank's water is known",
            "Describe the glass of each tank in the trial file.",
        )
    if not kept.days:
        raise NothingToEstimateError("nothing was noted yet", "Note a dose, a water change or a reading first.")
    if not kept.nutrients:
        right = "Levels are followed of nutrients that are dosed or tested: name bottles, or note readings."
        raise NothingToEstimateError("no nutrient is fed or tested whose uptake is known", right)


def _level(
    posterior: Posterior,
    tank: KeptTank,
    nutrient: str,
    now_day: float,
    to_day: float,
    planned: Sequence[TankEvent],
    results: tuple[TestedLevel, ...],
    band: Band,
) -> LevelEstimate:
    events = (*tank.events, *planned)
    bands = forecast(
        posterior, tank=tank.key, nutrient=nutrient, days=days_to_draw(events, to_day=to_day), planned_events=planned,
        floor_mg_per_l=band.floor_mg_per_l, ceiling_mg_per_l=band.ceiling_mg_per_l, band_from_day=now_day,
    )  # fmt: skip
    last = max(
        (event.day for event in tank.events if event.share_changed > 0 and event.day <= now_day),
        default=None,
    )
    ahead = next_change(planned, after_day=now_day)

    def before(day: float | None) -> tuple[float, Estimate] | None:
        if day is None or day - JUST_BEFORE < 0:
            return None
        draws = level_draws(
            posterior,
            tank=tank.key,
            nutrient=nutrient,
            days=[day - JUST_BEFORE],
            planned_events=planned,
        )
        return day, estimate(draws[:, 0])

    row = tank.nutrients.index(nutrient)
    return LevelEstimate(
        tank=tank.key,
        nutrient=nutrient,
        bands=bands,
        now=estimate(level_draws(posterior, tank=tank.key, nutrient=nutrient, days=[now_day])[:, 0]),
        before_change=before(last),
        before_next=before(ahead),
        net_removal=net_removal(posterior, tank=tank.key, nutrient=nutrient, day=now_day),
        source=source_level(posterior, tank=tank.key, nutrient=nutrient),
        band=band,
        doses=tuple(
            (event.day, float(event.adds_mg[row]) / tank.net_volume_l)
            for event in events
            if event.adds_mg is not None and event.adds_mg[row] > 0 and not isinstance(event, Nitrified)
        ),
        change_days=tuple(event.day for event in events if event.share_changed > 0),
        results=results,
        without_readings=not results,
    )


def _narrowing(book: Logbook, kept: Kept, priors: Priors, progress: Progress | None) -> tuple[Narrowing, ...]:
    """Return what was known of each tested level just before a change, at the end of the 2nd, 4th and 6th week."""
    found: dict[tuple[str, str], list[tuple[int, float, Estimate]]] = {}
    for week in WEEKS_OF_NARROWING:
        end = 7.0 * week
        if end > kept.days:
            break
        posterior = fitted(book, kept, priors, to_day=end, progress=progress)
        for tank in kept.tanks:
            day = max(
                (event.day for event in tank.events if event.share_changed > 0 and event.day < end),
                default=None,
            )
            if day is None or day < JUST_BEFORE:
                continue
            for nutrient in kept.nutrients:
                if any(one.tank == tank.key and one.nutrient == nutrient for one in kept.readings):
                    draws = level_draws(
                        posterior,
                        tank=tank.key,
                        nutrient=nutrient,
                        days=[day - JUST_BEFORE],
                    )
                    found.setdefault((tank.key, nutrient), []).append((week, day, estimate(draws[:, 0])))
    return tuple(
        Narrowing(tank, nutrient, *(tuple(column) for column in zip(*rows, strict=True)))
        for (tank, nutrient), rows in found.items()
    )


def _next_tests(trial: Trial, posterior: Posterior, kept: Kept, now_day: float) -> tuple[Worth, ...]:
    """Return what a test would be worth for the level before the next change, on its best day; best test first.

    Where no change is planned within a week, for the level in a week.
    """
    rng = np.random.default_rng(SEED)
    worths: list[Worth] = []
    for tank in kept.tanks:
        planned = planned_ahead(
            trial, tank, from_day=now_day, to_day=now_day + TEST_WITHIN_DAYS + 1, entries=kept.entries
        )
        change = next_change(planned, after_day=now_day)
        at_day = (change - JUST_BEFORE) if change is not None else now_day + TEST_WITHIN_DAYS
        days = sorted({float(day) for day in np.arange(now_day, at_day, 1.0)} | {at_day})
        for nutrient in kept.nutrients:
            way = next_way(kept.ways, nutrient)
            if way is None:
                continue
            ready = with_way(posterior, way)
            candidates = [Candidate(tank.key, nutrient, day, way.method.key) for day in days]
            worths.append(next_test(ready, candidates, rng, at_day=at_day, planned_events=planned)[0])
    return tuple(sorted(worths, key=lambda worth: -worth.narrowed))


def _limiting(posterior: Posterior, kept: Kept, tank: KeptTank, now_day: float) -> tuple[Limiting, ...]:
    """Return what is scarcest by uptake and by stock; nothing where fewer than two elements are followed."""
    levels = {
        nutrient: level_draws(posterior, tank=tank.key, nutrient=nutrient, days=[now_day])[:, 0]
        for nutrient in kept.nutrients
    }
    try:
        rng = np.random.default_rng(SEED)
        return limits_by_uptake(levels, rng=rng), limits_by_stock(levels, rng=rng)
    except LimitingError:
        return ()
