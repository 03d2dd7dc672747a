"""Check whether care was the same in both arms."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from littoral.acts.choosing import chosen_trial
from littoral.findings.same_care import CareItem, rows_of, same_care
from littoral.logbook.book import Logbook
from littoral.quantities.check_row import CheckRow
from littoral.speech.manner import Manner, manner
from littoral.trial.days import day_of
from littoral.trial.entries import AT_A_DESK, Entry, GaugeReading, Trim, WaterChange
from littoral.trial.model import Trial


@dataclass(frozen=True, slots=True)
class Audited:
    """The audit of one trial: its items, the names of the two arms, and what the file says is held equal."""

    trial: str
    title: str
    arms: tuple[str, str]
    items: tuple[CareItem, ...]
    held_equal: tuple[str, ...]

    @property
    def rows(self) -> tuple[CheckRow, ...]:
        """The check rows: holds is equal within the margin, fails is not equal, cannot tell is unknown."""
        return rows_of(self.items)

    def as_json(self) -> dict[str, Any]:
        """Return it as plain data."""
        return asdict(self)


@dataclass(frozen=True, slots=True, eq=False)
class _Asked:
    """What the audit rests on: the last entry says how long the trial has been watched, and no more.

    The same entries (an id says all of one) give the same audit, which is not worked out again.
    """

    trial: Trial
    entries: tuple[Entry, ...]
    last: Entry | None

    @property
    def _key(self) -> tuple[object, ...]:
        watched = None if self.last is None else int(day_of(self.last.at, self.trial))
        return (watched, *(entry.id for entry in self.entries))

    def __hash__(self) -> int:
        return hash(len(self.entries))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Asked) and self.trial is other.trial and self._key == other._key


@lru_cache(maxsize=8)
def _items(asked: _Asked, _manner: Manner) -> tuple[CareItem, ...]:
    entries, last = asked.entries, asked.last
    return same_care(asked.trial, entries if last is None or last in entries else (*entries, last))


def audit_care(folder: Path, trial: str | None = None) -> Audited:
    """Return the audit of a trial; NoLogbookError, NoTrialError, WhichTrialError."""
    with Logbook.open(folder) as book:
        found = book.trial(chosen_trial(book, trial))
        last = book.last_entry(found.key, but=AT_A_DESK)
        entries = book.entries_of(found.key, (GaugeReading, WaterChange, Trim))
    items = _items(_Asked(found, entries, last), manner())
    return Audited(found.key, found.title, (found.arms[0].name, found.arms[1].name), items, found.held_equal)
