"""A grid and what its columns mean to entries, with every cell that is none as a fault at its address."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from typing import Literal
from zoneinfo import ZoneInfo

from littoral.acts.past_table.grid import Grid, letters_of
from littoral.acts.past_table.meanings import Column
from littoral.errors import Fault
from littoral.quantities.numbers import plain_number
from littoral.trial.days import day_of, outside_days
from littoral.trial.entries import Entry
from littoral.trial.identity import number_alike
from littoral.trial.model import Tank, Trial
from littoral.trial.written.decimal_marks import any_decimal_comma, check_readings
from littoral.trial.written.moments import read_date, read_moment, read_time
from littoral.trial.written.payloads import KINDS
from littoral.trial.written.report import WrongValueError, suggest
from littoral.trial.written.said import Said, WrongCellError

Every = Literal["row", "hour", "day"]
Order = Literal["", "day first", "month first"]
_NUMBER = re.compile(r"[-+<>]?\s*[0-9][0-9.,]*")
_SLASHED = re.compile(r"([0-9]{1,2})([-/])([0-9]{1,2})\2([0-9]{4}|[0-9]{2})")
_FRACTION = re.compile(r"(:[0-9]{2})[.,][0-9]{1,6}")


@dataclass(frozen=True, slots=True)
class Understood:
    """The entries of a table; `lines` are the rows each came from, `faults` what is none, `readings` of a sensor."""

    entries: tuple[Entry, ...]
    faults: tuple[Fault, ...]
    readings: tuple[SensorReading, ...] = ()


@dataclass(frozen=True, slots=True)
class SensorReading:
    """One bare number of a sensor: of which gauge or nutrient, in which unit, in which tank, when."""

    tank: str
    of: str
    unit: str
    at: datetime
    value: float


@dataclass(frozen=True, slots=True)
class Reader:
    """What is the same for all rows. `tank` is the one meant where no column says; `now` has a zone."""

    trial: Trial
    columns: Sequence[Column]
    tank: str
    order: Order
    now: datetime
    points_are_decimal: bool
    every: Every


def points_are_decimal(grid: Grid, header: int) -> bool:
    """Tell whether points in the table's numbers can only be decimal: no semicolons, no decimal commas."""
    cells = (cell for row in grid.rows[header + 1 :] for cell in row)
    return grid.separator != ";" and not any_decimal_comma(cells)


def order_in(grid: Grid, header: int, columns: Sequence[Column]) -> Order:
    """Return whether days or months stand first, where a date in the table shows it; "" where none does."""
    places = [column.place for column in columns if column.meaning in ("date", "moment")]
    for row in grid.rows[header + 1 :]:
        for place in places:
            match = _SLASHED.match(row[place]) if place < len(row) else None
            if match and int(match[1]) > 12:
                return "day first"
            if match and int(match[3]) > 12:
                return "month first"
    return ""


def understand(grid: Grid, header: int, reader: Reader) -> Understood:
    """Read all rows below the header. A row with a fault gives what its other cells say."""
    found: list[tuple[Entry, tuple[str, ...]]] = []
    faults: list[Fault] = []
    readings: list[SensorReading] = []
    for line, row in zip(grid.lines[header + 1 :], grid.rows[header + 1 :], strict=True):
        _Row(line, row, reader, found, faults, readings).read()
    return Understood(number_alike(found), tuple(faults), tuple(readings))


