"""What each tank was really fed: weekly totals in mg/L, and beside it what the labels recommend."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from littoral.chemistry.nutrients import element_view
from littoral.feeding.adds import dose_adds_mg, label_recommends_ml_per_week
from littoral.feeding.label_words import factor_words
from littoral.findings.doses import GivenDose, doses_given, observed_days
from littoral.logbook.book import Logbook
from littoral.tank.volume import net_volume_l
from littoral.trial.model import Trial

DAYS_PER_WEEK = 7


@dataclass(frozen=True, slots=True)
class BottleUse:
    """One bottle in one tank, per week since the regimes began: mL or g given, and mL that its label recommends.

    `factor` is the first over the second; `words` says it, such as "half of what the label recommends (0.50 times)".
    """

    bottle: str
    ml_per_week: float
    g_per_week: float
    recommended_ml_per_week: float | None
    factor: float | None
    words: str


@dataclass(frozen=True, slots=True)
class TankFeeding:
    """What one tank was fed. `week_mg_per_l` has one mapping per week of the trial (the last may be short).

    `mean_mg_per_l` and `mean_element_mg_per_l` are per week since the regimes began, over `weeks` weeks: of each
    nutrient as the ion it is named for, and of each element. `as_planned` is True where no dose was noted as given.
    """

    arm: str
    tank: str
    net_volume_l: float
    weeks: float
    week_mg_per_l: tuple[Mapping[str, float], ...]
    mean_mg_per_l: Mapping[str, float]
    mean_element_mg_per_l: Mapping[str, float]
    bottles: tuple[BottleUse, ...]
    as_planned: bool


def feeding_of(book: Logbook, trial: Trial) -> dict[str, TankFeeding]:
    """Return what each tank with known water was fed, keyed by tank; empty before the first day is over.

    Raises DoseError for a dose of a bottle that cannot give it.
    """
    entries = book.entries(trial.key)
    days = observed_days(trial, entries)
    found: dict[str, TankFeeding] = {}
    for arm in trial.arms:
        for tank in arm.tanks:
            vessel = trial.tanks[tank].vessel
            if vessel is not None and days > trial.baseline_days:
                doses = doses_given(trial, entries, tank, to_day=days)
                found[tank] = _fed(trial, arm.key, tank, doses, days=days, volume_l=net_volume_l(vessel))
    return found


def _fed(trial: Trial, arm: str, tank: str, doses: tuple[GivenDose, ...], *, days: int, volume_l: float) -> TankFeeding:
    per_week: list[dict[str, float]] = [{} for _ in range(math.ceil(days / DAYS_PER_WEEK))]
    later: dict[str, float] = {}
    weeks = (days - trial.baseline_days) / DAYS_PER_WEEK
    for dose in doses:
        for nutrient, mg in dose_adds_mg(trial.bottles[dose.of], ml=dose.ml, g=dose.g).items():
            week = per_week[int(dose.day) // DAYS_PER_WEEK]
            week[nutrient] = week.get(nutrient, 0.0) + mg / volume_l
            if dose.day >= trial.baseline_days:
                later[nutrient] = later.get(nutrient, 0.0) + mg / volume_l / weeks
    return TankFeeding(
        arm=arm,
        tank=tank,
        net_volume_l=volume_l,
        weeks=weeks,
        week_mg_per_l=tuple(per_week),
        mean_mg_per_l=later,
        mean_element_mg_per_l=element_view(later),
        bottles=tuple(_use(trial, key, doses, weeks=weeks, volume_l=volume_l) for key in trial.bottles),
        as_planned=bool(doses) and all(dose.entry_id is None for dose in doses),
    )


def _use(trial: Trial, key: str, doses: tuple[GivenDose, ...], *, weeks: float, volume_l: float) -> BottleUse:
    mine = [dose for dose in doses if dose.of == key and dose.day >= trial.baseline_days]
    ml = math.fsum(dose.ml or 0.0 for dose in mine) / weeks
    g = math.fsum(dose.g or 0.0 for dose in mine) / weeks
    recommended = label_recommends_ml_per_week(trial.bottles[key], net_volume_l=volume_l)
    factor = ml / recommended if recommended else None
    words = factor_words(factor) if factor is not None else "no recommended dose is known"
    return BottleUse(key, ml, g, recommended, factor, words)
