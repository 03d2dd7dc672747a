"""Questions answered by what was written down: minutes of care, trimmed mass, cost of feeding."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from littoral.feeding.cost import ArmCost
from littoral.findings.compared import Compared
from littoral.findings.costs import arm_cost, arm_doses
from littoral.findings.doses import dose_remarks, observed_days
from littoral.findings.model import ArmValue
from littoral.findings.showing import named, sentence, unit_of
from littoral.stats.estimate import Estimate
from littoral.stats.series import Series
from littoral.trial.days import day_of
from littoral.trial.entries import Care, Entry, Trim, by_tank
from littoral.trial.model import Arm, Question, Trial
from littoral.trial.periods import arm_on, days_in, tanks_of

METHOD = {
    "care minutes": "Minutes of care and of trims noted since the regimes began, divided by the weeks seen.",
    "trimmed mass": "Wet mass of trimmings noted since the regimes began, divided by the weeks seen.",
    "cost": "Doses really given since the regimes began, at the price of the packs they came from, divided by the "
    "weeks seen. What spoils or is left over is not counted; the water of a stock solution is free.",
}
BY_THE_DAY = "what was noted on a day counts for the regime of that day, though it may come of the one before"


@dataclass(frozen=True, slots=True)
class Noted:
    """One amount that an entry notes (minutes or g), on a day; `entry_id` says where."""

    day: float
    amount: float
    entry_id: str


def compare_entries(trial: Trial, entries: Sequence[Entry], question: Question) -> Compared:
    """Compare the first two arms by the minutes or the wet mass noted per week; an arm's tanks are averaged."""
    unit = unit_of(question.measure, trial.currency)
    seen = observed_days(trial, entries)
    if seen <= trial.baseline_days:
        return Compared(question, unit, missing="no day since the regimes began has an entry")
    if trial.plan.kind == "crossover" and (missing := _not_yet_swapped(trial, seen)):
        return Compared(question, unit, missing=missing)
    of_tank = by_tank(entries)
    noted = {tank: _noted(trial, of_tank.get(tank, ()), question) for arm in trial.arms[:2] for tank in arm.tanks}
    if not any(noted.values()):
        what = "minutes of care" if question.measure == "care minutes" else "wet mass of trimmings"
        return Compared(question, unit, missing=f"no {what} was noted since the regimes began")
    arms = [
        [_per_week(trial, arm, tank, noted[tank], to_day=seen) for tank in tanks_of(trial, arm)]
        for arm in trial.arms[:2]
    ]
    return _account(
        trial,
        question,
        arms,
        days=tuple(sorted({float(int(one.day)) for of_tank in noted.values() for one in of_tank})),
        entries=tuple(one.entry_id for of_tank in noted.values() for one in of_tank),
        series={tank: _series(trial, question, tank, of_tank) for tank, of_tank in noted.items()},
        remarks=tuple(
            f"{trial.tanks[tank].name}: nothing was noted, which counts as 0"
            for tank, of_tank in noted.items()
            if not of_tank
        )
        + ((BY_THE_DAY,) if trial.plan.kind == "crossover" else ()),
    )


def _per_week(trial: Trial, arm: Arm, tank: str, noted: Sequence[Noted], *, to_day: int) -> ArmValue:
    """Return what a tank was noted per week while it had an arm's regime."""
    mine = [one for one in noted if arm_on(trial, tank, one.day).key == arm.key]
    if trial.plan.kind == "crossover":
        weeks = days_in(trial, tank, arm.key, to_day=to_day) / 7
    else:
        weeks = (to_day - trial.baseline_days) / 7
    amount = math.fsum(one.amount for one in mine) / weeks
    return ArmValue(arm.key, tank, amount, None, None, len({int(one.day) for one in mine}))


def _not_yet_swapped(trial: Trial, seen: int) -> str:
    """Return that a tank has not had both regimes yet, or nothing."""
    for arm in trial.arms[:2]:
        for tank in tanks_of(trial, arm):
            if not days_in(trial, tank, arm.key, to_day=seen):
                return f"{trial.tanks[tank].name} has not had {arm.name} yet: the regimes were not swapped so far"
    return ""


