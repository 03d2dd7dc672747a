"""Which column of a growth test's table is which: by the words of its header, with the unit in brackets."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from littoral.acts.past_table.grid import Grid, letters_of
from littoral.errors import Fault
from littoral.findings.growth_test.model import Kind, Measured

_PLAIN: Mapping[str, str] = {
    "vessel": "vessel flask beaker pot jar dish well tube glass vesselname",
    "replicate": "replicate replicates rep",
    "dose": "dose arm treatment group concentration conc level",
    "day": "day days t time",
}
_SIZES: Mapping[Kind, str] = {
    "count": "fronds frond frondcount count counts plants plantlets leaves shoots",
    "length": "length shootlength totalshootlength height",
    "fresh mass": "mass weight freshmass freshweight wetmass wetweight fm fw",
    "dry mass": "drymass dryweight dm dw",
    "area": "area frondarea leafarea",
    "biomass": "biomass cells celldensity absorbance",
}
_MEANING = {word: key for key, words in (*_PLAIN.items(), *_SIZES.items()) for word in words.split()}
_KINDS: Mapping[str, Kind] = {kind: kind for kind in _SIZES}
_BRACKETS = re.compile(r"[(\[]\s*([^)\]]{0,20})\s*[)\]]")
_WIDE = re.compile(r"(?:day|d|t)\s*([0-9]+(?:[.,][0-9]+)?)", re.I)
HOURS = ("h", "hour", "hours")
ASKED = 'Columns are "vessel" (or "replicate"), "dose", "day", and what was measured: "fronds", "length (cm)", …'


@dataclass(frozen=True, slots=True)
class Columns:
    """Where things stand in a grid, places from 0. `row` is the header's row; `per_dose` says that vessels' names
    begin again for each dose. `sizes` are what was measured, each with its place; in a wide table, where every day has
    a column, `wide` holds (place, day) instead of `day`, and `sizes` one thing whose place is -1.

    `ignored` are headers of columns that were not read.
    """

    row: int
    vessel: int
    dose: int
    day: int
    per_dose: bool
    day_in_hours: bool
    dose_unit: str
    sizes: tuple[tuple[int, Measured], ...]
    wide: tuple[tuple[int, float], ...]
    ignored: tuple[str, ...]


def find_columns(grid: Grid, *, where: str) -> Columns | Fault:
    """Return the columns of a table, or what is missing. The header is the first row that names a vessel and a dose."""
    best: dict[str, int] = {}
    for row, cells in enumerate(grid.rows[:40]):
        named = {_MEANING[word]: place for place, word in reversed(_words(cells)) if word in _MEANING}
        if {"vessel", "replicate"} & named.keys() and "dose" in named:
            return _columns(row, cells, named, where=where, line=grid.lines[row])
        best = named if len(named) > len(best) else best
    missing = [word for word, there in (("vessel", {"vessel", "replicate"} & best.keys()), ("dose", "dose" in best))
               if not there]  # fmt: skip
    what = f"has no column {' and none '.join(f'“{word}”' for word in missing)}."
    return Fault(what, f"Name the columns in one row above the numbers. {ASKED}", where)


def _columns(row: int, cells: Sequence[str], named: Mapping[str, int], *, where: str, line: int) -> Columns | Fault:
    wide = tuple(
        (place, float(match[1].replace(",", ".")))
        for place, cell in enumerate(cells)
        if (match := _WIDE.fullmatch(cell.strip()))
    )
    sizes: list[tuple[int, Measured]] = []
    for place, word in _words(cells):
        kind = _MEANING.get(word)
        if kind is not None and kind in _KINDS:
            name = " ".join(_BRACKETS.sub("", cells[place]).split()).lower()
            if any(one.name == name for _, one in sizes):
                return Fault(f"has two columns “{name}”.", "Name each column once.", where, line)
            sizes.append((place, Measured(name, _KINDS[kind], unit_of(cells[place]))))
    if "day" not in named and wide:
        days = [day for _, day in wide]
        if sorted(set(days)) != days:
            return Fault("has columns of days that do not ascend.", "Put them in order, each once.", where, line)
        sizes = [(-1, Measured("fronds", "count", ""))]
    elif "day" not in named:
        return Fault("has no column “day”.", f"Say on which day each row was counted. {ASKED}", where, line)
    if not sizes:
        known = "fronds, count, length, fresh mass, dry mass, area or biomass"
        return Fault("has no column of what was measured.", f"Call it {known}, with its unit in brackets.", where, line)
    vessel = named.get("vessel", named.get("replicate", -1))
    read = {vessel, named["dose"], named.get("day", -1), *(place for place, _ in sizes), *(place for place, _ in wide)}
    return Columns(
        row=row,
        vessel=vessel,
        dose=named["dose"],
        day=named.get("day", -1),
        per_dose="vessel" not in named,
        day_in_hours="day" in named and unit_of(cells[named["day"]]).lower() in HOURS,
        dose_unit=unit_of(cells[named["dose"]]),
        sizes=tuple(sizes),
        wide=() if "day" in named else wide,
        ignored=tuple(
            f"{cell} ({letters_of(place)})" for place, cell in enumerate(cells) if cell and place not in read
        ),
    )


def unit_of(header: str) -> str:
    """Return the unit in a header's brackets, "" where it has none."""
    match = _BRACKETS.search(header)
    return match[1].strip() if match else ""


def _words(cells: Sequence[str]) -> list[tuple[int, str]]:
    return [(place, re.sub(r"[\W_]", "", _BRACKETS.sub("", cell)).lower()) for place, cell in enumerate(cells)]
