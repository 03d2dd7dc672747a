"""Take in a table of past records: look at it first, write only what was looked at, and twice changes nothing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from littoral.acts.choosing import chosen_trial
from littoral.acts.past_table.grid import Grid, letters_of, read_grid
from littoral.acts.past_table.meanings import Column, find_header, meanings_for, propose
from littoral.acts.past_table.resample import kind_of, resample, step_s
from littoral.acts.past_table.understand import (
    Every,
    Order,
    Reader,
    SensorReading,
    Understood,
    order_in,
    points_are_decimal,
    spans_by,
    understand,
    with_meanings,
)
from littoral.acts.recorded import words_of
from littoral.errors import Fault, FaultsError
from littoral.logbook.book import Logbook
from littoral.quantities.counting import counted
from littoral.trial.entries import Entry
from littoral.trial.identity import number_alike
from littoral.trial.model import Trial
from littoral.trial.written.payloads import KINDS
from littoral.trial.written.report import suggest
from littoral.trial.written.said import Said, WrongCellError

MOST_ENTRIES = 20_000
SENSOR_STEP_S = 3 * 3600
"""Readings closer to each other than this are taken for a sensor's; common practice, no source."""
SENSOR_ROWS = 48


@dataclass(frozen=True, slots=True)
class Choices:
    """What a person chose; everything left out is proposed.

    `meanings` and `units` are by column from 0; `header` is the row's number in the sheet or file, from 1. `every` says
    whether each row is an entry, or the hours or days of a sensor are; `order` what stands first in 03/04/2026.
    """

    meanings: Mapping[int, str] = field(default_factory=dict)
    units: Mapping[int, str] = field(default_factory=dict)
    tank: str = ""
    sheet: str = ""
    encoding: str = ""
    every: Every | None = None
    order: Order | None = None
    header: int | None = None


@dataclass(frozen=True, slots=True)
class Looked:
    """How a table was understood. Nothing is written by looking.

    `new` of the `entries` are not in the logbook yet; `faults` hold the address of the cell; `words` say each entry.
    """

    trial: Trial
    grid: Grid
    header: int
    columns: tuple[Column, ...]
    choices: Choices
    entries: tuple[Entry, ...]
    words: tuple[str, ...]
    new: int
    faults: tuple[Fault, ...]
    remarks: tuple[str, ...]

    @property
    def sample(self) -> tuple[tuple[str, ...], ...]:
        """The first rows below the header."""
        return self.grid.rows[self.header + 1 : self.header + 6]

    def as_json(self) -> dict[str, Any]:
        """Return it as plain data."""
        return {
            "trial": self.trial.key,
            "read_as": self.grid.how,
            "columns": [
                {
                    "column": one.letters,
                    "header": one.header,
                    "means": one.meaning,
                    "unit": one.unit,
                    "look": one.unsure,
                }
                for one in self.columns
            ],
            "every": self.choices.every,
            "order": self.choices.order,
            "entries": len(self.entries),
            "new": self.new,
            "words": list(self.words[:20]),
            "problems": [{"cell": one.where, "what": one.what, "right": one.right} for one in self.faults],
            "remarks": list(self.remarks),
        }


@dataclass(frozen=True, slots=True)
class Imported:
    """What an import left: `new` entries of `entries`, and how many problems were left out."""

    trial: str
    entries: int
    new: int
    left_out: int

    def as_json(self) -> dict[str, Any]:
        """Return it as plain data."""
        return {"trial": self.trial, "entries": self.entries, "new": self.new, "left_out": self.left_out}


def look_at_table(
    folder: Path, data: bytes, *, trial: str | None = None, choices: Choices | None = None, now: datetime | None = None
) -> Looked:
    """Return how a table is understood, proposing what was not chosen; nothing is written.

    Raises UnreadableTableError where it is no table, MissingExtraError for a workbook without its library, FaultsError
    for a choice that cannot be, NoTrialError, WhichTrialError.
    """
    moment = now or datetime.now(UTC)
    with Logbook.open(folder) as book:
        return _look(book, data, trial=trial, choices=choices or Choices(), now=moment)


