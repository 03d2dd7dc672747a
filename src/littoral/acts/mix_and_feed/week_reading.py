"""Reads the form of a week: bottles, doses, changes, water, bands and tools, in canonical units."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from littoral.acts.mix_and_feed.dose_reading import ReadDose, read_doses, read_weekly
from littoral.acts.mix_and_feed.laying_out import by_the_changes
from littoral.acts.mix_and_feed.reading import Reading, nutrient_named
from littoral.acts.mix_and_feed.shelf_reading import LARGEST_TANK_L, Shelf, read_shelf
from littoral.acts.mix_and_feed.stopping import Conditions, read_conditions
from littoral.acts.mix_and_feed.week_form import AIMS, ChangeForm, WeekForm
from littoral.chemistry.hardness import hardness_of_ions_mmol_per_l
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.feeding.advice import Band
from littoral.feeding.patterns import weekday_number
from littoral.feeding.regimes import PlannedChange, Regime
from littoral.feeding.starting_points import StartingPoint, light_matched
from littoral.speech.say import say

LONGEST_WEEKS = 104.0
_BAND = re.compile(r"at least\s+(?P<least>.+)|at most\s+(?P<most>.+)|(?P<low>.+?)\s+to\s+(?P<high>.+)", re.IGNORECASE)
_DIGITS = "+-0123456789., "


@dataclass(frozen=True, slots=True)
class ReadWeek:
    """A week's form in canonical units: litres, mg/L by nutrient, 1/day, weekday 0 is Monday.

    `doses` are the regime's, in its order, with the rows they are from and how their amounts came about.
    """

    shelf: Shelf
    regime: Regime
    doses: tuple[ReadDose, ...]
    net_volume_l: float
    source: dict[str, float]
    start: dict[str, float]
    uptake: dict[str, float]
    here: Conditions
    day_0: int
    bands: tuple[Band, ...]
    present: tuple[int, ...]
    apart: tuple[tuple[str, str], ...]
    aim: Literal["simplest", "cheapest"]
    currency: str
    weeks: int
    light: StartingPoint | None
    pump_least_ml: float | None
    pump_flow_ml_per_min: dict[str, float]
    scale_to_l: float | None


def read_week(reading: Reading, form: WeekForm) -> ReadWeek | None:
    """Return a week's form in canonical units; None where it holds a mistake, which `reading` then knows."""
    shelf = read_shelf(reading, form.bottles)
    wrong_shelf = bool(reading.faults)
    changes = _changes(reading, form.changes)
    lay_out = by_the_changes(shelf, changes)
    doses = (
        *read_doses(reading, form.doses, shelf, unsure=wrong_shelf),
        *read_weekly(reading, form.weekly, shelf, lay_out, unsure=wrong_shelf),
    )
    regime = Regime("week", " ".join(form.name.split()) or "week", tuple(one.dose for one in doses), changes)
    net = reading.amount("net_volume", form.net_volume, "volume", at_most=LARGEST_TANK_L)
    source = reading.nutrients("source", form.source)
    start = reading.nutrients("start_levels", form.start_levels)
    uptake = reading.nutrients("uptake", form.uptake, "rate")
    here = read_conditions(reading, form.hardness, form.ph, form.temperature)
    if here.hardness_mmol_per_l is None and {"calcium", "magnesium"} <= source.keys():
        here = Conditions(hardness_of_ions_mmol_per_l(source), here.ph, here.temperature_c)
    day_0 = 0
    with reading.trying("day_0"):
        day_0 = weekday_number(form.day_0)
    present, every = reading.pattern("present", form.present)
    if every is not None:
        reading.wrong("present", say('is "{present}".', present=form.present), say("Name weekdays, or daily."))
    aim = reading.one_of("aim", form.aim, AIMS)
    days = reading.amount("weeks", form.weeks, "duration", at_most=7 * LONGEST_WEEKS)
    bands = _bands(reading, form)
    light = _light(reading, form, net)
    least = reading.amount("pump_least", form.pump_least, "dose volume", needed=False)
    flow = _flow(reading, form, shelf)
    scale_to = reading.amount("scale_to", form.scale_to, "volume", needed=False, at_most=LARGEST_TANK_L)
    apart = tuple((one.strip(), other.strip()) for one, other in form.apart if one.strip() or other.strip())
    if not wrong_shelf:
        for line, pair in enumerate(apart, start=1):
            for name in pair:
                if name not in shelf.bottles:
                    right = say("Bottles there are: {shelf}.", shelf=", ".join(shelf.bottles))
                    reading.wrong("apart", say('names "{name}".', name=name[:40]), right, line=line)
    if reading.faults or net is None or days is None:
        return None
    return ReadWeek(
        shelf=shelf,
        regime=regime,
        doses=doses,
        net_volume_l=net,
        source=source,
        start={**source, **start},
        uptake=uptake,
        here=here,
        day_0=day_0,
        bands=bands,
        present=present,
        apart=apart,
        aim="cheapest" if aim == "cheapest" else "simplest",
        currency=" ".join(form.currency.split()),
        weeks=max(1, round(days / 7.0)),
        light=light,
        pump_least_ml=least,
        pump_flow_ml_per_min=flow,
        scale_to_l=scale_to,
    )


