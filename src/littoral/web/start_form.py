"""The form that starts a trial: few fields, each with a default that is right for most."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

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
)


def first_values(today: date) -> Mapping[str, str]:
    """Return what the form proposes on `today`: a start tomorrow, so that there is an evening to prepare."""
    values = {field.name: field.proposed for field in FIELDS}
    values["start"] = (today + timedelta(days=1)).isoformat()
    return values
