"""Check whether care was the same in both arms."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from littoral.acts.choosing import chosen_trial
from littoral.findings.same_care import CareItem, rows_of, same_care
from littoral.logbook.book import Logbook
from littoral.quantities.check_row import CheckRow
from littoral.trial.entries import GaugeReading, Overridden, Trim, WaterChange


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


def audit_care(folder: Path, trial: str | None = None) -> Audited:
    """Return the audit of a trial; NoLogbookError, NoTrialError, WhichTrialError."""
    with Logbook.open(folder) as book:
        found = book.trial(chosen_trial(book, trial))
        last = book.last_entry(found.key, but=(Overridden,))
        entries = book.entries_of(found.key, (GaugeReading, WaterChange, Trim))
    # the last entry, whatever it is, says how long the trial has been watched; the audit asks nothing of the others
    items = same_care(found, entries if last is None or last in entries else (*entries, last))
    return Audited(found.key, found.title, (found.arms[0].name, found.arms[1].name), items, found.held_equal)
