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


def is_own(name: str, who: str) -> bool:
    """Tell whether an entry that carries `who` was recorded by the device called `name`."""
    return who == name or who.endswith(f" ({name})")


def stands_in_entries(book: Logbook, name: str) -> bool:
    """Tell whether entries are there already that a device called `name` would pass for its own."""
    said = name.casefold()
    return any(is_own(said, (entry.who or "").casefold()) for key in book.trials() for entry in book.all_entries(key))
