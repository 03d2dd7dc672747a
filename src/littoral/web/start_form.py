"""The form that starts a trial: few fields, each with a default that is right for most."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from littoral.errors import Fault
from littoral.web.limits import MAX_TITLE_CHARS


@dataclass(frozen=True, slots=True)
class Field:
    """One field: what it is called in the form and to a person, what it proposes, how long it may be."""

    name: str
    label: str
    help: str
    proposed: str
    longest: int
    type: str = "text"


FIELDS = (
    Field(
        "title",
        "What is the trial about?",
        "One line; it stands on the sheet and in the film.",
        "Sparing or full feeding in two tanks",
        MAX_TITLE_CHARS,
    ),
    Field(
        "glass",
        "Inside of the glass",
        "Length x width x height. Both tanks are taken to be alike.",
        "60 x 30 x 30 cm",
        40,
    ),
    Field(
        "start",
        "First day",
        "Day 0: the day everything is planted.",
        "",
        10,
        "date",
    ),
    Field("length", "How long", "Baseline included. Growth needs weeks to show.", "8 weeks", 20),
    Field("baseline", "Baseline", "Kept alike for so long before one thing is changed.", "2 weeks", 20),
    Field("first", "First regime", "What one tank gets, and both in the baseline.", "sparing", 40),
    Field("second", "Second regime", "What the other tank gets. Which one it is is drawn by lot.", "full", 40),
    Field("zone", "Time zone", "Where the tanks' clock hangs; days begin at its midnight.", "", 64),
)


def first_values(today: date, *, zone: str) -> Mapping[str, str]:
    """Return what the form proposes on `today` in `zone`: a start tomorrow, so that there is an evening to prepare."""
    values = {field.name: field.proposed for field in FIELDS}
    return {**values, "start": (today + timedelta(days=1)).isoformat(), "zone": zone}


def too_long(values: Mapping[str, str]) -> tuple[Fault, ...]:
    """Return a fault for each field that holds more characters than it may."""
    return tuple(
        Fault(f"has {len(values[field.name])} characters.", f"Write at most {field.longest}.", field.name)
        for field in FIELDS
        if len(values.get(field.name, "")) > field.longest
    )