def import_table(
    folder: Path,
    data: bytes,
    *,
    trial: str | None = None,
    choices: Choices | None = None,
    leave_out: bool = False,
    now: datetime | None = None,
) -> Imported:
    """Write the entries of a table, all or none; those that are there already are left alone.

    With `leave_out` the cells with a problem are left out, else FaultsError and nothing is written. Raises what
    `look_at_table` does.
    """
    moment = now or datetime.now(UTC)
    with Logbook.open(folder, clock=lambda: moment) as book:
        looked = _look(book, data, trial=trial, choices=choices or Choices(), now=moment)
        if looked.faults and not leave_out:
            raise FaultsError(looked.faults)
        if not looked.entries:
            raise FaultsError(
                [Fault("holds no entry as its columns are understood.", "Say what they mean.", "the table")]
            )
        added = book.add(_not_there(book, looked.entries))
    return Imported(looked.trial.key, len(looked.entries), len(added), len(looked.faults))


def _not_there(book: Logbook, entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """Return the entries that the logbook does not hold, superseded or not, whoever noted them with which remark."""
    known = book.ids_among({entry.id for entry in entries})
    return tuple(entry for entry in entries if entry.id not in known)


def _look(book: Logbook, data: bytes, *, trial: str | None, choices: Choices, now: datetime) -> Looked:
    there = book.trial(chosen_trial(book, trial))
    grid = read_grid(data, sheet=choices.sheet, encoding=choices.encoding)
    header = _header(grid, choices)
    columns = with_meanings(propose(grid, header, there), choices.meanings, choices.units)
    _check(choices, columns, grid, there)
    order = order_in(grid, header, columns) if choices.order is None else choices.order
    tank = choices.tank or (next(iter(there.tanks)) if len(there.tanks) == 1 else "")
    decimal = points_are_decimal(grid, header)
    reader = Reader(there, columns, tank, order, now, decimal, choices.every or "hour")
    remarks: list[str] = []
    if missing := _missing(columns, tank):
        settled = replace(choices, order=order, tank=tank)
        return Looked(there, grid, header, columns, settled, (), (), 0, missing, ())
    read = understand(grid, header, reader)
    every = choices.every or _every(read.readings)
    if every == "row" and choices.every is None:
        read = understand(grid, header, replace(reader, every="row"))
    faults = list(read.faults)
    entries = read.entries
    if every != "row":
        made, wrong = _sensor_entries(read, there, every, now, remarks)
        faults += wrong
        entries = number_alike([*((entry, ()) for entry in made)]) + entries
    if len(entries) > MOST_ENTRIES:
        what = f"holds {len(entries):,} entries; at most {MOST_ENTRIES:,} are taken in at once."
        raise FaultsError([Fault(what, "Take the days of a sensor, or split the table.", "the table")])
    entries = tuple(sorted(entries, key=lambda one: one.at))
    settled = replace(choices, every=every, order=order, tank=tank)
    new = len(_not_there(book, entries))
    words = tuple(_words(entry, there) for entry in entries[:200])
    return Looked(there, grid, header, columns, settled, entries, words, new, tuple(faults), tuple(remarks))


def _words(entry: Entry, trial: Trial) -> str:
    return f"{entry.at.astimezone(ZoneInfo(trial.zone)):%Y-%m-%d %H:%M} {words_of(entry, trial)}"


def _header(grid: Grid, choices: Choices) -> int:
    if choices.header is None:
        return find_header(grid)
    if choices.header not in grid.lines:
        what = f"is {choices.header}, an empty row or none."
        raise FaultsError([Fault(what, "Say the number of the row with the columns' names.", "header")])
    return grid.lines.index(choices.header)


def _check(choices: Choices, columns: Sequence[Column], grid: Grid, trial: Trial) -> None:
    """Refuse choices that cannot be: FaultsError, each with the column or field."""
    faults = []
    known = meanings_for(trial)
    for place, meaning in choices.meanings.items():
        if meaning not in known:
            right = suggest(meaning[:60], [one for one in known if one], "meanings")
            faults.append(Fault(f'means "{meaning[:60]}".', right, letters_of(place)))
        if not 0 <= place < grid.width:
            faults.append(Fault("is no column of the table.", f"It has {grid.width}.", letters_of(max(place, 0))))
    for meaning in {one.meaning for one in columns} - {""}:
        places = [one.letters for one in columns if one.meaning == meaning]
        if len(places) > 1:
            faults.append(Fault(f"means {known.get(meaning, meaning)}, as {places[0]} does.", "Choose one.", places[1]))
    for place, unit in choices.units.items():
        if len(unit) > 20:
            faults.append(Fault("has a unit that is too long.", "Write for example mg/L.", letters_of(max(place, 0))))
    if choices.tank and choices.tank not in trial.tanks:
        faults.append(Fault(f'is "{choices.tank[:60]}".', suggest(choices.tank[:60], trial.tanks, "tanks"), "tank"))
    if faults:
        raise FaultsError(faults)


def _missing(columns: Sequence[Column], tank: str) -> tuple[Fault, ...]:
    """Return what has to be said before any row can be read."""
    meanings = {one.meaning for one in columns}
    faults = []
    if not meanings & {"date", "moment"}:
        faults.append(Fault("has no column with dates.", "Say which one it is.", "the table"))
    if "tank" not in meanings and not tank:
        faults.append(Fault("does not say which tank it is of.", "Choose the tank, or its column.", "the table"))
    if "kind" not in meanings and not meanings - {"", "date", "moment", "time", "tank", "who", "what", "amount"}:
        faults.append(Fault("has no column of which it is known what it means.", "Say what one means.", "the table"))
    return tuple(faults)


def _every(readings: Sequence[SensorReading]) -> Every:
    """Return "day" for what looks like a sensor's readings, else "row"."""
    series: dict[tuple[str, str], list[datetime]] = {}
    for one in readings:
        series.setdefault((one.tank, one.of), []).append(one.at)
    longest = max(series.values(), key=len, default=[])
    return "day" if len(longest) >= SENSOR_ROWS and step_s(longest) <= SENSOR_STEP_S else "row"


def _sensor_entries(
    read: Understood, trial: Trial, every: Every, now: datetime, remarks: list[str]
) -> tuple[list[Entry], list[Fault]]:
    """Return a reading for each whole hour or day of each series; what is too short or not over is remarked on."""
    series: dict[tuple[str, str, str], list[tuple[datetime, float]]] = {}
    for one in read.readings:
        series.setdefault((one.tank, one.of, one.unit), []).append((one.at, one.value))
    entries: list[Entry] = []
    faults: list[Fault] = []
    for (tank, of, unit), readings in series.items():
        kind = kind_of(of)
        spans, short = resample(readings, kind=kind, span_of=spans_by(every, trial.zone))
        if short:
            remarks.append(f"{of}: {counted(short, every)} with too few readings left out")
        for span in spans:
            if span.until > now:
                remarks.append(f"{of}: the last {every} is not over yet and was left out")
                continue
            said = f"{_number(span.value)} {unit}".strip()
            told = f"sum of {span.count}" if kind == "sum" else f"mean of {span.count}"
            extent = f" ({_number(span.low)}-{_number(span.high)})" if kind == "level" and span.low >= 0 else ""
            amount = f"{said}{extent}, sensor, {told} in the {every}"
            at = span.first + (span.until - span.first) / 2
            try:
                payload = KINDS["reading"](Said(of, amount, "", trial.tanks[tank], trial, 0.0, 0)).payload
            except WrongCellError as error:
                faults.append(
                    Fault(error.what, error.right, f"{span.first.astimezone(ZoneInfo(trial.zone)):%Y-%m-%d %H:%M}")
                )
                continue
            entries.append(Entry("", at, trial.zone, tank, payload, trial=trial.key))
    return entries, faults


def _number(value: float) -> str:
    """Return a number with three decimals at most: finer than any sensor of a tank, and the same on every machine."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
