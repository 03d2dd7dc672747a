"""Tanks and readings of a trial as the fit takes them: what was really done, and what tests showed."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.findings.doses import observed_days
from littoral.findings.estimates.ways_to_test import WayToTest, way_key, ways_to_test
from littoral.findings.levels import tank_events, tracked
from littoral.findings.measured import Measured
from littoral.findings.photo_series import places as places_of
from littoral.findings.photo_series import taken
from littoral.stats.series import FloatArray
from littoral.tank.course import prepare
from littoral.tank.events import BalanceError, TankEvent
from littoral.tank.fit.kept_tank import KeptTank
from littoral.tank.fit.methods import Method
from littoral.tank.fit.methods import Reading as FitReading
from littoral.tank.volume import net_volume_l
from littoral.trial.days import day_of
from littoral.trial.entries import AT_A_DESK, Entry, Reading
from littoral.trial.model import Question, Tank, Trial

LEAST_PHOTOS = 5
"""Fewer photos of a tank's plants say nothing of how they grew."""
LEAST_SHARE = 0.05
"""Plants cut to nothing in view still take up something: biomass is at least this share of its mean."""
LEAST_TOLD_MG_PER_L = 0.5
"""What "0" by a card of which nothing is known is below; common practice, no source."""
WIDE_SDS = 2.0
"""A range that reaches further than so many of an instrument's own errors was written as one: "10 to 40"."""


@dataclass(frozen=True, slots=True, eq=False)
class Kept:
    """What the fit is given. `readings` are of tanks whose water is known; `unused` names the others and why.

    `days` is how many days were seen, `until_day` the moment up to which it is known what was done. `entries` are all
    of the trial's, for gauges and for what was done today.
    """

    tanks: tuple[KeptTank, ...]
    readings: tuple[FitReading, ...]
    ways: Mapping[str, WayToTest]
    nutrients: tuple[str, ...]
    days: int
    until_day: float
    remarks: tuple[str, ...]
    unused: tuple[str, ...]
    entries: tuple[Entry, ...] = ()


def kept_tanks(
    trial: Trial,
    entries: Sequence[Entry],
    *,
    known: Sequence[str],
    measured: Measured | None = None,
    now_day: float | None = None,
) -> Kept:
    """Return tanks with what was done to them, and readings, of the nutrients in `known` (those that have priors).

    Up to `now_day`, by default to the end of the last day seen: where the plan counts, it counts also after the last
    entry, and what it holds for later today has not been done. What any tank's water holds is followed in all.
    Biomass is the cover of all stands together where photos were measured. Raises BalanceError.
    """
    days = observed_days(trial, entries)
    until_day = float(days) if now_day is None else now_day
    followed = {key for tank in trial.tanks.values() if tank.vessel is not None for key in tracked(trial, tank)}
    nutrients = tuple(key for key in NUTRIENTS if key in followed)
    tanks: list[KeptTank] = []
    remarks: list[str] = []
    for tank in trial.tanks.values():
        if tank.vessel is None:
            continue
        events, said = _done(trial, entries, tank, nutrients, until_day=until_day)
        evaporation_l_per_day, dry = _lost(tank, events, until_day=until_day)
        grown = plants_over_days(trial, measured, tank) if measured is not None else None
        remarks += [*said, *dry]
        if trial.source is not None and not tank.start_level_mg_per_l:
            remarks.append(f"{tank.name}: its levels on day 0 are not told, so it is thought to begin as source water")
        tanks.append(
            KeptTank(
                key=tank.key,
                arm=trial.arm_of(tank.key).key,
                nutrients=nutrients,
                events=tuple(events),
                net_volume_l=net_volume_l(tank.vessel),
                evaporation_l_per_day=evaporation_l_per_day,
                topped_up_with=tank.topped_up_with,
                biomass_day=None if grown is None else grown[0],
                biomass=None if grown is None else grown[1],
            )
        )
    read = [(entry, entry.payload) for entry in entries if isinstance(entry.payload, Reading)]
    kept = {tank.key for tank in tanks}
    fed = {key for tank in tanks for key in tank.nutrients}
    usable = [
        (entry, one)
        for entry, one in read
        if entry.tank in kept
        and one.nutrient in known
        and one.nutrient in fed
        and 0 <= day_of(entry.at, trial) <= until_day
    ]
    taken = {entry.id for entry, _ in usable}
    unused = [
        "entries of later than now: is this computer's clock slow?"
        for entry in entries
        if day_of(entry.at, trial) > until_day and not isinstance(entry.payload, AT_A_DESK)
    ]
    unused += [
        _why_unused(trial, entry, one, kept, known)
        for entry, one in read
        if entry.id not in taken and day_of(entry.at, trial) <= until_day
    ]
    ways = ways_to_test(trial, [one for _, one in usable])
    return Kept(
        tanks=tuple(tanks),
        readings=tuple(_reading(trial, entry, one, ways) for entry, one in usable),
        ways=ways,
        nutrients=tuple(key for key in known if key in fed and _is_fed(trial, key, [one for _, one in usable])),
        days=days,
        until_day=until_day,
        remarks=(*remarks, *_bare(usable, ways)),
        unused=tuple(dict.fromkeys(unused)),
        entries=tuple(entries),
    )