def _changes(reading: Reading, rows: tuple[ChangeForm, ...]) -> tuple[PlannedChange, ...]:
    found = []
    for line, row in enumerate(rows, start=1):
        if not row.share.strip() and not row.on.strip():
            continue
        share = reading.amount("changes", row.share, "fraction", line=line)
        weekdays, every = reading.pattern("changes", row.on, line=line)
        if share is not None:
            found.append(PlannedChange(share, weekdays, every=every))
    return tuple(found)


def _bands(reading: Reading, form: WeekForm) -> tuple[Band, ...]:
    found: dict[str, Band] = {}
    for line, name, text in reading.rows("bands", form.bands):
        key = nutrient_named(name)
        if key is None:
            known = say("Write one of: {nutrients}.", nutrients=", ".join(NUTRIENTS))
            reading.wrong(
                "bands", say('"{name}" is nothing Littoral keeps account of.', name=name[:40]), known, line=line
            )
            continue
        match = _BAND.fullmatch(" ".join(text.split()))
        if match is None:
            right = say('Write it like "5 to 20 mg/L", "at least 5 mg/L" or "at most 20 mg/L".')
            reading.wrong("bands", say('{key} is "{text}".', key=key, text=text[:40]), right, line=line)
            continue
        low, high = match["least"] or match["low"], match["most"] or match["high"]
        if match["low"] and low.strip(_DIGITS) == "":
            low = f"{low} {high.lstrip(_DIGITS)}"  # "5 to 20 mg/L" names its unit once
        ends = [
            None if end is None else reading.amount("bands", end, "concentration", above_zero=False, line=line, of=key)
            for end in (low, high)
        ]
        if key in found:
            reading.wrong("bands", say("{key} is given twice.", key=key), say("Give it once."), line=line)
        elif any(end is not None for end in ends):
            with reading.trying("bands", line=line):
                found[key] = Band(key, ends[0], ends[1])
    return tuple(found.values())


def _light(reading: Reading, form: WeekForm, net_volume_l: float | None) -> StartingPoint | None:
    """The start that follows the light; light and planted area are given both or neither."""
    if not form.light.strip() and not form.planted.strip():
        return None
    ppfd = reading.number("light", form.light.removesuffix("µmol/m²/s"), high=3000.0)
    hours = reading.amount("light_hours", form.light_hours, "duration", at_most=1.0)
    planted = reading.number("planted", form.planted.removesuffix("m²"), high=1000.0)
    found: list[StartingPoint] = []
    if ppfd is not None and hours is not None and planted is not None and net_volume_l is not None:
        with reading.trying("light"):
            per_day = ppfd * hours * 86_400.0 / 1e6
            found.append(light_matched(light_mol_per_m2_per_day=per_day, planted_m2=planted, net_volume_l=net_volume_l))
    return found[0] if found else None


def _flow(reading: Reading, form: WeekForm, shelf: Shelf) -> dict[str, float]:
    found: dict[str, float] = {}
    for line, name, text in reading.rows("pump_flow", form.pump_flow):
        flow_l_per_day = reading.amount("pump_flow", text, "flow", line=line, of=name)
        if name not in shelf.bottles:
            right = say("Bottles there are: {shelf}.", shelf=", ".join(shelf.bottles))
            reading.wrong("pump_flow", say('is of "{name}", which is no bottle.', name=name[:40]), right, line=line)
        elif flow_l_per_day is not None:
            found[name] = flow_l_per_day * 1000.0 / 1440.0
    return found
