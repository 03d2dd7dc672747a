"""The file of entries: a spreadsheet's bytes in; entries, and the faults of every row that is not one, out."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime
from typing import TypeVar
from zoneinfo import ZoneInfo

from littoral.errors import Fault
from littoral.quantities.numbers import two_readings
from littoral.trial.days import day_of, outside_days
from littoral.trial.entries import Entry
from littoral.trial.identity import number_alike
from littoral.trial.model import Tank, Trial
from littoral.trial.written.csv_text import SEPARATORS, CsvText, Row, UnreadableTextError, decode, read_rows
from littoral.trial.written.decimal_marks import any_decimal_comma, check_readings
from littoral.trial.written.moments import read_date, read_moment, read_time
from littoral.trial.written.payloads import KINDS
from littoral.trial.written.report import Report, WrongValueError, suggest
from littoral.trial.written.said import Read, Said, WrongCellError

T = TypeVar("T")

COLUMNS = ("date", "time", "tank", "kind", "what", "amount", "note", "who")
NEEDED = ("date", "tank", "kind")
LONGEST_CELL = 2_000
_CUT_AMOUNT = re.compile(r"(?P<digits>[0-9]+)(?P<unit>\s*[^\s0-9]{1,8})(\s|$)")


def read_entries(
    data: bytes, *, where: str, trial: Trial, now: datetime
) -> tuple[tuple[Entry, ...], tuple[Fault, ...]]:
    """Read a file of entries of a trial.

    `now` (with a zone) decides what is in the future; `where` names the file in faults, and is the entries' `origin`.
    Rows without a fault become entries, in the order of the file; whether to take them although other rows are wrong is
    for the caller to say. Ids come from what the rows say (`trial.identity`).
    """
    report = Report(where, {})
    read: list[tuple[Entry, tuple[str, ...]]] = []
    try:
        text = read_rows(decode(data), columns=COLUMNS, needed=NEEDED)
    except UnreadableTextError as error:
        report.add_at(error.line, error.what, error.right)
        return (), report.faults
    points_are_decimal = text.separator == "," and not any_decimal_comma(
        row.cells.get("amount", "") for row in text.rows
    )
    for row in text.rows:
        entry = _entry(row, text, trial, now, report, points_are_decimal=points_are_decimal)
        if entry is not None:
            read.append(entry)
    return number_alike(read), report.faults


def _entry(
    row: Row, text: CsvText, trial: Trial, now: datetime, report: Report, *, points_are_decimal: bool
) -> tuple[Entry, tuple[str, ...]] | None:
    """Read one row, noting all its mistakes."""
    cells = {column: row.cells.get(column, "") for column in COLUMNS}

    def attempt(step: Callable[[], T]) -> T | None:
        try:
            return step()
        except WrongCellError as error:
            note(error)
            return None

    def note(error: WrongCellError) -> None:
        report.add_at(row.line, f"`{error.column}` {error.what}", error.right)

    if attempt(lambda: _check_cut_amount(cells, text) and _check_size(row, text)) is None:
        return None
    kind = attempt(lambda: _kind(cells["kind"]))
    tank = attempt(lambda: _tank(cells["tank"], trial))
    at = attempt(lambda: _moment(cells["date"], cells["time"], trial, now))
    clear = attempt(lambda: _check_readings(cells["amount"], points_are_decimal=points_are_decimal))
    if kind is None or (at is None and not cells["amount"]):
        return None
    said = Said(
        what=cells["what"],
        amount=cells["amount"],
        note=cells["note"],
        tank=tank or next(iter(trial.tanks.values())),
        trial=trial,
        day=day_of(at, trial) if at else 0.0,
        weekday=(at or now).astimezone(ZoneInfo(trial.zone)).weekday(),
    )
    found = _read_or_wrong(kind, said)
    if not isinstance(found, Read):
        for error in found if tank else _wrong_in_any_tank(kind, said):
            if clear or error.column != "amount":
                note(error)
        return None
    if tank is None or at is None or not clear:
        return None
    entry = Entry(
        id="",
        at=at,
        zone=trial.zone,
        tank=tank.key,
        payload=found.payload,
        who=cells["who"],
        note=found.note,
        trial=trial.key,
        origin=report.where,
    )
    return entry, found.written


def _read_or_wrong(kind: str, said: Said) -> Read | tuple[WrongCellError, ...]:
    """Return what a row says, or every mistake in it."""
    try:
        return KINDS[kind](said)
    except WrongCellError as error:
        return (error, *error.also)


def _wrong_in_any_tank(kind: str, said: Said) -> list[WrongCellError]:
    """Return the mistakes of a row whose tank is not known that are mistakes whichever tank is meant."""
    mistakes: list[dict[tuple[str, str, str], WrongCellError]] = []
    for tank in said.trial.tanks.values():
        found = _read_or_wrong(kind, replace(said, tank=tank))
        mistakes.append({} if isinstance(found, Read) else {(e.column, e.what, e.right): e for e in found})
    return [error for told, error in mistakes[0].items() if all(told in others for others in mistakes)]


def _check_readings(amount: str, *, points_are_decimal: bool) -> bool:
    try:
        check_readings(amount, points_are_decimal=points_are_decimal)
    except WrongValueError as error:
        raise WrongCellError("amount", error.what, error.right) from None
    return True


def _check_cut_amount(cells: Mapping[str, str], text: CsvText) -> bool:
    """Refuse an amount that an unquoted decimal comma cut in two: 5 in one column and "5 ml" in the next."""
    amount, behind = cells["amount"], cells["note"]
    cut = _CUT_AMOUNT.match(behind)
    if text.separator == "," and amount.isdecimal() and cut is not None:
        what = f'is "{amount}", and "{behind}" is in the next column.'
        readings = two_readings(f"{amount},{cut['digits']}")
        if readings is None:
            clear = f'{amount}.{behind} or put it into "quotation marks"'
        else:  # in quotation marks it would be refused as well
            clear = " or ".join(f"{reading}{cut['unit']}" for reading in readings)
        right = f"If {amount},{behind} was meant, write {clear}."
        raise WrongCellError("amount", what, right)
    return True


def _kind(written: str) -> str:
    kind = " ".join(written.lower().split())
    if kind not in KINDS:
        what = f'is "{written}".' if kind else "is empty."
        raise WrongCellError("kind", what, suggest(kind, KINDS, "kinds"))
    return kind


def _tank(written: str, trial: Trial) -> Tank:
    if written not in trial.tanks:
        what = f'is "{written}".' if written else "is empty."
        raise WrongCellError("tank", what, suggest(written, trial.tanks, "tanks"))
    return trial.tanks[written]


def _check_size(row: Row, text: CsvText) -> bool:
    for column, cell in row.cells.items():
        if len(cell) > LONGEST_CELL:
            raise WrongCellError(column, f"has {len(cell)} characters.", f"At most {LONGEST_CELL} are read.")
    if row.beyond:
        right = "Put cells that hold a separator into quotation marks."
        if text.separator == ",":
            right = (
                'A comma parts cells here: write 5.5 mL or "5,5 mL", and put notes with commas into quotation marks.'
            )
        shown = f'"{row.beyond[0]}"' if row.beyond[0] else "more"
        last = list(row.cells)[-1]
        what = f"is the last column, but {shown} follows it, parted by a {SEPARATORS[text.separator]}."
        raise WrongCellError(last, what, right)
    return True


def _moment(date: str, time: str, trial: Trial, now: datetime) -> datetime:
    if not time and "T" in date:
        date, _, time = date.partition("T")
    elif not time and date.count(" ") == 1 and ":" in date:
        date, _, time = date.partition(" ")
    try:
        day = read_date(date)
    except WrongValueError as error:
        raise WrongCellError("date", error.what, error.right) from None
    try:
        clock, ahead = read_time(time)
        at = read_moment(day, clock, ahead, trial.zone)
    except (WrongValueError, OverflowError) as error:
        what, right = (error.what, error.right) if isinstance(error, WrongValueError) else ("is out of range.", "")
        raise WrongCellError("time", what, right) from None
    if at > now:
        raise WrongCellError("date", f"is {day} {clock:%H:%M}, in the future.", "Write it down when it has happened.")
    if outside := outside_days(at, trial):
        right = "Correct the date, or `start` or `length` in the trial file."
        raise WrongCellError("date", f"is {day}, but {outside}.", right)
    return at