def plants_over_days(trial: Trial, measured: Measured, tank: Tank) -> tuple[FloatArray, FloatArray] | None:
    """Return days (n,) and plant cover (n,) over its mean, all stands of a tank added up; None without enough photos.

    A stand that was not measured on a day is taken from its neighbours in time.
    """
    question = Question(key="", ask="", measure="cover growth")
    series = [taken(trial, measured, "cover growth", place).series for place in places_of(trial, question, tank.key)]
    series = [one for one in series if one.day.size >= LEAST_PHOTOS]
    if not series:
        return None
    day = np.unique(np.concatenate([one.day for one in series]))
    total = sum((np.interp(day, one.day, one.value) for one in series), np.zeros(day.size))
    biomass = np.maximum(total / total.mean(), LEAST_SHARE)
    return day, biomass


def _is_fed(trial: Trial, nutrient: str, readings: Sequence[Reading]) -> bool:
    contents = [{**bottle.content_mg_per_ml, **bottle.content_mg_per_g} for bottle in trial.bottles.values()]
    return any(one.nutrient == nutrient for one in readings) or any(each.get(nutrient, 0) > 0 for each in contents)


def _done(
    trial: Trial, entries: Sequence[Entry], tank: Tank, nutrients: Sequence[str], *, until_day: float
) -> tuple[list[TankEvent], tuple[str, ...]]:
    """Return what was done to a tank up to a moment, and remarks on the days that are past as a whole."""
    whole = math.floor(until_day)
    events, _ = tank_events(trial, entries, tank, nutrients, days=whole + 1)
    _, said = tank_events(trial, entries, tank, nutrients, days=whole)
    return [event for event in events if event.day <= until_day], said


def _lost(tank: Tank, events: Sequence[TankEvent], *, until_day: float) -> tuple[float, tuple[str, ...]]:
    """Evaporation counts where top-ups are noted, and enough of them; else the tank is taken as kept full."""
    if tank.vessel is None or not any(event.topped_up_l > 0 for event in events):
        return 0.0, ()
    water = [TankEvent(one.day, share_changed=one.share_changed, topped_up_l=one.topped_up_l) for one in events]
    try:
        course = prepare(
            water, net_volume_l=net_volume_l(tank.vessel), evaporation_l_per_day=tank.evaporation_l_per_day
        )
        course.litres(len(course.day) - 1, np.array([until_day]))
    except BalanceError:
        remark = "too few top-ups were noted for the stated evaporation, so the tank is taken as kept full"
        return 0.0, (f"{tank.name}: {remark}",)
    return tank.evaporation_l_per_day, ()


def _reading(trial: Trial, entry: Entry, reading: Reading, ways: Mapping[str, WayToTest]) -> FitReading:
    assert entry.tank is not None
    key = way_key(reading.nutrient, reading.method)
    low, high = reading.low_mg_per_l, reading.high_mg_per_l
    if ways[key].method.kind == "steps" and low == high:
        low, high = step_around(ways[key].method, low)
    if ways[key].method.kind == "number" and _is_a_number(ways[key].method, low, high):
        low = high = (low + high) / 2  # an instrument's number; its error is the method's
    return FitReading(entry.tank, reading.nutrient, day_of(entry.at, trial), key, low, high, entry.id)


def step_around(method: Method, level_mg_per_l: float) -> tuple[float, float]:
    """Return the range, mg/L, that a colour noted as a bare number stands for: the card's step around it.

    Where the card is not known, half way to steps of half and of twice as much.
    """
    borders = method.borders_mg_per_l
    if borders:
        at = bisect_right(borders, level_mg_per_l)
        return borders[at - 1], borders[at]
    return (0.75 * level_mg_per_l, 1.5 * level_mg_per_l) if level_mg_per_l > 0 else (0.0, LEAST_TOLD_MG_PER_L)


def _bare(readings: Sequence[tuple[Entry, Reading]], ways: Mapping[str, WayToTest]) -> tuple[str, ...]:
    count = sum(
        one.low_mg_per_l == one.high_mg_per_l and ways[way_key(one.nutrient, one.method)].method.kind == "steps"
        for _, one in readings
    )
    if not count:
        return ()
    one, stands = ("1 reading", "It stands") if count == 1 else (f"{count} readings", "Each stands")
    said = "is a bare number without its test" if count == 1 else "are bare numbers without their test"
    return (f"{one} {said}. {stands} for the step of a colour card around it; note the test, or the range",)


def _is_a_number(method: Method, low: float, high: float) -> bool:
    """Whether a range is a number with the instrument's error about it: not "under 5", "over 80" or "10 to 40"."""
    middle = (low + high) / 2
    error = np.hypot(method.relative_sd * middle, method.absolute_sd_mg_per_l)
    return bool(low == high or (low > 0 and np.isfinite(high) and (high - low) / 2 <= WIDE_SDS * error))


def _why_unused(trial: Trial, entry: Entry, reading: Reading, kept: set[str], known: Sequence[str]) -> str:
    if entry.tank not in kept:
        return f"readings of {entry.tank or 'no tank'}: its water is not known, since the trial file has no `glass`"
    if day_of(entry.at, trial) < 0:
        return "readings from before day 0"
    if reading.nutrient not in known:
        return f"readings of {reading.nutrient}: nothing is known beforehand of its uptake"
    return f"readings of {reading.nutrient}: neither a bottle nor the source water holds any"
