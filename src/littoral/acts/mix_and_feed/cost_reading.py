"""Reads the form of costs: what is used, what stands on the shelf, prices and rates, in canonical units."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from littoral.acts.mix_and_feed.cost_form import BoughtForm, CostForm, KitForm, PowerForm
from littoral.acts.mix_and_feed.dose_reading import read_doses, read_weekly
from littoral.acts.mix_and_feed.laying_out import whole_week
from littoral.acts.mix_and_feed.reading import Reading
from littoral.acts.mix_and_feed.shelf_reading import LARGEST_TANK_L, Shelf, read_shelf, today_or
from littoral.feeding.bottles import Pack
from littoral.feeding.ranges import Range
from littoral.feeding.regimes import Regime
from littoral.feeding.running_costs import (
    CostLine,
    bought_once_line,
    gas_line,
    kit_line,
    minutes_line,
    power_line,
    water_line,
)
from littoral.feeding.supply import Ingredient, Stock, ingredient_of
from littoral.speech.say import say

DAYS_PER_WEEK = 7.0
PARTS = ("equipment", "plants")
MOST_TANKS = 1000.0


@dataclass(frozen=True, slots=True)
class Compared:
    """Another way to feed or to run, with what it costs at the start and a week."""

    name: str
    start: Range
    week: Range


@dataclass(frozen=True, slots=True)
class ReadCosts:
    """A form of costs in canonical units. `net_volume_l` is all tanks together; `lines` are all parts but feeding."""

    shelf: Shelf
    regime: Regime
    tanks: int
    net_volume_l: float
    uncertainty: float
    lines: tuple[CostLine, ...]
    packs: dict[Ingredient, Pack]
    left: dict[Ingredient, Stock]
    other: Compared | None
    today: date
    weeks: float
    lead_days: int


def read_costs(reading: Reading, form: CostForm, today: date | None) -> ReadCosts | None:
    """Return a form of costs in canonical units; None where it holds a mistake, which `reading` then knows."""
    shelf = read_shelf(reading, form.bottles)
    unsure = bool(reading.faults)
    doses = (
        *read_doses(reading, form.doses, shelf, unsure=unsure),
        *read_weekly(reading, form.weekly, shelf, whole_week, unsure=unsure),
    )
    regime = Regime("week", "week", tuple(one.dose for one in doses))
    net = reading.amount("net_volume", form.net_volume, "volume", at_most=LARGEST_TANK_L)
    tanks = reading.number("tanks", form.tanks, low=1.0, high=MOST_TANKS)
    if tanks is not None and tanks != int(tanks):
        reading.wrong("tanks", say('is "{tanks}".', tanks=form.tanks), say("Give a whole number of tanks."))
    uncertainty = reading.amount("uncertainty", form.uncertainty or "0 %", "fraction", above_zero=False)
    lines = [
        *_gas(reading, form),
        *_power(reading, form.power, form.kwh_price),
        *_water(reading, form),
        *_kits(reading, form.kits),
        *_things(reading, form.things),
        *_minutes(reading, form),
    ]
    on = today_or(reading.day("today", form.today), today)
    packs = packs_of(shelf)
    left = {} if unsure else _left(reading, form, shelf, packs)
    other = _other(reading, form)
    days = reading.amount("weeks", form.weeks, "duration", at_most=36_500.0)
    lead = reading.amount("lead", form.lead, "duration", above_zero=False, at_most=3650.0)
    numbers = (net, tanks, uncertainty, days, lead)
    if reading.faults or any(value is None for value in numbers):
        return None
    assert net is not None
    assert tanks is not None
    assert uncertainty is not None
    assert days is not None
    assert lead is not None
    return ReadCosts(
        shelf=shelf,
        regime=regime,
        tanks=int(tanks),
        net_volume_l=net * tanks,
        uncertainty=uncertainty,
        lines=tuple(lines),
        packs=packs,
        left=left,
        other=other,
        today=on,
        weeks=days / DAYS_PER_WEEK,
        lead_days=round(lead),
    )


def packs_of(shelf: Shelf) -> dict[Ingredient, Pack]:
    """Return the pack of each thing that is bought; a salt that two bottles are made from has one, the first stated."""
    found: dict[Ingredient, Pack] = {}
    for key, bottle in shelf.bottles.items():
        for name, one in bottle.packs.items():
            thing = Ingredient(key, one.unit) if name == "bottle" else ingredient_of(name, one.unit)
            found.setdefault(thing, one)
    return found


def _left(reading: Reading, form: CostForm, shelf: Shelf, packs: dict[Ingredient, Pack]) -> dict[Ingredient, Stock]:
    """What is left of each thing: a full pack unless the form says otherwise."""
    known: dict[str, Ingredient] = {one.name: one for one in packs}
    for key, bottle in shelf.bottles.items():
        for salt in bottle.salts():
            known.setdefault(ingredient_of(salt, "g").name, ingredient_of(salt, "g"))
        if not bottle.salts():
            known.setdefault(key, Ingredient(key, "ml"))

    def thing(field: str, name: str, line: int) -> Ingredient | None:
        found = known.get(name) or known.get(ingredient_of(name, "g").name)
        if found is None:
            reading.wrong(
                field,
                say('is of "{name}".', name=name[:40]),
                say("Name one of: {known}.", known=", ".join(known)),
                line=line,
            )
        return found

    amounts = {each: pack.content for each, pack in packs.items()}
    bought: dict[Ingredient, date] = {}
    keeps: dict[Ingredient, float] = {}
    for line, name, text in reading.rows("left", form.left):
        one = thing("left", name, line)
        if one is not None:
            kind = "mass" if one.unit == "g" else "dose volume"
            value = reading.amount("left", text, kind, above_zero=False, line=line, of=name)
            amounts[one] = value or 0.0
    for line, name, text in reading.rows("bought", form.bought):
        one, day = thing("bought", name, line), reading.day("bought", text)
        if one is not None and day is not None:
            bought[one] = day
    for line, name, text in reading.rows("keeps", form.keeps):
        one, days = thing("keeps", name, line), reading.amount("keeps", text, "duration", line=line, of=name)
        if one is not None and days is not None:
            keeps[one] = days
            if one not in bought:
                reading.wrong(
                    "bought",
                    say("does not say when {name} was bought, but it keeps {text}.", name=name, text=text),
                    say("Say when."),
                )
    known_days = {each: timedelta(days=min(kept, 36_500.0)) for each, kept in keeps.items() if each in bought}
    spoils = {each: bought[each] + kept_for for each, kept_for in known_days.items()}
    return {each: Stock(amount, spoils.get(each)) for each, amount in amounts.items()}


def _gas(reading: Reading, form: CostForm) -> list[CostLine]:
    fields = {"gas_fill": form.gas_fill, "gas_price": form.gas_price, "gas_per_day": form.gas_per_day}
    if not any(text.strip() for text in fields.values()):
        return []
    fill = reading.range("gas_fill", form.gas_fill, "mass")
    price = reading.range("gas_price", form.gas_price)
    per_day = reading.range("gas_per_day", form.gas_per_day, "mass")
    found: list[CostLine] = []
    if fill is not None and price is not None and per_day is not None:
        with reading.trying("gas_fill"):
            found.append(gas_line(price_per_fill=price, fill_g=fill, g_per_day=per_day))
    return found


def _power(reading: Reading, rows: tuple[PowerForm, ...], kwh_price: str) -> list[CostLine]:
    rows_in_use = [(line, row) for line, row in enumerate(rows, start=1) if row.watts.strip() or row.hours.strip()]
    if not rows_in_use:
        return []
    price = reading.range("kwh_price", kwh_price)
    found: list[CostLine] = []
    for line, row in rows_in_use:
        name = row.name.strip() or "power"
        watts = reading.range("power", row.watts.removesuffix("W"), line=line, of=name)
        hours = reading.range("power", row.hours.removesuffix("h"), line=line, of=name)
        if price is not None and watts is not None and hours is not None:
            with reading.trying("power", line=line):
                found.append(power_line(name, watts=watts, hours_per_day=hours, price_per_kwh=price))
    return found


def _water(reading: Reading, form: CostForm) -> list[CostLine]:
    if not form.water_per_week.strip() and not form.water_m3_price.strip():
        return []
    litres = reading.range("water_per_week", form.water_per_week, "volume")
    price = reading.range("water_m3_price", form.water_m3_price)
    if litres is None or price is None:
        return []
    return [water_line(litres_per_week=litres, price_per_m3=price)]


def _kits(reading: Reading, rows: tuple[KitForm, ...]) -> list[CostLine]:
    found: list[CostLine] = []
    for line, row in enumerate(rows, start=1):
        if not (row.name.strip() or row.price.strip()):
            continue
        name = row.name.strip() or "test kit"
        price = reading.range("kits", row.price, line=line, of=f"the price of {name}")
        tests = reading.range("kits", row.tests, line=line, of=f"the tests of {name}")
        rate = reading.range("kits", row.per_week, line=line, of=f"the use of {name}")
        if price is not None and tests is not None and rate is not None:
            with reading.trying("kits", line=line):
                found.append(kit_line(name, price=price, tests=tests, tests_per_week=rate))
    return found


def _things(reading: Reading, rows: tuple[BoughtForm, ...]) -> list[CostLine]:
    found: list[CostLine] = []
    for line, row in enumerate(rows, start=1):
        if not (row.name.strip() or row.price.strip()):
            continue
        name = row.name.strip() or "equipment"
        part = reading.one_of("things", row.part, PARTS)
        price = reading.range("things", row.price, line=line, of=f"the price of {name}")
        days = reading.amount(
            "things", _in_days(row.life), "duration", needed=False, line=line, of=f"the life of {name}"
        )
        left = reading.range("things", row.left_over, needed=False, line=line, of=f"what is left of {name}")
        if price is not None:
            with reading.trying("things", line=line):
                found.append(
                    bought_once_line(
                        "plants" if part == "plants" else "equipment",
                        name,
                        price=price,
                        life_weeks=None if days is None else days / DAYS_PER_WEEK,
                        left_over=0.0 if left is None else left,
                    )
                )
    return found


def _in_days(life: str) -> str:
    """ "5 years" as days: a year is no unit of the doses, and has 365.25 of them."""
    number, _, unit = life.strip().partition(" ")
    if unit.strip() in ("year", "years") and number.replace(".", "", 1).isdecimal():
        return f"{float(number) * 365.25:g} days"
    return life


def _minutes(reading: Reading, form: CostForm) -> list[CostLine]:
    """Care costs only where a price of an hour is asked for."""
    if not form.hour.strip():
        return []
    minutes = reading.range("minutes", form.minutes.removesuffix("min"))
    price = reading.range("hour", form.hour)
    if minutes is None or price is None:
        return []
    return [minutes_line(minutes_per_week=minutes, per_hour=price)]


def _other(reading: Reading, form: CostForm) -> Compared | None:
    if not (form.other_start.strip() or form.other_week.strip()):
        return None
    start, week = reading.range("other_start", form.other_start), reading.range("other_week", form.other_week)
    if start is None or week is None:
        return None
    return Compared(" ".join(form.other_name.split()) or "the other way", start, week)
