"""The plan of care and the margins of same care: `[schedule]` and `[same_care]`."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import time
from typing import Any

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.trial.gauges import GAUGES
from littoral.trial.model import Stand, Tank
from littoral.trial.schedule import PlannedTask, SameCare, Schedule, TaskKind
from littoral.trial.written.amounts import amount
from littoral.trial.written.moments import read_time
from littoral.trial.written.regimes import every_days
from littoral.trial.written.report import WrongValueError
from littoral.trial.written.table import Key, Keys, Table
from littoral.trial.written.values import show_value, some_of, text, weekdays

SCHEDULE_KEYS = {
    "bench": Key('["left", "right"]', "order in which the tanks stand; that of the file unless given"),
    "doses_at": Key('"18:00"', "local time at which doses are due; any time of the day unless given"),
    "changes_at": Key('"10:00"', "local time at which water changes are due; any time of the day unless given"),
    "tests": Key('[{ of = ["nitrate", "ph"], on = ["Fri"], at = "18:00" }]', "tests of the water; none unless given"),
    "trims": Key('[{ of = ["red-stem"], every = "14 days" }]', "trims; none unless given"),
    "photos": Key('[{ on = "every day", at = "19:00" }]', "photos; none unless given"),
}
TEST_KEYS = {
    "of": Key('["nitrate", "ph"]', "nutrients and gauges that are read", required=True),
    "on": Key('["Fri"]', 'weekdays, or "every day"; or `every` instead'),
    "every": Key('"14 days"', "so many days apart, the first on day 0"),
    "at": Key('"18:00"', "local time; any time of the day unless given"),
}
TRIM_KEYS = {
    "of": Key('["red-stem"]', "stands; the whole tank unless given"),
    "on": Key('["Sat"]', 'weekdays, or "every day"; or `every` instead'),
    "every": Key('"14 days"', "so many days apart, the first on day 0"),
    "at": Key('"10:00"', "local time; any time of the day unless given"),
}
PHOTO_KEYS = {
    "on": Key('"every day"', 'weekdays, or "every day"; or `every` instead'),
    "every": Key('"2 days"', "so many days apart, the first on day 0"),
    "at": Key('"19:00"', "local time; any time of the day unless given"),
}
SAME_CARE_KEYS = {
    "volume": Key('"5 %"', "net volume; 5 % unless given"),
    "temperature": Key('"0.5 °C"', "temperature; 0.5 °C unless given"),
    "light": Key('"15 min"', "hours of light a day; 15 min unless given"),
    "par": Key('"10 %"', "PAR; 10 % unless given"),
    "co2": Key('"5 mg/L"', "CO2 from pH and KH; 5 mg/L unless given"),
    "bubbles": Key('"10 %"', "CO2 bubbles per minute; 10 % unless given"),
    "changes": Key('"5 %"', "share of the water changed per week; 5 % unless given"),
    "trims": Key("0.25", "trims per week; 0.25 unless given"),
}
MARGINS: Mapping[str, float] = {
    "volume": 0.05,
    "temperature": 0.5,
    "light": 0.25,
    "par": 0.10,
    "co2": 5.0,
    "bubbles": 0.10,
    "changes": 0.05,
    "trims": 0.25,
}
"""Margins unless given: shares of 1, °C, h, mg/L and trims per week. Rules of thumb: common practice, no source."""


def read_schedule(root: Table, tanks: Mapping[str, Tank], stands: Mapping[str, Stand]) -> Schedule:
    """Read `[schedule]`; without one nothing but the regimes is planned."""
    table = root.table("schedule", SCHEDULE_KEYS, "the schedule")
    if table is None:
        return Schedule()
    readable = (*NUTRIENTS, *GAUGES)
    return Schedule(
        bench=table.optional("bench", _all_of(tanks), ()),
        doses_at=table.optional("doses_at", clock, None),
        changes_at=table.optional("changes_at", clock, None),
        tasks=(
            *(
                _task("test", row, row.required("of", some_of(readable, "things that can be read"), ()))
                for row in table.listed("tests", TEST_KEYS, "a planned test")
            ),
            *(
                _task("trim", row, row.optional("of", some_of(stands, "stands"), ()))
                for row in table.listed("trims", TRIM_KEYS, "a planned trim")
            ),
            *(_task("photo", row, ()) for row in table.listed("photos", PHOTO_KEYS, "a planned photo")),
        ),
    )


def read_same_care(root: Table) -> SameCare:
    """Read `[same_care]`; margins that are not given are `MARGINS`."""
    table = root.table("same_care", SAME_CARE_KEYS, "same care")
    if table is None:
        return SameCare(MARGINS)
    share = amount("fraction", above_zero=True)
    parsers = {
        "volume": share,
        "temperature": _degrees,
        "light": lambda value: 24 * amount("duration", above_zero=True)(value),
        "par": share,
        "co2": amount("concentration", above_zero=True),
        "bubbles": share,
        "changes": share,
        "trims": _above_zero,
    }
    return SameCare({key: table.optional(key, parse, MARGINS[key]) for key, parse in parsers.items()})


def _task(kind: TaskKind, row: Table, of: tuple[str, ...]) -> PlannedTask:
    none: tuple[int, ...] = ()
    days = row.optional("on", weekdays, none)
    every = row.optional("every", every_days, None)
    if ("on" in row) == ("every" in row):
        both = (
            "has both `on` and `every`" if "on" in row else "says neither `on` which weekdays nor `every` how many days"
        )
        row.wrong_at(row.path, f"A planned {kind} {both}.", 'Give one: on = ["Fri"], or every = "14 days".')
    return PlannedTask(kind, of, days if every is None else (), every, row.optional("at", clock, None))


def clock(value: Any) -> time:
    """Return a local time of day from text such as "18:30" (TOML's own 18:30:00 is read too)."""
    if isinstance(value, time):
        return value
    written = text(value)
    at, ahead = read_time(written)
    if ahead is not None:
        raise WrongValueError(f"is {show_value(value)}, with an offset.", "Write the time that the clock there shows.")
    return at


def _all_of(tanks: Iterable[str]) -> Any:
    known = tuple(tanks)
    some = some_of(known, "tanks")

    def parse(value: Any) -> tuple[str, ...]:
        order: tuple[str, ...] = some(value)
        missing = [tank for tank in known if tank not in order]
        if missing:
            raise WrongValueError(f"leaves out {', '.join(missing)}.", "Name every tank once, in the order they stand.")
        return order

    return parse


def _degrees(value: Any) -> float:
    """Return a difference of temperature, °C: 1 °F is 5/9 °C."""
    written = text(value)
    number, _, unit = written.replace("°", " °").partition(" ")
    try:
        size = float(number.replace(",", "."))
    except ValueError:
        raise WrongValueError(f"is {show_value(value)}, not a difference of temperature.") from None
    scale = {"c": 1.0, "k": 1.0, "f": 5 / 9}.get(unit.strip().removeprefix("°").strip().casefold())
    if scale is None or not 0 < size < 100:
        raise WrongValueError(f"is {show_value(value)}, not a difference of temperature.")
    return size * scale


def _above_zero(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not 0 < value < 1000:
        raise WrongValueError(f"is {show_value(value)}, not a number above zero.")
    return float(value)


SCHEDULE_SECTIONS: dict[str, Keys] = {
    "[schedule]": SCHEDULE_KEYS,
    "tests": TEST_KEYS,
    "trims": TRIM_KEYS,
    "photos": PHOTO_KEYS,
    "[same_care]": SAME_CARE_KEYS,
}
"""The sections of this file, for the reference page."""
