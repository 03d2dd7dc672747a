"""The doses that were really given: those noted, or the plan where a tank's keeper notes only what was missed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from littoral.feeding.calendar import planned
from littoral.feeding.regimes import PlannedChange, PlannedDose, Regime
from littoral.trial.days import day_of
from littoral.trial.entries import Dose, Entry, WaterChange
from littoral.trial.model import Trial

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


def regime_on(trial: Trial, tank: str, day: float) -> Regime | None:
    """Return the regime of a tank on a day (days since day 0): the baseline's first, then its arm's; None: nothing."""
    key = trial.baseline_regime if day < trial.baseline_days else trial.arm_of(tank).regime
    return None if key is None else trial.regimes[key]


def doses_given(trial: Trial, entries: Sequence[Entry], tank: str, *, to_day: int) -> tuple[GivenDose, ...]:
    """Return a tank's doses given before `to_day`, by day; as planned, less the missed ones, where none is noted."""
    noted = [
        (day_of(entry.at, trial), entry) for entry in entries if entry.tank == tank and isinstance(entry.payload, Dose)
    ]
    given = [
        GivenDose(day, entry.payload.of, entry.payload.ml, entry.payload.g, entry.id)
        for day, entry in noted
        if isinstance(entry.payload, Dose) and entry.payload.given and day < to_day
    ]
    if given:
        return tuple(given)
    missed = {(int(day), entry.payload.of) for day, entry in noted if isinstance(entry.payload, Dose)}
    return tuple(
        GivenDose(day + PLANNED_HOUR, dose.of, dose.ml, dose.g, None)
        for day, dose in _planned(trial, tank, to_day=to_day)
        if isinstance(dose, PlannedDose) and (day, dose.of) not in missed
    )


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
    """Return what the regimes plan for a tank on each day before `to_day`: the baseline's first, then its arm's."""
    bend = min(to_day, round(trial.baseline_days))
    found: list[tuple[int, PlannedDose | PlannedChange]] = []
    for from_day, until in ((0, bend), (bend, to_day)):
        regime = regime_on(trial, tank, from_day)
        if regime is not None and until > from_day:
            found += planned(regime, start=trial.start, from_day=from_day, to_day=until)
    return found


def observed_days(trial: Trial, entries: Sequence[Entry]) -> int:
    """Return how many days of the trial have been seen: through the last entry's day, at most the whole length."""
    last = max((int(day_of(entry.at, trial)) + 1 for entry in entries), default=0)
    return min(last, int(trial.length_days))
