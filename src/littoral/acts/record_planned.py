"""Record what became of something planned: done as planned or otherwise, doubled, late, missed, or let go.

`item` is the name of the planned thing (`trial.due.Due.key`), as `acts.see_today` lists it. Mistakes are collected
(FaultsError, each with the field it is in). What was recorded already is not counted twice.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from uuid import NAMESPACE_URL, UUID, uuid5

from littoral.acts.recorded import Recorded, book_of, keep
from littoral.acts.told import Told, made, moment_of_day, new_id, read_id, read_told, read_zone
from littoral.errors import Fault, FaultsError, LittoralError
from littoral.logbook.book import Logbook
from littoral.logbook.changed_entries import AlreadyRecordedError, NoEntryError
from littoral.quantities.amounts import parse_counted
from littoral.trial.days import local_date, span_of
from littoral.trial.due import LOOK_BACK_DAYS, Due, answered, find_due, tank_days
from littoral.trial.entries import Dose, Entry, Skipped
from littoral.trial.model import Trial
from littoral.trial.written.report import WrongValueError

_NAMESPACE = uuid5(NAMESPACE_URL, "urn:littoral:planned")


class AnsweredAlreadyError(LittoralError):
    """A planned thing was recorded already, by `entry`; recording it again would count it twice."""

    def __init__(self, due: Due, entry: str, state: str) -> None:
        self.due, self.entry = due, entry
        super().__init__(
            f"{due.task} of {due.date} in {due.tank} is recorded as {state} already (entry {entry}). "
            "Nothing was written. Undo that one first, or record a dose or change of its own if there really were two."
        )


def record_planned(folder: Path, item: str, *, told: Told | None = None, now: datetime | None = None) -> Recorded:
    """Record a planned dose, water change or trim as done just as planned; `item` is `trial.due.Due.key`.

    Without `told.when` it was now, or for an earlier date at its planned time (noon where it has none).
    """
    return _on_plan(folder, item, lambda due: _cells(due, _planned_amount(due)), told, now)


def record_done(
    folder: Path, item: str, amount: str, *, told: Told | None = None, now: datetime | None = None
) -> Recorded:
    """Record something planned as done with another amount; for a test the amount is its reading."""
    return _on_plan(folder, item, lambda due: _cells(due, amount), told, now)


def record_doubled(folder: Path, item: str, *, told: Told | None = None, now: datetime | None = None) -> Recorded:
    """Record that a planned dose was given twice over. It is written down as what went in: twice the amount."""
    return _on_plan(folder, item, lambda due: _cells(due, _times(due, 2.0)), told, now)


def record_late(
    folder: Path, item: str, amount: str = "", *, told: Told | None = None, now: datetime | None = None
) -> Recorded:
    """Record that a dose of an earlier date was given late: now or at `told.when`; as planned unless told otherwise."""
    return _on_plan(folder, item, lambda due: _cells(due, amount or _planned_amount(due)), told, now, late=True)


def record_missed(folder: Path, item: str, *, told: Told | None = None, now: datetime | None = None) -> Recorded:
    """Record that something planned was not done and will not be: a dose as missed, all else as skipped."""
    moment, told = now or datetime.now(UTC), told or Told()
    with book_of(folder, told, moment) as (book, trial):
        due = _due(trial, item)
        entry = _missed(trial, due, _named(book, trial, due, told), moment)
        return _write(book, trial, due, entry, own_id=told.id is not None)


def skip_overdue(
    folder: Path, tank: str | None = None, *, told: Told | None = None, now: datetime | None = None
) -> Recorded:
    """Record all that earlier days left open, in one tank or all, as missed or skipped: one act, no questions."""
    moment, told = now or datetime.now(UTC), told or Told()
    with book_of(folder, told, moment) as (book, trial):
        if tank is not None and tank not in trial.tanks:
            raise FaultsError([Fault(f'is "{tank}".', f"The tanks are {', '.join(trial.tanks)}.", "tank")])
        today, base = local_date(moment, trial.zone), UUID(_id(told))
        while True:
            open_ones = _open(book, trial, tank, today)
            entries = [
                _missed(trial, due, replace(told, when="", id=str(uuid5(base, due.key))), moment) for due in open_ones
            ]

            def sure(seen: tuple[Due, ...] = open_ones) -> None:
                if _open(book, trial, tank, today) != seen:
                    raise _ChangedError

            try:
                return keep(book, trial, tuple(entries), sure=sure)
            except _ChangedError:  # somebody recorded one of them just now: that one is let alone
                continue


class _ChangedError(Exception):
    """What was open is so no more."""


def _open(book: Logbook, trial: Trial, tank: str | None, today: date) -> tuple[Due, ...]:
    """Return what earlier days left open, in one tank or all."""
    first, _ = span_of(today - timedelta(days=LOOK_BACK_DAYS), trial.zone)
    _, until = span_of(today, trial.zone)
    days = tank_days(trial, book.entries_within(trial.key, first, until), today=today)
    return tuple(due for one in days if tank in (None, one.tank) for due in one.overdue)


def _on_plan(
    folder: Path,
    item: str,
    cells: Callable[[Due], tuple[str, str, str]],
    told: Told | None,
    now: datetime | None,
    *,
    late: bool = False,
) -> Recorded:
    moment, told = now or datetime.now(UTC), told or Told()
    with book_of(folder, told, moment) as (book, trial):
        due = _due(trial, item)
        today = local_date(moment, trial.zone)
        if due.date > today:
            raise FaultsError([Fault(f"is planned for {due.date}.", "Write it down when it has happened.", "item")])
        if late and (due.kind != "dose" or due.date == today):
            right = "Record it as done; only a dose of an earlier date is given late."
            raise FaultsError([Fault(f'is "{item}".', right, "item")])
        kind, what, amount = cells(due)
        named = _named(book, trial, due, told)
        entry = read_told(
            trial,
            kind,
            tank=due.tank,
            what=what,
            amount=amount,
            told=named,
            now=moment,
            base=None if late else due.date,
        )
        if not told.when.strip() and not late:
            entry = replace(entry, at=moment_of_day(due.date, trial, now=moment, clock=due.clock))
        if isinstance(entry.payload, Dose) and local_date(entry.at, trial.zone) != due.date:
            entry = replace(entry, payload=replace(entry.payload, for_date=str(due.date)))
        return _write(book, trial, due, entry, own_id=told.id is not None)


def _due(trial: Trial, item: str) -> Due:
    due = find_due(trial, item)
    if due is None:
        right = "`littoral today LOGBOOK` lists what is planned by names such as 2026-03-08/left/dose macro."
        raise FaultsError([Fault(f'is "{item[:80]}", which is not planned in this trial.', right, "item")])
    return due


def _cells(due: Due, amount: str) -> tuple[str, str, str]:
    """Return kind, what and amount of the entry that answers a planned thing."""
    if due.kind == "photo":
        raise FaultsError([Fault("is a photo.", "Add the photo itself; it answers the plan by its date.", "item")])
    if due.kind == "test":
        return "reading", due.of, amount
    return due.kind, due.of, amount


def _planned_amount(due: Due) -> str:
    if due.kind == "test":
        raise FaultsError([Fault("is empty.", f"Write what the test of {due.of} showed.", "amount")])
    return due.amount


def _times(due: Due, factor: float) -> str:
    if due.kind != "dose":
        raise FaultsError([Fault(f"is a {due.kind}, not a dose.", "Record it as done, with its amount.", "item")])
    count, unit = parse_counted(due.amount)
    many = factor * count
    return f"{many:.10g} {unit}{'s' if unit in ('stroke', 'drop') and many != 1 else ''}"


def _missed(trial: Trial, due: Due, told: Told, now: datetime) -> Entry:
    if due.date > local_date(now, trial.zone):
        raise FaultsError([Fault(f"is planned for {due.date}.", "Skip it on its day; plans change.", "item")])
    zone = _zone(told) if told.zone else trial.zone
    at = moment_of_day(due.date, trial, now=now, clock=None)
    payload: Dose | Skipped = Skipped(due.task)
    if due.kind == "dose":
        assert due.dose is not None
        payload = Dose(of=due.of, ml=due.dose.ml, g=due.dose.g, given=False, written=due.amount)
    return made(
        trial, payload, identity=_id(told), at=at, zone=zone, tank=due.tank, who=told.who, note=told.note.strip()
    )


def _named(book: Logbook, trial: Trial, due: Due, told: Told) -> Told:
    """Give what is recorded of a planned thing an id made of its name, unless the client made one.

    Two people who record it at the same moment, each before seeing the other's, then write one entry and not two.
    """
    if told.id is not None:
        return told
    for undone in range(1000):
        identity = str(uuid5(_NAMESPACE, "\0".join((trial.key, due.key, str(undone)))))
        try:
            _, ahead = book.entry(identity)
        except NoEntryError:
            break
        if ahead is None:
            break
    return replace(told, id=identity)


def _zone(told: Told) -> str:
    try:
        return read_zone(told.zone)
    except WrongValueError as error:
        raise FaultsError([Fault(error.what, error.right, "zone")]) from None


def _id(told: Told) -> str:
    if told.id is None:
        return new_id()
    try:
        return read_id(told.id)
    except WrongValueError as error:
        raise FaultsError([Fault(error.what, error.right, "id")]) from None


def _write(book: Logbook, trial: Trial, due: Due, entry: Entry, *, own_id: bool) -> Recorded:
    def sure() -> None:  # asked in the very transaction: of two phones that send at once the second sees the first's
        _refuse_twice(book, trial, due, entry.id if own_id else None)

    try:
        return keep(book, trial, (entry,), sure=sure)
    except AlreadyRecordedError as error:
        if own_id:
            raise
        raise AnsweredAlreadyError(due, error.there.id, "answered") from None  # by somebody else, just now


def _refuse_twice(book: Logbook, trial: Trial, due: Due, identity: str | None) -> None:
    """Raise AnsweredAlreadyError where another entry answers a planned thing than the client's own, sent again."""
    first, _ = span_of(due.date, trial.zone)
    _, until = span_of(due.date, trial.zone, days=LOOK_BACK_DAYS + 1)
    near = book.entries_within(trial.key, first, until, tank=due.tank)
    mine = [one for one in near if one.tank == due.tank]
    found = answered(trial, due.tank, mine, first=due.date, until=due.date + timedelta(days=1))
    (one,) = (one for one in found if one.key == due.key)
    if one.entries and one.entries[0] != identity:
        raise AnsweredAlreadyError(due, one.entries[0], one.state)
