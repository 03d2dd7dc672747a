"""Reads what a bottle is measured with: a stated size, strokes counted into a cylinder, a level spoon of a salt."""

from __future__ import annotations

import re

from littoral.acts.mix_and_feed.bottle_form import BottleForm
from littoral.acts.mix_and_feed.reading import Reading
from littoral.feeding.bottles import Bottle
from littoral.feeding.spoons import BulkDensity, SpoonHolds, spoon_holds
from littoral.feeding.tools import STROKES_INTO_A_CYLINDER, StrokeSize, Tool, calibrate_strokes
from littoral.speech.say import say
from littoral.trial.written.report import WrongValueError

MOST_STEPS = {"stroke": 20, "drop": 60, "mL": 40, "g": 40, "spoon": 10}
MOST_READINGS = 20
Sized = StrokeSize | SpoonHolds
"""A tool whose size is found here, not stated, with its spread and its derivation."""
_SPOON = re.compile(r"(?P<volume>.+?)\s+(?:level\s+)?spoons?", re.IGNORECASE)
_NUMBER = re.compile(r"[0-9][0-9.,]*(?<![.,])|[.,][0-9]+", re.ASCII)


def read_strokes(reading: Reading, form: BottleForm, place: str) -> StrokeSize | None:
    """Return the size of a pump's stroke from cylinder readings, "12.0 11.8 12.1 mL"; None where none are given."""
    field = f"{place}.cylinder"
    counted = reading.number(
        f"{place}.cylinder_strokes", form.cylinder_strokes or f"{STROKES_INTO_A_CYLINDER}", low=1.0, high=1000.0
    )
    if not form.cylinder.strip():
        return None
    if form.dry.strip():
        reading.wrong(
            field, say("is of a pump, but this salt is dosed dry."), say("Measure it on a scale or by a level spoon.")
        )
        return None
    if counted is not None and counted != int(counted):
        reading.wrong(
            f"{place}.cylinder_strokes",
            say('is "{cylinder_strokes}".', cylinder_strokes=form.cylinder_strokes),
            say("Give a whole number of strokes."),
        )
        return None
    numbers = reading.parse(field, form.cylinder, _numbers) or []
    readings_ml = [reading.amount(field, number, "dose volume", at_most=1e4) for number in numbers]
    if not readings_ml or counted is None or any(ml is None for ml in readings_ml):
        return None
    found: list[StrokeSize] = []
    with reading.trying(field):
        found.append(calibrate_strokes([ml for ml in readings_ml if ml is not None], int(counted)))
    return found[0] if found else None


def read_tool(
    reading: Reading, form: BottleForm, bottle: Bottle, strokes: StrokeSize | None, place: str
) -> tuple[Tool | None, Sized | None]:
    """Return the tool of a bottle, and how its size was found where it was; a counted pump needs no naming."""
    text, field = form.tool.strip(), f"{place}.tool"
    if strokes is not None and text in ("", "stroke"):
        return strokes.tool(most_steps=MOST_STEPS["stroke"]), strokes
    if not text:
        return None, None
    if text in ("stroke", "drop"):
        size = bottle.stroke_ml if text == "stroke" else bottle.drop_ml
        if size is None:
            if not any(fault.where in (f"{place}.{text}", f"{place}.cylinder") for fault in reading.faults):
                reading.wrong(
                    field,
                    say("is a {text}, whose size is not given.", text=text),
                    say('Give the {text}, such as "1.1 mL".', text=text),
                )
            return None, None
        return Tool("stroke" if text == "stroke" else "drop", size, most_steps=MOST_STEPS[text]), None
    spoon = _SPOON.fullmatch(text)
    if spoon is not None:
        held = _spoon(reading, form, bottle, spoon["volume"], place)
        return (None if held is None else held.tool(most_steps=MOST_STEPS["spoon"])), held
    step = reading.amount(field, text, "mass" if bottle.dry_formula else "dose volume", at_most=1e4)
    if step is None:
        return None, None
    unit = "g" if bottle.dry_formula else "mL"
    return Tool("g" if unit == "g" else "mL", step, most_steps=MOST_STEPS[unit]), None


def _spoon(reading: Reading, form: BottleForm, bottle: Bottle, volume: str, place: str) -> SpoonHolds | None:
    """What a level spoon holds of a dry salt; its bulk density is the table's unless the form has one."""
    field = f"{place}.tool"
    spoon_ml = reading.amount(field, volume, "dose volume", at_most=1000.0)
    bulk = reading.range(f"{place}.bulk", form.bulk, "density", needed=False)
    if not bottle.dry_formula:
        reading.wrong(field, say("is a spoon, but the bottle is a liquid."), say("Measure it in mL, strokes or drops."))
        return None
    if spoon_ml is None or (bulk is None and form.bulk.strip()):
        return None
    known = None if bulk is None else BulkDensity(bottle.dry_formula, bulk.low, bulk.high, "your own figure")
    found: list[SpoonHolds] = []
    with reading.trying(field):
        found.append(spoon_holds(bottle.dry_formula, spoon_ml=spoon_ml, density=known))
    return found[0] if found else None


def _numbers(text: str) -> list[str]:
    """Split "12.0 11.8 12.1 mL" into amounts with their unit. Raises WrongValueError."""
    right = say("Write what the cylinder showed each time, and the unit once: 12.0 11.8 12.1 mL.")
    units = {word.strip(",;") for word in _NUMBER.sub(" ", text).split()} - {"", "and"}
    numbers = _NUMBER.findall(text)
    if len(units) != 1 or not numbers:
        what = f'is "{text[:60]}"' + (", without a unit." if numbers and not units else ".")
        raise WrongValueError(what, right)
    if len(numbers) > MOST_READINGS:
        raise WrongValueError(
            say("has {numbers} readings.", numbers=len(numbers)),
            say("Give at most {most_readings}.", most_readings=MOST_READINGS),
        )
    unit = units.pop()
    return [f"{number} {unit}" for number in numbers]
