"""The tables of entries: one of all, and one for each kind with what that kind says."""

from __future__ import annotations

import types
import typing
from collections.abc import Mapping
from dataclasses import fields
from functools import cache

from littoral.logbook.payloads import KINDS
from littoral.publish.package.columns import Column, ForeignKey, TableSpec, Type

ENTRIES = TableSpec(
    "entries",
    "All entries",
    "Everything that was recorded, in one stream. What a kind says besides stands in the table of that kind.",
    (
        Column("entry", "string", "identifier of the entry", required=True),
        Column("at", "datetime", "when it happened, UTC", required=True),
        Column("day", "number", "days since day 0: whole part local date, fraction share of that day", "days", True),
        Column("zone", "string", "time zone it was recorded in (IANA name)", required=True),
        Column("tank", "string", "the tank; empty where a view says it or none is meant"),
        Column("kind", "string", "kind of entry, and with it the table", required=True, one_of=tuple(KINDS)),
        Column("in_force", "boolean", "false where a later entry corrects or withdraws it", required=True),
        Column("supersedes", "string", "the entry that this one corrects or withdraws"),
        Column("who", "string", "who recorded it"),
        Column("note", "string", "side note"),
        Column("origin", "string", "name of the file that it was a row of"),
    ),
    ("entry",),
    (ForeignKey("tank", "tanks", "tank"), ForeignKey("supersedes", "", "entry")),
)

TITLES: Mapping[str, tuple[str, str]] = {
    "dose": ("doses", "Doses given or missed"),
    "water change": ("water_changes", "Water changes"),
    "top-up": ("top_ups", "Water added against evaporation"),
    "trim": ("trims", "Trims, with the mass taken out where it was weighed"),
    "reading": ("readings", "Test results, each with the range that it stands for"),
    "gauge reading": ("gauge_readings", "What was read off besides nutrients, with the range it stands for"),
    "score": ("scores", "Conditions judged by eye, in steps from 0 to 4"),
    "living": ("living", "Animals and plants that came or left"),
    "equipment": ("equipment", "Changes of equipment"),
    "skipped": ("skipped", "Planned tasks that were let go"),
    "photo": ("photos", "Photos, by the SHA-256 of their file"),
    "care": ("care", "Minutes of care"),
    "note": ("notes", "Notes"),
    "withdrawn": ("withdrawn", "Entries that no longer hold, and why"),
    "override": ("overrides", "That a published limit was passed on purpose"),
    "drawing": ("drawings", "Views drawn anew: corners, widths and regions from a day on"),
    "taught look": ("taught_looks", "Brush strokes on photos that teach a stand's look"),
}
"""Each kind's table and title."""

WORDS: Mapping[tuple[str, str], tuple[str, str]] = {
    ("dose", "of"): ("", "short name of the bottle or dry salt"),
    ("dose", "ml"): ("mL", "volume given; empty for a dry salt"),
    ("dose", "g"): ("g", "mass given; empty for a bottle"),
    ("dose", "given"): ("", "false for a planned dose that was missed"),
    ("dose", "written"): ("", "the amount as it was measured, such as 2 strokes"),
    ("dose", "for_date"): ("", "the planned day that it makes up for (ISO date)"),
    ("water change", "share"): ("1", "share of the net volume replaced, 0 to 1"),
    ("top-up", "litres"): ("L", "volume added"),
    ("trim", "stand"): ("", "the stand; empty for the whole tank"),
    ("trim", "left_cm"): ("cm", "height left"),
    ("trim", "wet_g"): ("g", "wet mass taken out"),
    ("trim", "minutes"): ("min", "minutes it took"),
    ("reading", "nutrient"): ("", "what was tested, as the ion: nitrate as NO3, phosphate as PO4"),
    ("reading", "low_mg_per_l"): ("mg/L", "lower end of the range that the result stands for"),
    ("reading", "high_mg_per_l"): ("mg/L", "upper end of that range; INF where it was off the scale"),
    ("reading", "method"): ("", "how it was tested"),
    ("reading", "shown"): ("", "what the test showed"),
    ("gauge reading", "gauge"): ("", "what was read; its unit stands in the table gauges"),
    ("gauge reading", "low"): ("", "lower end of the range, in the gauge's unit"),
    ("gauge reading", "high"): ("", "upper end of the range, in the gauge's unit"),
    ("gauge reading", "method"): ("", "how it was read"),
    ("gauge reading", "shown"): ("", "what was shown"),
    ("score", "scale"): ("", "the scale"),
    ("score", "step"): ("", "step of that scale, 0 to 4; steps are ranks"),
    ("score", "stand"): ("", "the stand; empty for the whole tank"),
    ("living", "group"): ("", "animals or plants"),
    ("living", "what"): ("", "which"),
    ("living", "count"): ("", "how many"),
    ("living", "change"): ("", "added, removed or died"),
    ("equipment", "what"): ("", "which piece"),
    ("equipment", "change"): ("", "what was done or set"),
    ("skipped", "task"): ("", "which planned task"),
    ("photo", "sha256"): ("", "SHA-256 of the photo's file"),
    ("photo", "view"): ("", "the camera position"),
    ("photo", "dated_by"): ("", "how its time was known"),
    ("photo", "file_name"): ("", "name of the file when it came in"),
    ("photo", "doubts"): ("", "what made it look wrong when it came in"),
    ("photo", "decided"): ("", "what a person made of the doubts; empty where nobody has decided"),
    ("care", "minutes"): ("min", "minutes of care"),
    ("note", "text"): ("", "the note"),
    ("withdrawn", "reason"): ("", "why"),
    ("override", "act"): ("", "on which sheet"),
    ("override", "of"): ("", "short name of bottle or arm"),
    ("override", "limit"): ("", "the limits passed"),
    ("override", "said"): ("", "level and limit, as they were shown"),
    ("override", "reason"): ("", "the reason given"),
    ("drawing", "view"): ("", "the camera position"),
    ("drawing", "from_day"): ("days", "day of the trial from which on it holds"),
    ("drawing", "panes"): ("", "tanks with their corners, widths and regions, as JSON"),
    ("taught look", "view"): ("", "the camera position"),
    ("taught look", "stand"): ("", "the stand"),
    ("taught look", "sha256"): ("", "SHA-256 of the file of the photo that was drawn on"),
    ("taught look", "from_day"): ("days", "day of the trial from which on it holds"),
    ("taught look", "strokes"): ("", "what is the stand and what is not, in pixels of the view's frame, as JSON"),
}
"""Unit and meaning of each field of each kind; a test sees to it that none is missing."""

