"""The form that starts a trial: few fields, each with a default that is right for most."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from littoral.errors import Fault
from littoral.speech.say import later
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
        later("What is the trial about?"),
        later("One line; it stands on the sheet and in the film."),
        "Sparing or full feeding in two tanks",
        MAX_TITLE_CHARS,
    ),
    Field(
        "glass",
        later("Inside of the glass"),
        later("Length x width x height. Both tanks are taken to be alike."),
        "60 x 30 x 30 cm",
        40,
    ),
    Field(
        "start",
        later("First day"),
        later("Day 0: the day everything is planted."),
        "",
        10,
        "date",
    ),
    Field("length", later("How long"), later("Baseline included. Growth needs weeks to show."), "8 weeks", 20),
    Field("baseline", later("Baseline"), later("Kept alike for so long before one thing is changed."), "2 weeks", 20),
    Field("first", later("First regime"), later("What one tank gets, and both in the baseline."), "sparing", 40),
    Field(
        "second",
        later("Second regime"),
        later("What the other tank gets. Which one it is is drawn by lot."),
        "full",
        40,
    ),
    Field("zone", later("Time zone"), later("Where the tanks' clock hangs; days begin at its midnight."), "", 64),
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


def beside_fields(faults: Sequence[Fault]) -> Mapping[str, tuple[str, ...]]:
    """Return what is wrong by the name of the field it belongs beside, "" where it belongs to none.

    A fault of the trial file that the form would make names its key (`tanks.left.glass`), which is a field's name or
    one of the two regimes; the person who fills in the form has never seen that file, so it is not spoken of.
    """
    found: dict[str, list[str]] = {}
    for fault in faults:
        said = found.setdefault(_field_of(fault), [])
        right = re.sub(r'`[a-z_]+ = ("[^"]*")`', r"\1", fault.right)  # the value alone, as the field takes it
        words = f"{_of_this(fault.what)} {right}".strip()
        if words not in said:
            said.append(words)
    return {name: tuple(said) for name, said in found.items()}


def _field_of(fault: Fault) -> str:
    names = {field.name for field in FIELDS}
    if fault.where in names:
        return fault.where
    key = re.match(r"`([^`]+)`", fault.what)
    parts = key.group(1).split(".") if key else []
    return next((part for part in reversed(parts) if part in names), "")


def _of_this(what: str) -> str:
    rest = re.sub(r"^`[^`]+` ", "", what)
    return f"This {rest}" if rest.startswith(("is ", "has ")) else rest
