"""What gauges say of the water and of the days to come: CO2, alkalinity, salts, and water really changed."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from littoral.chemistry.conductivity import changed_share, conductivity_of
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.water_errors import WaterError
from littoral.findings.estimates.gauges import Shown, lately, shown_of
from littoral.findings.estimates.nitrifying import nitrified_events
from littoral.quantities.check_row import CheckRow
from littoral.quantities.hardness import alkalinity_meq_per_l
from littoral.stats.series import FloatArray
from littoral.tank.alarms import Alarm
from littoral.tank.balance import levels_at, solve
from littoral.tank.events import TankEvent
from littoral.tank.fit.kept_tank import KeptTank
from littoral.tank.water_alarms import alkalinity_alarms, alkalinity_used_meq_per_l, co2_alarms, salts_alarm
from littoral.trial.entries import Entry
from littoral.trial.model import Trial

DRAWS = 256
SEED = 20260305
NEAR_A_CHANGE_DAYS = 0.25
"""A reading of conductivity tells of a change where it was taken within six hours of it."""
CHARGED_IONS_NEEDED = 4
"""A source water of fewer ions on its report has a conductivity of its own that the sum would miss."""


def gauge_alarms(
    trial: Trial,
    entries: Sequence[Entry],
    tank: KeptTank,
    planned: Sequence[TankEvent],
    *,
    now_day: float,
    days: FloatArray,
) -> tuple[Alarm, ...]:
    """Return alarms that rest on gauges: CO2 and its swing, alkalinity over the `days` to come, salts.

    Only what gauges of the last two weeks bear; nothing where none was read.
    """
    found: list[Alarm] = []
    ph = lately(shown_of(trial, entries, tank.key, "ph"), now_day=now_day)
    kh = lately(shown_of(trial, entries, tank.key, "kh"), now_day=now_day)
    warm = lately(shown_of(trial, entries, tank.key, "temperature"), now_day=now_day)
    if ph and kh and warm:
        found += _co2(ph, kh[-1], warm[-1])
    if kh:
        found += alkalinity_alarms(_alkalinity(trial, tank, planned, kh[-1], days), day=days)
    source = source_conductivity(trial)
    salts = lately(shown_of(trial, entries, tank.key, "conductivity"), now_day=now_day)
    if source is not None and salts:
        ahead = _mixed(tank, planned, start=salts[-1].middle, source=source, from_day=now_day, days=days)
        found.append(salts_alarm(ahead[None], day=days, source=source, unit="µS/cm"))
    return tuple(found)


def _co2(ph: Sequence[Shown], kh: Shown, warm: Shown) -> tuple[Alarm, ...]:
    """Return the alarms of CO2, or why it cannot be told: KH of nothing, a slip of the hand."""
    try:
        return co2_alarms(
            lowest_ph=min(one.middle for one in ph),
            highest_ph=max(one.middle for one in ph),
            alkalinity_meq_per_l=alkalinity_meq_per_l(kh.middle, unit="dKH"),
            temperature_c=warm.middle,
            alkalinity_error_meq_per_l=alkalinity_meq_per_l((kh.high - kh.low) / 2, unit="dKH"),
        )
    except WaterError as error:
        comment = f"CO2 cannot be told from pH, KH and temperature as read: {error.what}. {error.right}"
        row = CheckRow("CO2 from pH and KH", None, "<=", None, "mg/L", "cannot tell", comment, "carbonate balance")
        return (Alarm(row, None, None, None, None, None),)


def changes_by_conductivity(trial: Trial, entries: Sequence[Entry], tank: KeptTank) -> tuple[CheckRow, ...]:
    """Return whether as much water was changed as noted, for each change with conductivity read before and after it."""
    source = source_conductivity(trial)
    shown = shown_of(trial, entries, tank.key, "conductivity")
    rows: list[CheckRow] = []
    for event in tank.events:
        if source is None or event.share_changed <= 0:
            continue
        before = [one for one in shown if event.day - NEAR_A_CHANGE_DAYS <= one.day < event.day]
        after = [one for one in shown if event.day < one.day <= event.day + NEAR_A_CHANGE_DAYS]
        if not before or not after or before[-1].middle == source:
            continue
        told = changed_share(
            before_us_per_cm=before[-1].middle,
            after_us_per_cm=after[0].middle,
            source_us_per_cm=source,
            stated_share=event.share_changed,
        )
        rows += [
            CheckRow(
                f"day {int(event.day)}: {row.what}", row.value, row.operator, row.limit, row.unit, row.verdict,
                row.comment, row.source,
            )
            for row in told.rows
        ]  # fmt: skip
    return tuple(rows)


def source_conductivity(trial: Trial) -> float | None:
    """Return the source water's conductivity at 25 °C from its report, µS/cm; None where the report says too little."""
    if trial.source is None:
        return None
    known = {key: level for key, level in trial.source.level_mg_per_l.items() if level > 0}
    return conductivity_of(known).us_per_cm if len(known) >= CHARGED_IONS_NEEDED and "bicarbonate" in known else None


def _alkalinity(trial: Trial, tank: KeptTank, planned: Sequence[TankEvent], kh: Shown, days: FloatArray) -> FloatArray:
    """Return alkalinity, meq/L, shape (draws, n_days): changed with source water, less what nitrification uses.

    What is used is not thought to be changed away again, so this is the least it can be.
    """
    reported = None if trial.source is None else trial.source.level_mg_per_l.get("bicarbonate")
    low, high = (alkalinity_meq_per_l(value, unit="dKH") for value in (kh.low, kh.high))
    start = np.random.default_rng(SEED).uniform(low, high, DRAWS) if high > low else np.full(DRAWS, low)
    if reported is None:  # changes are taken to bring what is there
        mixed = np.repeat(start[:, None], days.size, axis=1)
    else:
        source = reported / NUTRIENTS["bicarbonate"].weight
        none, one = (
            _mixed(tank, planned, start=level, source=source, from_day=kh.day, days=days) for level in (0.0, 1.0)
        )
        mixed = none + start[:, None] * (one - none)  # what is there at first goes down by the same share
    turned = nitrified_events(tank, (*tank.events, *planned), from_day=kh.day, to_day=float(days[-1]))
    row = tank.nutrients.index("nitrate") if "nitrate" in tank.nutrients else None
    nitrified = np.zeros(days.size)
    for event in turned:
        if row is not None and event.adds_mg is not None:
            nitrogen = event.adds_mg[row] * NUTRIENTS["nitrate"].element_share / tank.net_volume_l
            nitrified += np.where(days >= event.day, nitrogen, 0.0)
    left: FloatArray = mixed - alkalinity_used_meq_per_l(nitrified_mg_n_per_l=nitrified)
    return left


def _mixed(
    tank: KeptTank, planned: Sequence[TankEvent], *, start: float, source: float, from_day: float, days: FloatArray
) -> FloatArray:
    """Return what mixes and is not used, (n_days,): changes with source water, evaporation that leaves it behind."""
    events = [
        TankEvent(event.day, share_changed=event.share_changed, topped_up_l=event.topped_up_l)
        for event in (*tank.events, *planned)
        if event.day >= from_day and (event.share_changed > 0 or event.topped_up_l > 0)
    ]
    balance = solve(
        events,
        source_mg_per_l=source,
        start_mg_per_l=start,
        net_volume_l=tank.net_volume_l,
        evaporation_l_per_day=tank.evaporation_l_per_day,
        topped_up_with=tank.topped_up_with,
        start_day=from_day,
    )
    mixed: FloatArray = levels_at(balance, days)[0]
    return mixed
