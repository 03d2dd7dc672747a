"""Published limits held against a what-if: the alarms there would be, were a tank fed otherwise from now on."""

from __future__ import annotations

from dataclasses import replace

from littoral.feeding.regimes import Regime
from littoral.findings.estimates.ahead import planned_ahead
from littoral.findings.estimates.alarms_ahead import alarms_ahead
from littoral.findings.estimates.estimated import DAYS_AHEAD
from littoral.findings.estimates.fitting import thinned
from littoral.findings.estimates.model import Estimates
from littoral.findings.estimates.other_regime import QUICK_DRAWS
from littoral.tank.alarms import Alarm
from littoral.tank.events import TankEvent
from littoral.tank.fit.fit import NutrientFit
from littoral.trial.model import Trial


def planned_now(trial: Trial, estimates: Estimates, tank: str, regime: Regime) -> tuple[TankEvent, ...]:
    """Return what a regime plans for a tank over the days ahead. Raises KeyError for a tank that is not followed."""
    kept = {one.key: one for one in estimates.kept.tanks}[tank]
    now_day = estimates.now_day
    return planned_ahead(
        trial, kept, from_day=now_day, to_day=now_day + DAYS_AHEAD, regime=regime, entries=estimates.kept.entries
    )


def other_alarms(trial: Trial, estimates: Estimates, *, tank: str, regime: Regime) -> tuple[Alarm, ...]:
    """Return published limits held against the two weeks to come, had a tank this regime from now on.

    As `Estimates.alarms`, from fewer draws. What was noted for after now is left out, as in `other_bands`.
    """
    planned = planned_now(trial, estimates, tank, regime)
    now_day, to_day = estimates.now_day, estimates.now_day + DAYS_AHEAD
    quick = thinned(estimates.posterior, QUICK_DRAWS)

    def until_now(fit: NutrientFit) -> NutrientFit:
        tanks = tuple(
            one.with_events(tuple(event for event in one.events if event.day < now_day)) if one.key == tank else one
            for one in fit.layout.tanks
        )
        return replace(fit, layout=replace(fit.layout, tanks=tanks))

    before = replace(quick, fits=tuple(until_now(fit) for fit in quick.fits))
    done = {one.key: one for one in estimates.kept.tanks}[tank]
    cut = done.with_events(tuple(event for event in done.events if event.day < now_day))
    return alarms_ahead(trial, before, estimates.kept, cut, now_day=now_day, to_day=to_day, planned=planned)
