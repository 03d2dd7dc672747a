"""The periods of a crossover: when each begins, from when on it is measured, and how long what was dosed lingers."""

from __future__ import annotations

import math
from dataclasses import dataclass

from littoral.feeding.adds import dose_adds_mg
from littoral.feeding.calendar import planned
from littoral.feeding.regimes import PlannedChange, Regime
from littoral.trial.model import Arm, Tank, Trial


@dataclass(frozen=True, slots=True)
class Period:
    """One period, days since day 0, half-open: counted from `measured_from` (after the washout) up to `to_day`."""

    number: int
    from_day: float
    measured_from: float
    to_day: float
    swapped: bool


def periods_of(trial: Trial) -> tuple[Period, ...]:
    """Return the periods of a crossover in order, from the end of the baseline on; none for any other trial."""
    plan = trial.plan
    found = []
    for place, swapped in enumerate(plan.swapped):
        begin = trial.baseline_days + place * plan.period_days
        found.append(Period(place + 1, begin, begin + plan.washout_days, begin + plan.period_days, swapped))
    return tuple(found)


def arm_on(trial: Trial, tank: str, day: float) -> Arm:
    """Return the arm whose regime a tank has on a day since the regimes began; before that, the one it begins in.

    KeyError names a tank in no arm.
    """
    home = trial.arm_of(tank)
    plan = trial.plan
    if plan.kind != "crossover" or home not in trial.arms[:2]:
        return home
    place = math.floor((max(day, trial.baseline_days) - trial.baseline_days) / plan.period_days)
    if not plan.swapped[min(place, len(plan.swapped) - 1)]:
        return home
    return trial.arms[1] if home == trial.arms[0] else trial.arms[0]


def days_in(trial: Trial, tank: str, arm: str, *, to_day: int) -> int:
    """Return on how many whole days since the regimes began, and before `to_day`, a tank had an arm's regime."""
    first = math.ceil(trial.baseline_days)
    return sum(arm_on(trial, tank, day).key == arm for day in range(first, to_day))


def tanks_of(trial: Trial, arm: Arm) -> tuple[str, ...]:
    """Return the tanks that ever have an arm's regime: its own, and in a crossover those that it swaps with."""
    if trial.plan.kind != "crossover" or arm not in trial.arms[:2]:
        return arm.tanks
    return (*trial.arms[0].tanks, *trial.arms[1].tanks)


def pairs_of(trial: Trial) -> tuple[tuple[str, str], ...]:
    """Return the pairs (first arm's tank, second arm's): as written; else, in a crossover, in the arms' order."""
    if trial.plan.pairs:
        return trial.plan.pairs
    if trial.plan.kind == "crossover":
        return tuple(zip(trial.arms[0].tanks, trial.arms[1].tanks, strict=False))
    return ()


def half_life_days(trial: Trial) -> float:
    """Return how many days the slowest of what the arms dose takes to fall by half; NaN where that is not known.

    As written in the design; else from the planned water changes and the stated uptake, of the slowest tank, regime and
    nutrient. What a plant has stored, or what grows on the glass, may linger longer.
    """
    if trial.plan.half_life_days is not None:
        return trial.plan.half_life_days
    regimes = [trial.regimes[arm.regime] for arm in trial.arms[:2] if arm.regime is not None]
    tanks = [trial.tanks[tank] for arm in trial.arms[:2] for tank in arm.tanks]
    rates = [_rate(trial, regime, tank) for regime in regimes for tank in tanks]
    slowest = min(rates, default=0.0)
    return math.log(2) / slowest if slowest > 0 else math.nan


def _rate(trial: Trial, regime: Regime, tank: Tank) -> float:
    """Return the share (1/day) at which the slowest nutrient that is dosed leaves a tank under a regime."""
    dosed = {
        nutrient
        for arm in trial.arms[:2]
        if arm.regime is not None
        for dose in trial.regimes[arm.regime].doses
        for nutrient, mg in dose_adds_mg(trial.bottles[dose.of], ml=dose.ml, g=dose.g).items()
        if mg > 0
    }
    begin, end = math.ceil(trial.baseline_days), math.floor(trial.length_days)
    shares = [
        act.share
        for _, act in planned(regime, start=trial.start, from_day=begin, to_day=end)
        if isinstance(act, PlannedChange)
    ]
    changed = math.inf if any(share >= 1 for share in shares) else -math.fsum(math.log1p(-share) for share in shares)
    uptake = min((tank.uptake_per_day.get(nutrient, 0.0) for nutrient in dosed), default=0.0)
    return changed / max(1, end - begin) + uptake


def washout_half_lives(trial: Trial) -> float:
    """Return how many half-lives each washout lasts; NaN where what lingers is not known, 0 without a washout."""
    return trial.plan.washout_days / half_life_days(trial) if trial.plan.washout_days else 0.0
