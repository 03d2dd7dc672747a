"""Plan a week: what doses add, where levels settle, what limits they pass, how labels compare, a pump's programme."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from littoral.acts.mix_and_feed.figures import Figure, Refused
from littoral.acts.mix_and_feed.label_readings import label_checks, label_readings
from littoral.acts.mix_and_feed.reading import Reading
from littoral.acts.mix_and_feed.stopping import stopped, untold
from littoral.acts.mix_and_feed.tool_lines import BRIM, tool_checks, tool_lines
from littoral.acts.mix_and_feed.week_days import day_lines
from littoral.acts.mix_and_feed.week_form import Week, WeekForm
from littoral.acts.mix_and_feed.week_lines import (
    label_lines,
    level_lines,
    planned_lines,
    pump_lines,
    scaled_lines,
    start_lines,
    week_cautions,
)
from littoral.acts.mix_and_feed.week_reading import ReadWeek, read_week
from littoral.chemistry.stock_checks import check_dry_dose
from littoral.feeding.facts import regime_facts
from littoral.feeding.tools import measurable
from littoral.quantities.check_row import CheckRow
from littoral.tank.balance import extremes, solve
from littoral.tank.events import TankEvent
from littoral.tank.steady_state import Pattern, SteadyState, pattern_of, steady_state


@dataclass(frozen=True, slots=True, eq=False)
class Levels:
    """Where the levels of a week lead: the pattern, what it settles at, and the highest, mg/L, within the weeks asked.

    `highest` counts the way there too; where nothing leaves the water it is that of the last week asked.
    """

    pattern: Pattern
    settled: SteadyState
    highest: dict[str, float]


def plan_week(form: WeekForm) -> Week | Refused:
    """Return a week in numbers, or every mistake in the form. Advice on another week is `advise_week`.

    While the doses would pass a published limit within the weeks asked, and no reason overrides it, doses, pump and the
    scaled week are left out.
    """
    reading = Reading(form)
    read = read_week(reading, form)
    found: Week | None = None
    if read is not None:
        with reading.trying("doses"):
            found = _week(form, read)
    return Refused(tuple(reading.faults)) if found is None else found


def levels_of(read: ReadWeek) -> Levels:
    """Return where the levels of a week lead. Raises RegimeError, DoseError, BalanceError."""
    bottles, regime = read.shelf.bottles, read.regime
    given = regime_facts(regime, bottles, net_volume_l=read.net_volume_l).week_mg_per_l
    nutrients = tuple(dict.fromkeys((*given, *read.start)))
    pattern = pattern_of(regime, bottles, net_volume_l=read.net_volume_l, nutrients=nutrients, start_weekday=read.day_0)
    source = np.array([read.source.get(key, 0.0) for key in nutrients])
    uptake = np.array([read.uptake.get(key, 0.0) for key in nutrients])
    settled = steady_state(pattern, source_mg_per_l=source, uptake_per_day=uptake)
    days = 7 * read.weeks
    events = [_event(pattern, day, net_volume_l=read.net_volume_l) for day in range(days)]
    start = np.array([read.start.get(key, 0.0) for key in nutrients])
    balance = solve(
        events,
        source_mg_per_l=source,
        start_mg_per_l=start,
        net_volume_l=read.net_volume_l,
        uptake_per_day=uptake,
    )
    _, on_the_way = extremes(balance, from_day=0.0, to_day=float(days))
    peak = np.where(np.isfinite(settled.peak), np.maximum(settled.peak, on_the_way), on_the_way)
    return Levels(pattern, settled, dict(zip(nutrients, (float(level) for level in peak), strict=True)))


def _event(pattern: Pattern, day: int, *, net_volume_l: float) -> TankEvent:
    at = day % pattern.days
    adds_mg = pattern.adds_mg_per_l[:, at] * net_volume_l
    return TankEvent(float(day), adds_mg=adds_mg, share_changed=float(pattern.share_changed[at]))


def _week(form: WeekForm, read: ReadWeek) -> Week:
    facts = regime_facts(read.regime, read.shelf.bottles, net_volume_l=read.net_volume_l)
    levels = levels_of(read)
    tank = stopped(levels.highest, read.start, read.here, anyway=form.anyway)
    stands = tank.stop is not None and tank.stop.stands
    pump, pump_note = ((), "") if stands else pump_lines(read)
    return Week(
        name=read.regime.name,
        tools=tool_lines(read.shelf),
        doses=() if stands else planned_lines(facts.doses, read),
        days=() if stands else day_lines(read),
        lines=level_lines(read, facts, levels.pattern, levels.settled),
        npk=Figure(facts.npk.words, None, "", facts.npk.steps),
        labels=label_lines(facts.labels, read.shelf.bottles, net_volume_l=read.net_volume_l),
        limits=tank.rows,
        checks=_checks(read),
        stop=tank.stop,
        starts=start_lines(read, facts.week_mg_per_l),
        pump=pump,
        pump_note=pump_note,
        scaled=() if stands else scaled_lines(read),
        cautions=(*week_cautions(read, levels.settled), *untold(tank.rows)),
        readings=label_readings(read.shelf.labels),
        limit_steps=tank.steps,
    )


def _checks(read: ReadWeek) -> tuple[CheckRow, ...]:
    """Whether each dose can be measured with its tool, and whether a dry one dissolves and stays a small one."""
    rows: list[CheckRow] = [*tool_checks(read.shelf), *label_checks(read.shelf.labels)]
    for dose in read.regime.doses:
        tool, bottle = read.shelf.tools.get(dose.of), read.shelf.bottles[dose.of]
        amount = dose.g if dose.g is not None else dose.ml
        if tool is not None and amount and amount <= tool.step * tool.most_steps * (1 + BRIM):
            check = measurable(amount, tool).check
            rows.append(replace(check, what=f"{check.what}, {bottle.name}"))
        if dose.g is not None and bottle.dry_formula:
            celsius = 20.0 if read.here.temperature_c is None else read.here.temperature_c
            rows += check_dry_dose(bottle.dry_formula, dose.g, net_volume_l=read.net_volume_l, celsius=celsius)
    return tuple(dict.fromkeys(rows))