def compare_costs(trial: Trial, entries: Sequence[Entry], question: Question) -> Compared:
    """Compare the first two arms by the cost of feeding per week and tank, in the trial's currency."""
    unit = unit_of(question.measure, trial.currency)
    arms: list[list[ArmValue]] = []
    remarks: list[str] = []
    said: list[str] = []
    ids: list[str] = []
    days: set[float] = set()
    if trial.plan.kind == "crossover" and observed_days(trial, entries) > trial.baseline_days:
        missing = _not_yet_swapped(trial, observed_days(trial, entries))
        if missing:
            return Compared(question, unit, missing=missing)
    for arm in trial.arms[:2]:
        of_arm: list[ArmValue] = []
        for tank in tanks_of(trial, arm):
            cost = arm_cost(trial, entries, arm, tank=tank)
            name = trial.tanks[tank].name
            if cost is None:
                bare = trial.tanks[tank].vessel is None
                why = (
                    f"{name}: its water is not described" if bare else "no dose has been noted since the regimes began"
                )
                return Compared(question, unit, missing=why)
            doses = arm_doses(trial, entries, arm, tank=tank)
            of_arm.append(ArmValue(arm.key, tank, cost.per_week, None, None, len({int(dose.day) for dose in doses})))
            ids += [dose.entry_id for dose in doses if dose.entry_id is not None]
            days |= {float(int(dose.day)) for dose in doses}
            said.append(_cost_said(trial, arm, name, cost))
            remarks += _cost_remarks(trial, name, cost)
            seen = observed_days(trial, entries)
            said_of_doses = (f"{name}: {one}" for one in dose_remarks(trial, entries, tank, to_day=seen))
            remarks += [one for one in said_of_doses if one not in remarks]  # once, though a tank had both regimes
        arms.append(of_arm)
    found = _account(trial, question, arms, days=tuple(sorted(days)), entries=tuple(ids), remarks=tuple(remarks))
    return replace(found, detail=" ".join(reversed(said)))


def _noted(trial: Trial, mine: Sequence[Entry], question: Question) -> tuple[Noted, ...]:
    found: list[Noted] = []
    for entry in mine:
        if not isinstance(entry.payload, Care | Trim) or (day := day_of(entry.at, trial)) < trial.baseline_days:
            continue
        match entry.payload:
            case Care(minutes=minutes) if question.measure == "care minutes":
                found.append(Noted(day, minutes, entry.id))
            case Trim(minutes=float(minutes)) if question.measure == "care minutes":
                found.append(Noted(day, minutes, entry.id))
            case Trim(stand=stand, wet_g=wet_g) if question.measure == "trimmed mass" and wet_g is not None:
                if not question.of or stand in question.of:
                    found.append(Noted(day, wet_g, entry.id))
            case _:
                pass
    return tuple(found)


def _series(trial: Trial, question: Question, tank: str, noted: Sequence[Noted]) -> Series:
    """Return the totals per day noted."""
    amounts: dict[int, list[float]] = {}
    for one in noted:
        amounts.setdefault(int(one.day), []).append(one.amount)
    days = sorted(amounts)
    totals = [math.fsum(amounts[day]) for day in days]
    unit = "min" if question.measure == "care minutes" else "g"
    return Series(trial.tanks[tank].name, unit, "count", np.array(days, dtype=float), np.array(totals, dtype=float))


def _account(
    trial: Trial,
    question: Question,
    arms: Sequence[Sequence[ArmValue]],
    *,
    days: tuple[float, ...],
    entries: tuple[str, ...],
    series: dict[str, Series] | None = None,
    remarks: tuple[str, ...] = (),
) -> Compared:
    means = [math.fsum(value.value for value in arm) / len(arm) for arm in arms]
    return Compared(
        question=question,
        unit=unit_of(question.measure, trial.currency),
        arms=tuple(value for arm in arms for value in arm),
        effect=Estimate.exact(means[1] - means[0]),
        tanks_per_arm=min(len(arm.tanks) for arm in trial.arms[:2]),
        account=True,
        days=days,
        entries=entries,
        series=series or {},
        remarks=remarks,
        method=METHOD[question.measure],
    )


def _cost_said(trial: Trial, arm: Arm, name: str, cost: ArmCost) -> str:
    text = (
        f"{sentence(named(name, arm.name))}: {cost.per_100_l_per_week:.3f} {trial.currency} per 100 L and week, "
        f"{cost.per_year:.2f} {trial.currency} per year"
    )
    first = cost.runs_out_first
    if first is not None and first.pack_lasts_weeks is not None:
        of = trial.bottles[first.bottle].name
        what = of if first.ingredient == "bottle" else f"{first.ingredient} ({of})"
        text += f"; {what} runs out first, after {first.pack_lasts_weeks:.0f} weeks"
    return text + "."


def _cost_remarks(trial: Trial, name: str, cost: ArmCost) -> list[str]:
    return [
        f"{name}: {trial.bottles[bottle].name} has no price for {ingredient}, so the sum is a lower bound"
        for bottle, ingredient in cost.unpriced
    ]
