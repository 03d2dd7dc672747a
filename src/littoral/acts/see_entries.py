"""See what was recorded, day by day, newest first, with every version of what was corrected or undone."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from littoral.acts.large_doses import large_dose_remark
from littoral.acts.recorded import words_of
from littoral.logbook.book import Logbook
from littoral.logbook.payloads import kind_of
from littoral.trial.days import local_date, span_of
from littoral.trial.entries import Entry, Withdrawn
from littoral.trial.model import Trial
from littoral.trial.written.cells import Cells, cells_of

MOST_DAYS = 31
ENOUGH = 200
"""With so many entries no further date is added: a bench of many tanks shows fewer days at once."""


@dataclass(frozen=True, slots=True)
class Seen:
    """One version of an entry: itself, its words without the tank, and its local time."""

    entry: Entry
    words: str
    clock: str

    @property
    def undone(self) -> bool:
        """Whether it says that what was before it does not hold."""
        return isinstance(self.entry.payload, Withdrawn)


@dataclass(frozen=True, slots=True)
class Versions:
    """What holds, and what was before it, the newest first."""

    now: Seen
    before: tuple[Seen, ...]


@dataclass(frozen=True, slots=True)
class EntryDay:
    """One local date with its entries, the latest first."""

    date: date
    day: int
    entries: tuple[Versions, ...]


@dataclass(frozen=True, slots=True)
class EntryStream:
    """Some days of a trial's entries; `earlier` and `later` are the next dates with entries outside them, if any."""

    trial: str
    title: str
    zone: str
    tanks: tuple[tuple[str, str], ...]
    first: date
    last: date
    earlier: date | None
    later: date | None
    days: tuple[EntryDay, ...]

    def as_json(self) -> dict[str, Any]:
        """Return it as plain data."""
        return {
            "trial": self.trial,
            "title": self.title,
            "zone": self.zone,
            "first": str(self.first),
            "last": str(self.last),
            "earlier": str(self.earlier) if self.earlier else None,
            "later": str(self.later) if self.later else None,
            "days": [
                {
                    "date": str(day.date),
                    "entries": [
                        {
                            "now": entry_json(one.now.entry, one.now.words),
                            "before": [entry_json(old.entry, old.words) for old in one.before],
                        }
                        for one in day.entries
                    ],
                }
                for day in self.days
            ],
        }


@dataclass(frozen=True, slots=True)
class SeenEntry:
    """One entry by its id: what it says, what took its place, and its cells (None: no row says it).

    `remark` is what to do about it, "" for nothing.
    """

    trial: Trial
    entry: Seen
    ahead: Seen | None
    cells: Cells | None
    remark: str = ""

    def as_json(self) -> dict[str, Any]:
        """Return it as plain data."""
        cells = self.cells
        return {
            "entry": entry_json(self.entry.entry, self.entry.words),
            "ahead": None if self.ahead is None else entry_json(self.ahead.entry, self.ahead.words),
            "cells": None
            if cells is None
            else {"kind": cells.kind, "what": cells.what, "amount": cells.amount, "text": cells.text},
        }


def entry_json(entry: Entry, words: str = "") -> dict[str, Any]:
    """Return an entry as plain data, with words where they are given."""
    return {
        "id": entry.id,
        "trial": entry.trial,
        "at": entry.at.isoformat(),
        "zone": entry.zone,
        "tank": entry.tank,
        "kind": kind_of(entry.payload),
        "words": words,
        "note": entry.note,
        "who": entry.who,
        "supersedes": entry.supersedes,
    }


def see_entries(
    folder: Path, trial: str, *, last: date | None = None, days: int = 7, tank: str | None = None
) -> EntryStream:
    """Return the entries of up to `days` local dates (at most MOST_DAYS) ending with `last`.

    Fewer dates are shown where they hold ENOUGH entries. Without `last` they end with the last date on which there is
    an entry. A corrected entry stands on the date of the version that holds. Only the dates shown are read.
    NoLogbookError, NoTrialError.
    """
    days = max(1, min(days, MOST_DAYS))
    with Logbook.open(folder) as book:
        found = book.trial(trial)
        newest = book.last_entry_at(trial)
        end = last or (local_date(newest, found.zone) if newest is not None else found.start)
        first = end - timedelta(days=days - 1)
        _, until = span_of(end, found.zone)
        first, chains = _newest(book, found, first, end)
        from_moment, _ = span_of(first, found.zone)
        before = book.last_entry_at(trial, before=from_moment)
        after = book.first_entry_at(trial, since=until)
    by_date: dict[date, list[Versions]] = defaultdict(list)
    for newest_first in chains:
        if tank is not None and newest_first[0].tank != tank:
            continue
        seen = [seen_of(one, found) for one in newest_first]
        by_date[local_date(newest_first[0].at, found.zone)].append(Versions(seen[0], tuple(seen[1:])))
    shown = tuple(
        EntryDay(day, (day - found.start).days, tuple(sorted(by_date[day], key=_at, reverse=True)))
        for day in sorted(by_date, reverse=True)
    )
    return EntryStream(
        trial=trial,
        title=found.title,
        zone=found.zone,
        tanks=tuple((key, one.name) for key, one in found.tanks.items()),
        first=first,
        last=end,
        earlier=local_date(before, found.zone) if before is not None else None,
        later=local_date(after, found.zone) if after is not None else None,
        days=shown,
    )


def _newest(book: Logbook, trial: Trial, first: date, last: date) -> tuple[date, list[tuple[Entry, ...]]]:
    """Return the versions of whole dates back from `last`, no further than `first` or ENOUGH; and the first date."""
    chains: list[tuple[Entry, ...]] = []
    day = last
    while True:
        chains += book.versions_within(trial.key, *span_of(day, trial.zone))
        if day <= first or len(chains) >= ENOUGH:
            return day, chains
        day -= timedelta(days=1)


def see_entry(folder: Path, identity: str) -> SeenEntry:
    """Return one entry by its id, superseded or not; NoEntryError."""
    with Logbook.open(folder) as book:
        entry, ahead = book.entry(identity)
        trial = book.trial(entry.trial)
    try:
        cells = cells_of(entry.payload)
    except TypeError:
        cells = None
    remark = large_dose_remark(entry, trial)
    return SeenEntry(trial, seen_of(entry, trial), None if ahead is None else seen_of(ahead, trial), cells, remark)


def seen_of(entry: Entry, trial: Trial) -> Seen:
    """Return an entry with its words and its local time."""
    at: datetime = entry.at.astimezone(ZoneInfo(trial.zone))
    words = words_of(entry, trial)
    if isinstance(entry.payload, Withdrawn) and entry.payload.reason != "undone":
        words = f"{words} ({entry.payload.reason})"
    return Seen(entry, words, f"{at:%H:%M}")


def _at(one: Versions) -> tuple[datetime, str]:
    return one.now.entry.at, one.now.entry.id
