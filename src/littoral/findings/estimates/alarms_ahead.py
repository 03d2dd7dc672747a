"""Published limits held against all that is in the water over the days to come, whether it is fitted or not."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from littoral.findings.estimates.ahead import planned_ahead
from littoral.findings.estimates.days import days_to_draw
from littoral.findings.estimates.gauges import lately, shown_of
from littoral.findings.estimates.kept_tanks import Kept
from littoral.findings.estimates.nitrifying import FORMS, ammonium_ahead, brings_reduced_nitrogen
from littoral.findings.estimates.water_ahead import gauge_alarms
from littoral.stats.series import FloatArray
from littoral.tank.alarms import Alarm, in_order, limit_alarms
from littoral.tank.balance import levels_at, solve, vector
from littoral.tank.events import TankEvent
from littoral.tank.fit.fit import Posterior
from littoral.tank.fit.forecast import level_draws
from littoral.tank.fit.kept_tank import KeptTank
from littoral.trial.model import Trial

WATER_C = (0.0, 50.0)
"""What a temperature must lie in to tell of ammonia (`chemistry.ammonia`); others are slips of the hand."""
DRAWS = 512
SEED = 20260304


def alarms_ahead(
    trial: Trial,
    posterior: Posterior,
    kept: Kept,
    tank: KeptTank,
    *,
    now_day: float,
    to_day: float,
    planned: Sequence[TankEvent] | None = None,
) -> tuple[Alarm, ...]:
    """Return every published limit against a tank's levels from `now_day` to `to_day`, the likeliest passed first.

    Fitted nutrients with their doubt, ammonium with drawn rates, all others at the most they can be, without uptake.
    `planned` replaces what the regime plans. Of the entries the gauges are looked at: pH and temperature for ammonia,
    KH, conductivity.
    """
    ahead = (
        tuple(planned)
        if planned is not None
        else planned_ahead(trial, tank, from_day=now_day, to_day=to_day, entries=kept.entries)
    )
    every = days_to_draw((*tank.events, *ahead), to_day=to_day)
    days = every[every >= now_day]
    levels: dict[str, FloatArray] = {
        nutrient: level_draws(posterior, tank=tank.key, nutrient=nutrient, days=days, planned_events=ahead)
        for nutrient in kept.nutrients
    }
    if brings_reduced_nitrogen(tank, (*tank.events, *ahead)):
        rng = np.random.default_rng(SEED)
        levels["ammonium"] = ammonium_ahead(tank, (*tank.events, *ahead), days=days, draws=DRAWS, rng=rng)
    most = _most_there_can_be(trial, tank, (*tank.events, *ahead), days)
    levels |= {key: one[None] for key, one in most.items() if key not in levels and key not in FORMS}
    draws = max(one.shape[0] for one in levels.values())
    alike = {key: one if one.shape[0] == draws else _as_many(one, draws) for key, one in levels.items()}
    ph = lately(shown_of(trial, kept.entries, tank.key, "ph"), now_day=now_day)
    warm = [
        one
        for one in lately(shown_of(trial, kept.entries, tank.key, "temperature"), now_day=now_day)
        if WATER_C[0] <= one.middle <= WATER_C[1]
    ]
    limits = limit_alarms(
        alike,
        day=days,
        ph=max((one.middle for one in ph), default=None),
        temperature_c=max((one.middle for one in warm), default=None),
    )
    return in_order([*limits, *gauge_alarms(trial, kept.entries, tank, ahead, now_day=now_day, days=days)])


def _most_there_can_be(
    trial: Trial, tank: KeptTank, events: Sequence[TankEvent], days: FloatArray
) -> dict[str, FloatArray]:
    """Return the levels (n_days,) of all that is dosed or comes with the water, had nothing been taken up."""
    source = vector(trial.source.level_mg_per_l if trial.source else {}, tank.nutrients)
    start = vector(trial.tanks[tank.key].start_level_mg_per_l, tank.nutrients, otherwise=source)
    balance = solve(
        events,
        source_mg_per_l=source,
        start_mg_per_l=start,
        net_volume_l=tank.net_volume_l,
        evaporation_l_per_day=tank.evaporation_l_per_day,
        topped_up_with=tank.topped_up_with,
    )
    found = levels_at(balance, days)
    return {key: found[at] for at, key in enumerate(tank.nutrients) if found[at].max() > 0}


def _as_many(draws: FloatArray, wanted: int) -> FloatArray:
    """Return `wanted` draws out of fewer, each as often as any other to within one."""
    repeated: FloatArray = draws[np.arange(wanted) % draws.shape[0]]
    return repeated
