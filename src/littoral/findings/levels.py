"""Levels of each tank day by day: an upper line without uptake, a likely one with the uptake that was stated."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.feeding.adds import dose_adds_mg
from littoral.findings.doses import changes_done, dose_remarks, doses_given, observed_days
from littoral.logbook.book import Logbook
from littoral.stats.series import FloatArray
from littoral.tank.balance import Balance, levels_at, solve, vector
from littoral.tank.events import BalanceError, TankEvent
from littoral.tank.volume import net_volume_l
from littoral.trial.days import day_of
from littoral.trial.entries import Entry, Reading, TopUp
from littoral.trial.model import Tank, Trial

STEPS_PER_DAY = 4
JUST_BEFORE = 2 / 1440
"""Days before a dose or change at which the level before it is shown: two minutes."""


@dataclass(frozen=True, slots=True)
class ReadingPoint:
    """A reading: day, nutrient, and the range in mg/L that it stands for; `entry_id` is where it was noted."""

    day: float
    nutrient: str
    low_mg_per_l: float
    high_mg_per_l: float
    method: str
    shown: str
    entry_id: str


@dataclass(frozen=True, slots=True, eq=False)
class Levels:
    """Levels of one tank at `day` (n,), mg/L per nutrient (n,).

    `upper_mg_per_l` reckons no uptake at all; `likely_mg_per_l` the stated first-order uptake, and holds only the
    nutrients that have one. `remarks` say what was taken for granted.
    """

    tank: str
    net_volume_l: float
    day: FloatArray
    upper_mg_per_l: Mapping[str, FloatArray]
    likely_mg_per_l: Mapping[str, FloatArray]
    readings: tuple[ReadingPoint, ...]
    remarks: tuple[str, ...] = ()


def levels_of(book: Logbook, trial: Trial) -> dict[str, Levels]:
    """Return the levels of every tank whose water is known (`vessel`), from day 0 to the last day with an entry.

    Raises BalanceError where entries contradict the tank.
    """
    entries = book.entries(trial.key)
    days = observed_days(trial, entries)
    known = [tank for tank in trial.tanks.values() if tank.vessel is not None]
    return {tank.key: _levels(trial, entries, tank, days=days) for tank in known} if days else {}


def _levels(trial: Trial, entries: Sequence[Entry], tank: Tank, *, days: int) -> Levels:
    assert tank.vessel is not None
    volume_l = net_volume_l(tank.vessel)
    nutrients = tracked(trial, tank)
    events, remarks = tank_events(trial, entries, tank, nutrients, days=days)
    moments = np.array(sorted({event.day for event in events}))
    day = np.unique(np.concatenate([np.arange(days * STEPS_PER_DAY) / STEPS_PER_DAY, moments, moments - JUST_BEFORE]))
    day = day[(day >= 0) & (day < days)]
    no_uptake = np.zeros(len(nutrients))
    upper, dry = _solved(trial, tank, events, nutrients, no_uptake, volume_l, days=days)
    likely, _ = _solved(trial, tank, events, nutrients, vector(tank.uptake_per_day, nutrients), volume_l, days=days)
    upper_levels, likely_levels = levels_at(upper, day), levels_at(likely, day)
    return Levels(
        tank=tank.key,
        net_volume_l=volume_l,
        day=day,
        upper_mg_per_l={key: upper_levels[i] for i, key in enumerate(nutrients)},
        likely_mg_per_l={key: likely_levels[i] for i, key in enumerate(nutrients) if tank.uptake_per_day.get(key)},
        readings=_readings(trial, entries, tank.key),
        remarks=(*remarks, *dry),
    )


def tracked(trial: Trial, tank: Tank) -> tuple[str, ...]:
    """Return the nutrients that anything says something about, in the vocabulary's order."""
    named = {*tank.uptake_per_day, *tank.start_level_mg_per_l, *(trial.source.level_mg_per_l if trial.source else ())}
    for bottle in trial.bottles.values():
        named |= {*bottle.content_mg_per_ml, *bottle.content_mg_per_g}
    return tuple(key for key in NUTRIENTS if key in named)


def tank_events(
    trial: Trial, entries: Sequence[Entry], tank: Tank, nutrients: Sequence[str], *, days: int
) -> tuple[list[TankEvent], tuple[str, ...]]:
    """Return what happened to a tank's water before day `days`, masses in the order of `nutrients`, and remarks.

    What is taken from the plan, or taken as not done, the remarks say.
    """
    doses = doses_given(trial, entries, tank.key, to_day=days)
    changes = changes_done(trial, entries, tank.key, to_day=days)
    events = [
        TankEvent(dose.day, adds_mg=vector(dose_adds_mg(trial.bottles[dose.of], ml=dose.ml, g=dose.g), nutrients))
        for dose in doses
    ]
    events += [TankEvent(change.day, share_changed=change.share) for change in changes]
    events += [
        TankEvent(day_of(entry.at, trial), topped_up_l=entry.payload.litres)
        for entry in entries
        if entry.tank == tank.key and isinstance(entry.payload, TopUp)
    ]
    remarks = [f"{tank.name}: {remark}" for remark in dose_remarks(trial, entries, tank.key, to_day=days)]
    if changes and changes[0].entry_id is None:
        remarks.append(f"{tank.name}: no water changes were noted, so they are taken as planned")
    return events, tuple(remarks)


def _solved(
    trial: Trial,
    tank: Tank,
    events: Sequence[TankEvent],
    nutrients: Sequence[str],
    uptake: FloatArray,
    volume_l: float,
    *,
    days: int,
) -> tuple[Balance, tuple[str, ...]]:
    """Solve the balance to day `days`; where the noted top-ups would let the tank run dry, as if it was kept full."""
    source = vector(trial.source.level_mg_per_l if trial.source else {}, nutrients)
    start = vector(tank.start_level_mg_per_l, nutrients, otherwise=source)

    def solved(evaporation_l_per_day: float) -> Balance:
        return solve(
            events,
            source_mg_per_l=source,
            start_mg_per_l=start,
            net_volume_l=volume_l,
            evaporation_l_per_day=evaporation_l_per_day,
            topped_up_with=tank.topped_up_with,
            uptake_per_day=uptake,
        )

    try:
        balance = solved(tank.evaporation_l_per_day)
        levels_at(balance, [days])
    except BalanceError:
        remark = "too few top-ups were noted for the stated evaporation, so the tank is taken as kept full"
        return solved(0.0), (f"{tank.name}: {remark}",)
    return balance, ()


def _readings(trial: Trial, entries: Sequence[Entry], tank: str) -> tuple[ReadingPoint, ...]:
    return tuple(
        ReadingPoint(
            day_of(entry.at, trial),
            entry.payload.nutrient,
            entry.payload.low_mg_per_l,
            entry.payload.high_mg_per_l,
            entry.payload.method,
            entry.payload.shown,
            entry.id,
        )
        for entry in entries
        if entry.tank == tank and isinstance(entry.payload, Reading)
    )