@dataclass(frozen=True, slots=True)
class _Row:
    line: int
    cells: Sequence[str]
    reader: Reader
    found: list[tuple[Entry, tuple[str, ...]]]
    faults: list[Fault]
    readings: list[SensorReading]

    def cell(self, meaning: str) -> str:
        column = self.column(meaning)
        return self.cells[column.place] if column is not None and column.place < len(self.cells) else ""

    def column(self, meaning: str) -> Column | None:
        return next((one for one in self.reader.columns if one.meaning == meaning), None)

    def add(self, meaning: str, error: WrongValueError, place: int | None = None) -> None:
        """Note a mistake at the address of the cell that it is in."""
        column = self.column(meaning)
        place = place if place is not None else (column.place if column is not None else 0)
        self.faults.append(Fault(error.what, error.right, f"{letters_of(place)}{self.line}"))

    def attempt(self, meaning: str, step: Callable[[], object]) -> object:
        try:
            return step()
        except WrongValueError as error:
            self.add(meaning, error)
            return None

    def read(self) -> None:
        meaning_of_time = "moment" if self.column("moment") is not None else "date"
        told = [one for one in self.reader.columns if one.meaning not in ("", "date", "time", "moment", "tank", "who")]
        if not any(one.place < len(self.cells) and self.cells[one.place] for one in told):
            return  # nothing but a date: nobody wrote anything down
        at = self.attempt(meaning_of_time, self.moment)
        tank = self.attempt("tank", self.tank)
        if not isinstance(at, datetime) or not isinstance(tank, Tank):
            return
        if self.column("kind") is not None:
            self.entry(at, tank, self.cell("kind").casefold(), self.cell("what"), self.cell("amount"), "kind")
            return
        note = self.cell("note")
        for column in told:
            written = self.cells[column.place] if column.place < len(self.cells) else ""
            if not written or column.meaning in ("note", "what", "amount"):
                continue
            kind, _, of = column.meaning.partition(" ")
            if kind in ("reading", "dose") and of:
                note = self.measured(at, tank, column, kind, of, written, note)
            else:
                amount = _with_unit(written, column.unit)
                note = self.wide(at, tank, column, column.meaning, "", amount, note)
        if note:
            self.wide(at, tank, self.column("note") or column, "note", "", "", note)

    def measured(self, at: datetime, tank: Tank, column: Column, kind: str, of: str, written: str, note: str) -> str:
        if kind == "reading" and self.reader.every != "row":
            value = self.bare(column, written)
            if value is not None:
                self.readings.append(SensorReading(tank.key, of, column.unit, at, value))
            return note
        return self.wide(at, tank, column, kind, of, _with_unit(written, column.unit), note)

    def bare(self, column: Column, written: str) -> float | None:
        """Return a sensor's number; a fault where the cell is none or may be two numbers."""
        sign, digits = (-1, written[1:]) if written.startswith("-") else (1, written.removeprefix("+"))
        try:
            check_readings(digits, points_are_decimal=self.reader.points_are_decimal)
            number = plain_number(digits.strip())
            if number is None:
                raise WrongValueError(f'is "{written[:60]}", not a number.', "Correct it, or leave the cell empty.")
            return sign * float(number)
        except WrongValueError as error:
            self.add("", error, column.place)
            return None

    def wide(self, at: datetime, tank: Tank, column: Column, kind: str, what: str, amount: str, note: str) -> str:
        """Make an entry of one cell, with the row's note, and return the note that is left for others."""
        return "" if self.entry(at, tank, kind, what, amount, column.meaning, place=column.place, note=note) else note

    def entry(
        self,
        at: datetime,
        tank: Tank,
        kind: str,
        what: str,
        amount: str,
        meaning: str,
        *,
        place: int | None = None,
        note: str | None = None,
    ) -> bool:
        trial = self.reader.trial
        if kind not in KINDS:
            shown = kind[:60]
            self.add(
                "kind", WrongValueError(f'is "{shown}".' if shown else "is empty.", suggest(shown, KINDS, "kinds"))
            )
            return False
        said = Said(
            what=what,
            amount=amount,
            note=self.cell("note") if note is None else note,
            tank=tank,
            trial=trial,
            day=day_of(at, trial),
            weekday=at.astimezone(ZoneInfo(trial.zone)).weekday(),
        )
        try:
            check_readings(amount, points_are_decimal=self.reader.points_are_decimal)
            read = KINDS[kind](said)
        except WrongCellError as error:
            for one in (error, *error.also):
                self.add(one.column, one, place)
            return False
        except WrongValueError as error:
            self.add("amount" if place is None else meaning, error, place)
            return False
        entry = Entry("", at, trial.zone, tank.key, read.payload, self.cell("who"), None, read.note, trial.key)
        self.found.append((entry, read.written))
        return True

    def tank(self) -> Tank:
        written = self.cell("tank") if self.column("tank") is not None else self.reader.tank
        tanks = self.reader.trial.tanks
        named = {one.name.casefold(): one for one in tanks.values()} | {key.casefold(): tanks[key] for key in tanks}
        found = named.get(" ".join(written.casefold().split()))
        if found is None:
            what = f'is "{written[:60]}".' if written else "is empty."
            raise WrongValueError(what, suggest(written[:60], tanks, "tanks"))
        return found

    def moment(self) -> datetime:
        trial, now = self.reader.trial, self.reader.now
        written = self.cell("moment")
        if written.isdecimal() and len(written) in (10, 13):  # seconds or milliseconds since 1970, UTC
            at = datetime.fromtimestamp(int(written[:10]), UTC)
        else:
            day, clock = _parted(written) if written else (self.cell("date"), self.cell("time"))
            if not self.cell("time") and not written and ":" in day:
                day, clock = _parted(day)
            on = read_date(_ordered(day, self.reader.order))
            hour, ahead = read_time(_FRACTION.sub(r"\1", clock))
            try:
                at = read_moment(on, hour, ahead, trial.zone)
            except OverflowError:
                raise WrongValueError("is out of range.", "Write a date of the trial.") from None
        if at > now:
            raise WrongValueError(f"is {at:%Y-%m-%d %H:%M} UTC, in the future.", "Correct the date.")
        if outside := outside_days(at, trial):
            shown = at.astimezone(ZoneInfo(trial.zone)).date()
            raise WrongValueError(f"is {shown}, but {outside}.", "Leave the row out, or correct the date.")
        return at


