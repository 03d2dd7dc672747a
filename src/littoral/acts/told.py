"""What a person tells of one thing done, as typed text: read into an entry, or refused with every mistake in it."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import partial
from typing import TypeVar
from zoneinfo import ZoneInfo

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.reading_text import with_unit
from littoral.errors import Fault, FaultsError
from littoral.trial.days import day_of, local_date, moment_on, outside_days, span_of
from littoral.trial.entries import Entry, Payload
from littoral.trial.model import Tank, Trial
from littoral.trial.written.decimal_marks import check_readings
from littoral.trial.written.entries_csv import LONGEST_CELL
from littoral.trial.written.moments import read_date, read_moment, read_time
from littoral.trial.written.payloads import KINDS
from littoral.trial.written.report import WrongValueError, suggest
from littoral.trial.written.said import Said, WrongCellError

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Told:
    """The circumstances of an entry, as typed; all may be left out.

    `trial` is needed only where a logbook holds several. `when` is "" for now, else "18:30", "2026-03-08",
    "2026-03-08 18:30", "yesterday" or "yesterday 18:30", by the clocks of `zone` (the trial's unless given). `id` is a
    UUID that the client made, so that sending it twice records it once.
    """

    trial: str | None = None
    when: str = ""
    zone: str = ""
    who: str = ""
    note: str = ""
    id: str | None = None


def new_id() -> str:
    """Return an id for an entry that comes without one."""
    return str(uuid.uuid4())


class Faults:
    """The mistakes found so far in what was told; `where` of each is the field it is in."""

    def __init__(self) -> None:
        self.found: list[Fault] = []

    def attempt(self, field: str, step: Callable[[], T]) -> T | None:
        """Return what a step gives, or note its mistakes and return None."""
        try:
            return step()
        except WrongCellError as error:
            for one in (error, *error.also):
                self.add(one.column, one)
        except WrongValueError as error:
            self.add(field, error)
        return None

    def add(self, field: str, error: WrongValueError) -> None:
        """Note one mistake in a field."""
        self.found.append(Fault(error.what, error.right, field))

    def refuse(self) -> None:
        """Raise FaultsError where there is any."""
        if self.found:
            raise FaultsError(self.found)


def read_told(
    trial: Trial,
    kind: str,
    *,
    tank: str,
    what: str,
    amount: str,
    told: Told,
    now: datetime,
    base: date | None = None,
) -> Entry:
    """Return the entry that was told. `kind` is one of `trial.written.payloads.KINDS`.

    `base` is the date that a bare time of day is of, today unless given. A nutrient's reading without a unit is mg/L of
    the whole ion, as every level here is. FaultsError holds every mistake.
    """
    faults = Faults()
    identity = new_id() if told.id is None else faults.attempt("id", partial(read_id, told.id))
    zone = faults.attempt("zone", lambda: read_zone(told.zone or trial.zone)) or trial.zone
    at = faults.attempt("when", lambda: read_when(told.when, trial, now=now, zone=zone, base=base))
    there = faults.attempt("tank", lambda: read_tank(tank, trial))
    cells = {"what": what, "amount": amount, "note": told.note, "who": told.who}
    too_long = [field for field, text in cells.items() if not faults.attempt(field, partial(check_short, text))]
    clear = faults.attempt("amount", lambda: _clear(amount))
    found = None
    if clear and not too_long:
        said = Said(
            what=_named(kind, what.strip(), trial),
            amount=_reading(kind, what, " ".join(amount.split())),
            note=told.note.strip(),
            tank=there or next(iter(trial.tanks.values())),
            trial=trial,
            day=day_of(at, trial) if at else 0.0,
            weekday=(at or now).astimezone(ZoneInfo(trial.zone)).weekday(),
        )
        found = faults.attempt("amount", lambda: KINDS[kind](said))
    faults.refuse()
    assert identity is not None
    assert at is not None
    assert there is not None
    assert found is not None
    return made(
        trial, found.payload, identity=identity, at=at, zone=zone, tank=there.key, who=told.who, note=found.note
    )


def made(
    trial: Trial, payload: Payload, *, identity: str, at: datetime, zone: str, tank: str | None, who: str, note: str
) -> Entry:
    """Return an entry that a person made by hand: it has no origin."""
    return Entry(id=identity, at=at, zone=zone, tank=tank, payload=payload, who=who.strip(), note=note, trial=trial.key)


def read_id(written: str) -> str:
    """Return a UUID in its usual form; WrongValueError."""
    try:
        return str(uuid.UUID(written.strip()))
    except ValueError:
        raise WrongValueError(f'is "{written[:60]}", not a UUID.', "Leave it out, or make one anew.") from None


def read_zone(written: str) -> str:
    """Return the name of a zone that there is; WrongValueError."""
    try:
        ZoneInfo(written)
    except (LookupError, ValueError, OSError):
        what = f'is "{written[:60]}", which is not a time zone.'
        raise WrongValueError(what, "Write a name of the IANA list, such as Europe/Berlin.") from None
    return written


def read_tank(written: str, trial: Trial) -> Tank:
    """Return the tank of a short name; WrongValueError."""
    if written not in trial.tanks:
        what = f'is "{written[:60]}".' if written else "is empty."
        raise WrongValueError(what, suggest(written[:60], trial.tanks, "tanks"))
    return trial.tanks[written]


def read_when(written: str, trial: Trial, *, now: datetime, zone: str, base: date | None = None) -> datetime:
    """Return the moment, UTC, that a text says (see `Told.when`); WrongValueError also outside the trial's days."""
    words = " ".join(written.split())
    if not words:
        at = now
    else:
        today = local_date(now, zone)
        first, _, rest = words.partition(" ")
        day = _day_word(first, today)
        if day is None:  # a bare time of day
            day, rest = base or today, words
        if not rest and day == today:
            at = now
        else:
            clock, ahead = read_time(rest) if rest else (time(12), None)
            at = read_moment(day, clock, ahead, zone)
    if at > now:
        raise WrongValueError(f'is "{written}", in the future.', "Write it down when it has happened.")
    if outside := outside_days(at, trial):
        raise WrongValueError(f"is {local_date(at, trial.zone)}, but {outside}.", "Correct the date or this clock.")
    return at.astimezone(UTC)


def moment_of_day(day: date, trial: Trial, *, now: datetime, clock: time | None) -> datetime:
    """Return the moment for something of a date that is not told closer: now on that date, else its `clock` or noon.

    Noon of a date is halfway between its midnights, so that it is there whatever the clocks do.
    """
    if local_date(now, trial.zone) == day:
        return now
    first, until = span_of(day, trial.zone)
    if clock is None:
        return first + (until - first) / 2
    return moment_on(day, clock, trial.zone)


def _day_word(word: str, today: date) -> date | None:
    known = {"today": today, "yesterday": today - timedelta(days=1)}
    if word.casefold() in known:
        return known[word.casefold()]
    return None if ":" in word or len(word) < 6 else read_date(word)


def check_short(text: str) -> bool:
    """Return True; WrongValueError where a text is longer than is kept."""
    if len(text) > LONGEST_CELL or "\x00" in text:
        raise WrongValueError(f"has {len(text)} characters.", f"At most {LONGEST_CELL} are kept.")
    return True


def _named(kind: str, what: str, trial: Trial) -> str:
    """Return the short name of a bottle that was told by the name that pages show, where only one has that name."""
    if kind not in ("dose", "missed dose") or what in trial.bottles:
        return what
    keys = [key for key, bottle in trial.bottles.items() if bottle.name.casefold() == what.casefold()]
    return keys[0] if len(keys) == 1 else what


def _reading(kind: str, what: str, amount: str) -> str:
    """Return an amount; of a nutrient's test with its words as signs, and in mg/L where only a number was typed."""
    return with_unit(amount, "mg/L") if kind == "reading" and what.strip().casefold() in NUTRIENTS else amount


def _clear(amount: str) -> bool:
    check_readings(amount, points_are_decimal=True)
    return True
