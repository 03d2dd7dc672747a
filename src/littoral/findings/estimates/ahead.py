"""What is planned for a tank in the days to come, at the hours at which this keeper has done it so far."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from littoral.feeding.adds import dose_adds_mg
from littoral.feeding.calendar import planned
from littoral.feeding.regimes import PlannedDose, Regime
from littoral.findings.doses import PLANNED_HOUR, done_on
from littoral.findings.estimates.nitrifying import Nitrified, nitrified_events
from littoral.tank.balance import vector
from littoral.tank.events import TankEvent
from littoral.tank.fit.kept_tank import KeptTank
from littoral.trial.entries import Entry
from littoral.trial.model import Trial
from littoral.trial.regime_on import regime_on


def planned_ahead(
    trial: Trial,
    tank: KeptTank,
    *,
    from_day: float,
    to_day: float,
    regime: Regime | None = None,
    entries: Sequence[Entry] | None = None,
) -> tuple[TankEvent, ...]:
    """Return the events of a regime from `from_day` up to `to_day`; by default that of each day, going on past the end.

    Masses in the order of the tank's nutrients. A dose and a change come at their usual hour of the day; nitrate that
    comes of ammonium and urea is among them. What `entries` say was done (or missed) on the day of `from_day` does not
    come once more on that day. Where evaporation counts, so much is topped up each day, as this keeper does.
    """
    today = int(np.floor(from_day))
    done, changed = done_on(trial, entries or (), tank.key, day=today, until_day=from_day)
    if entries is None:
        done, changed = frozenset(), False
    at_dose, at_change = usual_hour(tank, doses=True), usual_hour(tank, doses=False)
    found = []
    for day in range(today, int(np.ceil(to_day))):
        if tank.evaporation_l_per_day > 0:
            found.append(TankEvent(day + PLANNED_HOUR, topped_up_l=tank.evaporation_l_per_day))
        of_day = regime if regime is not None else regime_on(trial, tank.key, min(day, trial.length_days - 1))
        if of_day is None:
            continue
        for _, act in planned(of_day, start=trial.start, from_day=day, to_day=day + 1):
            if day == today and (act.of in done if isinstance(act, PlannedDose) else changed):
                continue
            if isinstance(act, PlannedDose):
                adds = vector(
                    dose_adds_mg(trial.bottles[act.of], ml=act.ml, g=act.g),
                    tank.nutrients,
                )
                found.append(TankEvent(day + at_dose, adds_mg=adds))
            else:
                found.append(TankEvent(day + at_change, share_changed=act.share))
    acts = [event for event in found if from_day <= event.day < to_day]
    return (*acts, *nitrified_events(tank, (*tank.events, *acts), from_day=today, to_day=to_day))


def usual_hour(tank: KeptTank, *, doses: bool) -> float:
    """Return the middle time of day, as a fraction, of a tank's doses or of its changes; noon where there were none."""
    hours = [
        event.day % 1.0
        for event in tank.events
        if not isinstance(event, Nitrified)
        and (event.adds_mg is not None and event.adds_mg.any() if doses else event.share_changed > 0)
    ]
    return float(np.median(hours)) if hours else PLANNED_HOUR


def next_change(events: Sequence[TankEvent], *, after_day: float) -> float | None:
    """Return the day of the first water change after a day, or None."""
    return min(
        (event.day for event in events if event.share_changed > 0 and event.day > after_day),
        default=None,
    )