LEFT_OUT = frozenset({("photo", "camera")})
"""Fields that no package holds: a device is nobody's business, and no finding rests on it."""

LINKS: Mapping[tuple[str, str], tuple[str, str]] = {
    ("dose", "of"): ("bottles", "bottle"),
    ("trim", "stand"): ("stands", "stand"),
    ("score", "stand"): ("stands", "stand"),
    ("photo", "view"): ("views", "view"),
    ("drawing", "view"): ("views", "view"),
    ("taught look", "view"): ("views", "view"),
    ("taught look", "stand"): ("stands", "stand"),
    ("gauge reading", "gauge"): ("gauges", "gauge"),
}


@cache
def kind_table(kind: str) -> TableSpec:
    """Return the table of a kind (`logbook.payloads.KINDS`); its columns are the payload's fields after `entry`."""
    name, title = TITLES[kind]
    own = tuple(_column(kind, field, annotation) for field, annotation in _fields(kind).items())
    links = tuple(ForeignKey(field, *to) for (of, field), to in LINKS.items() if of == kind)
    first = (
        Column("entry", "string", "the entry, see the table entries", required=True),
        Column("day", "number", "as in entries", "days", required=True),
        Column("tank", "string", "as in entries"),
    )
    return TableSpec(
        name, title, title + ".", (*first, *own), ("entry",), (ForeignKey("entry", "entries", "entry"), *links)
    )


def fields_of(kind: str) -> Mapping[str, bool]:
    """Return each field of a kind's payload, and whether it can be None (an empty text is not None)."""
    return {name: type(None) in typing.get_args(said) for name, said in _fields(kind).items()}


def _fields(kind: str) -> dict[str, typing.Any]:
    cls = KINDS[kind]
    hints = typing.get_type_hints(cls)
    return {field.name: hints[field.name] for field in fields(cls) if (kind, field.name) not in LEFT_OUT}


def _column(kind: str, name: str, annotation: typing.Any) -> Column:
    unit, meaning = WORDS[kind, name]
    optional = isinstance(annotation, types.UnionType) or typing.get_origin(annotation) is typing.Union
    plain = next(one for one in typing.get_args(annotation) if one is not type(None)) if optional else annotation
    said = typing.get_args(plain) if typing.get_origin(plain) is typing.Literal else ()
    one_of = tuple(str(one) for one in said if one)  # an empty text is an empty cell
    kinds: dict[typing.Any, Type] = {float: "number", int: "integer", bool: "boolean", str: "string"}
    made = "array" if typing.get_origin(plain) is tuple else kinds.get(plain, "string")
    low = 0.0 if made in ("number", "integer") and kind != "gauge reading" else None
    needed = not optional and (made != "string" or bool(one_of)) and "" not in said
    return Column(name, made, meaning, unit, needed, one_of, low)
