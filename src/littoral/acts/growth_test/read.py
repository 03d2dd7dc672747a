"""A growth test's table to vessels: every cell that cannot be used is a fault at its row and column."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

import numpy as np

from littoral.acts.growth_test.columns import Columns, find_columns
from littoral.acts.past_table.grid import Grid, letters_of
from littoral.errors import Fault, FaultsError
from littoral.findings.growth_test.model import Group, GrowthTable, Measured, Sizes, Vessel
from littoral.findings.growth_test.words import listed
from littoral.quantities.numbers import has_decimal_comma, plain_number, two_readings

CONTROL_WORDS = ("control", "controls", "kontrolle", "blank", "untreated", "0 (control)")
MOST_VESSELS = 400
MOST_DAYS = 400
MOST_GROUPS = 40
LARGEST = 1e12
"""Larger numbers are slips of the hand."""
SHORTEST_DAYS = 0.001
HOURS_IN_A_DAY = 24.0
_EXPONENT = re.compile(r"[0-9]+(\.[0-9]+)?e[-+]?[0-9]{1,3}", re.I | re.ASCII)


class _Reading:
    """Collects what a table says and what is wrong with it."""

    def __init__(self, grid: Grid, columns: Columns, where: str) -> None:
        self.grid, self.columns, self.where = grid, columns, where
        self.faults: list[Fault] = []
        self.points_are_decimal = grid.separator not in (";", "\t") or not any(
            has_decimal_comma(cell) for row in grid.rows[columns.row + 1 :] for cell in row
        )
        self.sizes: dict[str, dict[str, dict[float, tuple[float, int]]]] = {}
        self.group_of: dict[str, tuple[str, int]] = {}
        self.shown: dict[str, str] = {}

    def wrong(self, place: int, line: int, what: str, right: str) -> None:
        header = self.grid.rows[self.columns.row]
        name = header[place] if place < len(header) else ""
        self.faults.append(Fault(what, right, f"{self.where}, column {letters_of(place)} ({name})", line))

    def number(self, row: Sequence[str], place: int, line: int) -> float | None:
        text = row[place].strip()
        if text.startswith(("-", "−")):
            self.wrong(place, line, f"is {text[:20]}, below zero.", "Give 0 or more.")
            return None
        readings = two_readings(text, points_are_decimal=self.points_are_decimal)
        if readings is not None:
            right = f"Write {readings[0]} or {readings[1]}."
            self.wrong(place, line, f'is "{text}", which may be {readings[0]} or {readings[1]}.', right)
            return None
        digits = plain_number(text)
        if digits is None:
            value = _with_exponent(text)
            if value is None:
                self.wrong(place, line, f'is "{text[:30]}", no number.', "Give a number, or leave the cell empty.")
                return None
        else:
            value = float(digits)
        if value > LARGEST:
            self.wrong(place, line, f'is "{text[:30]}", larger than anything that is counted.', "Look at the number.")
            return None
        return value

    def row(self, row: Sequence[str], line: int) -> None:
        columns = self.columns
        cells = [*row, *[""] * (self.grid.width - len(row))]
        name, dose = cells[columns.vessel], cells[columns.dose]
        if not name or not dose:
            place = columns.vessel if not name else columns.dose
            self.wrong(place, line, "is empty.", "Say which vessel and which dose each row is of.")
            return
        group = self.group(dose)
        vessel = f"{dose}, {name}" if columns.per_dose else name
        before = self.group_of.setdefault(vessel, (group, line))
        if before[0] != group:
            what = (
                f'puts vessel "{name[:30]}" under {dose[:30]}; in line {before[1]} it is under {self.shown[before[0]]}.'
            )
            right = 'Give each vessel one dose; where numbers begin again for each dose, call the column "replicate".'
            self.wrong(columns.dose, line, what, right)
            return
        if columns.wide:
            for place, day in columns.wide:
                self.size(vessel, columns.sizes[0][1], cells, place, day, line)
            return
        if not cells[columns.day]:
            self.wrong(columns.day, line, "is empty.", "Give the day since the test began: 0, 3, 5, 7.")
            return
        told = self.number(cells, columns.day, line)
        if told is None:
            return
        day = told / HOURS_IN_A_DAY if columns.day_in_hours else told
        for place, measured in columns.sizes:
            self.size(vessel, measured, cells, place, day, line)

    def size(self, vessel: str, measured: Measured, cells: Sequence[str], place: int, day: float, line: int) -> None:
        if not cells[place]:
            return
        value = self.number(cells, place, line)
        if value is None:
            return
        own = self.sizes.setdefault(vessel, {}).setdefault(measured.name, {})
        if day in own:
            what = f"is a second row of vessel “{vessel[:40]}” on day {day:g}; the first is in line {own[day][1]}."
            self.wrong(place, line, what, "Keep one.")
            return
        own[day] = (value, line)

    def group(self, dose: str) -> str:
        """Return the group's name: alike for doses that are one number, and for words whatever their case."""
        digits = plain_number(dose)
        amount = _with_exponent(dose) if digits is None else float(digits)
        key = dose.casefold() if amount is None else f"{amount:.12g}"
        self.shown.setdefault(key, dose)
        return key


def _with_exponent(text: str) -> float | None:
    """Return a number as a spreadsheet writes small ones, "2.98E-2"; None where it is none."""
    if not _EXPONENT.fullmatch(text):
        return None
    value = float(text)
    return value if value < float("inf") else None


