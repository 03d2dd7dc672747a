"""Who recorded an entry."""

from __future__ import annotations

from pathlib import Path

from littoral.logbook.book import Logbook
from littoral.logbook.changed_entries import NoEntryError


def who_recorded(folder: Path, identity: str) -> str | None:
    """Return the `who` of an entry, superseded or not; None where the logbook at `folder` has none of this id."""
    with Logbook.open(folder) as book:
        try:
            return book.entry(identity)[0].who
        except NoEntryError:
            return None
