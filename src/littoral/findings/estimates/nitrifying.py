"""Ammonium and urea that a tank is dosed with: how much of both is left, and the nitrate that they turn into.

Their rates in a planted tank are hardly known, so they are drawn wide. In the middle of the draws urea goes in a day
and ammonium in half a day, two thirds of it to nitrate, the rest into plants: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from littoral.stats.series import FloatArray
from littoral.tank.course import prepare
from littoral.tank.events import TankEvent
from littoral.tank.fit.kept_tank import KeptTank
from littoral.tank.nitrogen import Nitrogen, NitrogenRates, nitrogen

MEDIAN_PER_DAY = {"hydrolysis_per_day": 1.0, "nitrification_per_day": 1.35, "uptake_per_day": 0.65}
"""Middle of each rate, 1/day; common practice, no source."""
LOG_SD = 0.7
"""Standard deviation of the natural logarithm of each rate: two tanks in three within a factor of 2."""
FORMS = ("urea", "ammonium")


def brings_reduced_nitrogen(tank: KeptTank, events: Sequence[TankEvent]) -> bool:
    """Return whether any dose holds urea or ammonium."""
    rows = [tank.nutrients.index(form) for form in FORMS if form in tank.nutrients]
    return any(event.adds_mg is not None and event.adds_mg[rows].any() for event in events)


@dataclass(frozen=True, slots=True, eq=False)
class Nitrified(TankEvent):
    """Nitrate that came of ammonium within a day: added at its end, but no dose of the keeper's."""


def nitrified_events(
    tank: KeptTank, events: Sequence[TankEvent], *, from_day: float, to_day: float
) -> tuple[Nitrified, ...]:
    """Return the nitrate that doses of urea and ammonium turn into, for each whole day from `from_day` to `to_day`.

    By the middle rates: the spread of the fit's dose factor has to carry the rest. Nothing where no dose holds these
    forms, or nitrate is not followed.
    """
    if "nitrate" not in tank.nutrients or not brings_reduced_nitrogen(tank, events):
        return ()
    chain = _chain(tank, events, NitrogenRates(**MEDIAN_PER_DAY))
    row = tank.nutrients.index("nitrate")
    ends = np.arange(np.floor(from_day) + 1, np.floor(to_day) + 1)
    cuts = np.unique(np.concatenate([chain.course.day, [max(from_day, tank.start_day)], ends]))
    found, since = [], 0.0
    for start, end in pairwise(cuts):
        segment = int(np.searchsorted(chain.course.day, start, side="right")) - 1
        nitrified = chain.masses(segment, np.array([start, end]))[2][:, 0]
        since += float(nitrified[1] - nitrified[0]) if start >= from_day else 0.0
        if end in ends and since > 0:
            adds = np.zeros(len(tank.nutrients))
            adds[row] = since
            found.append(Nitrified(float(end), adds_mg=adds))
            since = 0.0
    return tuple(found)


def ammonium_ahead(
    tank: KeptTank, events: Sequence[TankEvent], *, days: FloatArray, draws: int, rng: np.random.Generator
) -> FloatArray:
    """Return levels of ammonium, mg/L of NH4, shape (draws, n_days), with rates drawn; urea has had its time to turn.

    `days` ascend from the tank's first day on.
    """
    spread = {key: middle * np.exp(LOG_SD * rng.standard_normal(draws)) for key, middle in MEDIAN_PER_DAY.items()}
    chain = _chain(tank, events, NitrogenRates(**spread))
    level = np.empty((draws, days.size))
    for at, day in enumerate(days):
        segment = int(np.searchsorted(chain.course.day, day, side="right")) - 1
        ammonium = chain.masses(segment, np.array([day]))[1][0]
        level[:, at] = ammonium / chain.course.litres(segment, np.array([day]))[0]
    return level


def _chain(tank: KeptTank, events: Sequence[TankEvent], rates: NitrogenRates) -> Nitrogen:
    courses = {
        form: prepare(
            events,
            net_volume_l=tank.net_volume_l,
            evaporation_l_per_day=tank.evaporation_l_per_day,
            topped_up_with=tank.topped_up_with,
            start_day=tank.start_day,
            nutrient=tank.nutrients.index(form),
            nutrients=len(tank.nutrients),
        )
        for form in FORMS
        if form in tank.nutrients
    }
    course = next(iter(courses.values()))
    none = np.zeros(course.day.size)
    doses = {form: courses[form].dose_mg if form in courses else none for form in FORMS}
    return nitrogen(course, rates, urea_dose_mg=doses["urea"], ammonium_dose_mg=doses["ammonium"])