def read_growth_table(grid: Grid, *, where: str, control: str = "") -> GrowthTable:
    """Return the test in a grid; `control` names its control where that is neither dose 0 nor called control.

    Raises FaultsError with all that is wrong, each at its line and column.
    """
    columns = find_columns(grid, where=where)
    if isinstance(columns, Fault):
        raise FaultsError([columns])
    reading = _Reading(grid, columns, where)
    for row, line in zip(grid.rows[columns.row + 1 :], grid.lines[columns.row + 1 :], strict=True):
        reading.row(row, line)
    if not reading.faults:
        _check_spans(reading)
    if reading.faults:
        raise FaultsError(reading.faults)
    groups = _groups(reading, control)
    names = {key: group.name for key, group in groups.items()}
    vessels = tuple(
        Vessel(
            vessel,
            names[reading.group_of[vessel][0]],
            {
                name: Sizes(np.array(sorted(days), dtype=float), np.array([days[day][0] for day in sorted(days)]))
                for name, days in own.items()
            },
        )
        for vessel, own in reading.sizes.items()
    )
    known = {name for own in reading.sizes.values() for name in own}
    remarks = [f"Not read: {listed(list(columns.ignored))}."] if columns.ignored else []
    return GrowthTable(
        groups=tuple(groups.values()),
        vessels=vessels,
        measured=tuple(one for _, one in columns.sizes if one.name in known),
        unit=columns.dose_unit,
        remarks=tuple(remarks),
    )


def _check_spans(reading: _Reading) -> None:
    """Note vessels that do not begin and end with the others, and what cannot begin at all."""
    where = reading.where
    if not reading.sizes:
        reading.faults.append(Fault("holds no sizes.", "Give at least two days of each vessel.", where))
        return
    if len(reading.sizes) > MOST_VESSELS:
        what = f"holds {len(reading.sizes)} vessels; at most {MOST_VESSELS} are read."
        reading.faults.append(Fault(what, "Split it into several tests.", where))
        return
    for place, measured in reading.columns.sizes:
        column = max(place, reading.columns.wide[0][0] if reading.columns.wide else place)
        own = {vessel: sizes[measured.name] for vessel, sizes in reading.sizes.items() if measured.name in sizes}
        spans = Counter((min(days), max(days)) for days in own.values())
        if not spans:
            continue
        usual = spans.most_common(1)[0][0]
        for vessel in reading.sizes:
            line = reading.group_of[vessel][1]
            days = own.get(vessel)
            name = f"vessel “{vessel[:40]}”"
            if days is None:
                what = f"has no {measured.name} of {name}."
                reading.wrong(column, line, what, "Measure every vessel, or take the vessel out and say why.")
            elif len(days) < 2:
                reading.wrong(column, line, f"has one day of {name}.", "Give at least two days of each vessel.")
            elif float(np.diff(sorted(days)).min()) < SHORTEST_DAYS:
                right = "Give days, or name the column “time (h)” for hours."
                reading.wrong(column, line, f"has days of {name} that lie within two minutes of each other.", right)
            elif len(days) > MOST_DAYS:
                reading.wrong(column, line, f"has {len(days)} days of {name}.", f"At most {MOST_DAYS} are read.")
            elif (min(days), max(days)) != usual:
                what = f"has {name} from day {min(days):g} to {max(days):g}; most go from {usual[0]:g} to {usual[1]:g}."
                reading.wrong(column, line, what, "Rates over other days cannot be compared: mend or add the day.")
            elif days[min(days)][0] == 0:
                right = "A vessel must begin with something in it."
                reading.wrong(column, days[min(days)][1], f"is 0 for {name} at the start.", right)


def _groups(reading: _Reading, asked: str) -> dict[str, Group]:
    """Return the groups by key, the control first: the one asked for, else dose 0, else the one called control."""
    amounts: dict[str, float | None] = {}
    for key in dict.fromkeys(group for group, _ in reading.group_of.values()):
        try:
            amounts[key] = float(key)
        except ValueError:
            amounts[key] = None
    wanted = reading.group(asked.strip()) if asked.strip() else ""
    if len(amounts) > MOST_GROUPS:
        what = f"has {len(amounts)} doses; at most {MOST_GROUPS} are read."
        raise FaultsError([Fault(what, "Is the column of doses the right one?", reading.where)])
    zero = [key for key, amount in amounts.items() if amount == 0]
    called = [key for key in amounts if key in CONTROL_WORDS or key.endswith(" control")]
    found = [wanted] if wanted else called or zero
    names = [reading.shown[key] for key in amounts]
    if wanted and wanted not in amounts:
        raise FaultsError(
            [Fault(f'is "{asked[:40]}", which is no dose here.', f"There are {listed(names)}.", "control")]
        )
    if len(found) != 1:
        what = f"has {'several controls' if found else 'no control'}: its doses are {listed(names[:20])}."
        right = 'Call one dose "control" or 0, or say which one it is.'
        raise FaultsError([Fault(what, right, reading.where)])
    control = found[0]
    others = [key for key in amounts if key != control]
    if all(amounts[key] is not None for key in others):
        others.sort(key=lambda key: amounts[key] or 0.0)
    return {key: Group(reading.shown[key], amounts[key]) for key in (control, *others)}