def _parted(written: str) -> tuple[str, str]:
    day, _, clock = written.replace("T", " ").strip().partition(" ")
    return day.rstrip(","), clock.strip()


def _ordered(day: str, order: Order) -> str:
    """Return a slashed date with its year first where it is known what stands first; two digits are of this century."""
    match = _SLASHED.fullmatch(day)
    if match is None or not order:
        return day
    first, second, year = match[1], match[3], match[4] if len(match[4]) == 4 else f"20{match[4]}"
    month, number = (second, first) if order == "day first" else (first, second)
    return f"{year}-{month}-{number}"


def _with_unit(written: str, unit: str) -> str:
    """Return a cell with its column's unit where it is a bare number."""
    return f"{written} {unit}".strip() if _NUMBER.fullmatch(written) else written


def spans_by(every: Every, zone: str) -> Callable[[datetime], tuple[datetime, datetime]]:
    """Return what gives the half-open hour (of real time) or local day that a moment is in."""
    from littoral.trial.days import local_date, span_of

    if every == "hour":

        def hour(at: datetime) -> tuple[datetime, datetime]:
            first = at.astimezone(UTC).replace(minute=0, second=0, microsecond=0)
            return first, first + timedelta(hours=1)

        return hour
    days: dict[date, tuple[datetime, datetime]] = {}

    def day(at: datetime) -> tuple[datetime, datetime]:
        on = local_date(at, zone)
        if on not in days:
            days[on] = span_of(on, zone)
        return days[on]

    return day


def with_meanings(
    columns: Sequence[Column], meanings: Mapping[int, str], units: Mapping[int, str]
) -> tuple[Column, ...]:
    """Return the columns with what a person chose for them."""
    return tuple(
        replace(
            one,
            meaning=meanings.get(one.place, one.meaning),
            unit=units.get(one.place, one.unit),
            unsure="" if one.place in meanings else one.unsure,
        )
        for one in columns
    )
