"""The doses that were really given: those noted, and the plan where a keeper notes only what departs from it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from math import ceil

from littoral.feeding.calendar import planned
from littoral.feeding.regimes import PlannedChange, PlannedDose
from littoral.trial.days import day_of
from littoral.trial.entries import AT_A_DESK, Dose, Entry, WaterChange
from littoral.trial.model import Trial
from littoral.trial.periods import periods_of
from littoral.trial.regime_on import regime_on

PLANNED_HOUR = 12 / 24
"""Time of day given to what the plan says and nobody noted: noon, so that the balance has a moment for it."""


@dataclass(frozen=True, slots=True)
class GivenDose:
    """A dose that went in: day (float), bottle or salt key, mL or g, and the entry that says so (None: the plan)."""

    day: float
    of: str
    ml: float | None
    g: float | None
    entry_id: str | None


@dataclass(frozen=True, slots=True)
class DoneChange:
    """A water change: day (float), share of the net volume, and the entry that says so (None: the plan)."""

    day: float
    share: float
    entry_id: str | None


def doses_given(trial: Trial, entries: Sequence[Entry], tank: str, *, to_day: int) -> tuple[GivenDose, ...]:
    """Return a tank's doses given before `to_day`, by day.

    Those noted as given; the plan counts besides, except on days for whose bottle a dose is noted as given or missed,
    where the trial says that only exceptions are noted, or where not one dose of the tank is noted as given.
    """
    given, unnoted = _noted_and_unnoted(trial, entries, tank, to_day=to_day)
    if given and trial.doses_noted == "all":
        return given
    planned_ones = [GivenDose(day + PLANNED_HOUR, dose.of, dose.ml, dose.g, None) for day, dose in unnoted]
    return tuple(sorted((*given, *planned_ones), key=lambda dose: dose.day))


def dose_remarks(trial: Trial, entries: Sequence[Entry], tank: str, *, to_day: int) -> tuple[str, ...]:
    """Return what `doses_given` took for granted of a tank, each the rest of a sentence that begins with its name."""
    given, unnoted = _noted_and_unnoted(trial, entries, tank, to_day=to_day)
    if not unnoted:
        return ()
    if trial.doses_noted == "exceptions":
        return ("doses are taken as planned, except where an entry says otherwise",)
    if not given:
        return ("no doses were noted, so they are taken as planned, less those noted as missed",)
    count = len(unnoted)
    if count == 1:
        return ("1 planned dose was noted neither as given nor as missed; it is taken as not given",)
    return (f"{count} planned doses were noted neither as given nor as missed; they are taken as not given",)


def _noted_and_unnoted(
    trial: Trial, entries: Sequence[Entry], tank: str, *, to_day: int
) -> tuple[tuple[GivenDose, ...], list[tuple[int, PlannedDose]]]:
    """Return the doses noted as given, and the planned ones on whose day nothing of their bottle was noted at all."""
    noted = [
        (day_of(entry.at, trial), entry.payload, entry.id)
        for entry in entries
        if entry.tank == tank and isinstance(entry.payload, Dose)
    ]
    given = tuple(GivenDose(day, dose.of, dose.ml, dose.g, key) for day, dose, key in noted if dose.given)
    spoken_of = {(day_meant(day, dose, trial), dose.of) for day, dose, _ in noted}
    unnoted = [
        (day, dose)
        for day, dose in _planned(trial, tank, to_day=to_day)
        if isinstance(dose, PlannedDose) and (day, dose.of) not in spoken_of
    ]
    return tuple(dose for dose in given if dose.day < to_day), unnoted


def day_meant(day: float, dose: Dose, trial: Trial) -> int:
    """Return the planned day that a dose speaks of: a dose given late speaks of the day it makes up for."""
    return int(day) if dose.for_date is None else (date.fromisoformat(dose.for_date) - trial.start).days


def done_on(
    trial: Trial, entries: Sequence[Entry], tank: str, *, day: int, until_day: float
) -> tuple[frozenset[str], bool]:
    """Return the bottles that a day's plan has no more to say of at `until_day`, and whether water was changed then.

    A bottle is done with where its dose is noted as given or missed, or counts as given by the plan.
    """
    spoken_of = {
        entry.payload.of
        for entry in entries
        if entry.tank == tank
        and isinstance(entry.payload, Dose)
        and day_meant(day_of(entry.at, trial), entry.payload, trial) == day
    }
    by_plan = {
        dose.of
        for dose in doses_given(trial, entries, tank, to_day=day + 1)
        if dose.entry_id is None and day <= dose.day <= until_day
    }
    changed = any(day <= one.day <= until_day for one in changes_done(trial, entries, tank, to_day=day + 1))
    return frozenset(spoken_of | by_plan), changed


def changes_done(trial: Trial, entries: Sequence[Entry], tank: str, *, to_day: int) -> tuple[DoneChange, ...]:
    """Return a tank's water changes before `to_day`, by day; as planned where none is noted."""
    noted = [
        DoneChange(day_of(entry.at, trial), entry.payload.share, entry.id)
        for entry in entries
        if entry.tank == tank and isinstance(entry.payload, WaterChange) and day_of(entry.at, trial) < to_day
    ]
    if noted:
        return tuple(noted)
    return tuple(
        DoneChange(day + PLANNED_HOUR, change.share, None)
        for day, change in _planned(trial, tank, to_day=to_day)
        if isinstance(change, PlannedChange)
    )


def _planned(trial: Trial, tank: str, *, to_day: int) -> list[tuple[int, PlannedDose | PlannedChange]]:
    """Return what is planned for a tank on each day before `to_day`, by the regime of that day."""
    found: list[tuple[int, PlannedDose | PlannedChange]] = []
    # the only days on which a tank's regime becomes another
    turns = {0, ceil(trial.baseline_days), *(ceil(period.from_day) for period in periods_of(trial)), to_day}
    for first, last in pairwise(sorted(day for day in turns if day <= to_day)):
        regime = regime_on(trial, tank, first)
        if regime is not None and first < last:
            found += planned(regime, start=trial.start, from_day=first, to_day=last)
    return found


def observed_days(trial: Trial, entries: Sequence[Entry]) -> int:
    """Return how many days of the trial have been seen: through the last entry's day, at most the whole length.

    What is written at a desk, at any time, shows nothing of the tanks.
    """
    seen = (entry for entry in entries if not isinstance(entry.payload, AT_A_DESK))
    last = max((int(day_of(entry.at, trial)) + 1 for entry in seen), default=0)
    return min(last, int(trial.length_days))
