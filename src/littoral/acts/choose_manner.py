"""Choose the language and the units that a logbook speaks in."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from littoral.errors import Fault, FaultsError
from littoral.logbook.book import Logbook
from littoral.logbook.spoken import read_manner, write_manner
from littoral.speech.manner import LANGUAGES, NAMES, UNITS, WEEK_STARTS, Manner, changed, is_choice


def choices_of(name: str) -> tuple[str, ...]:
    """Return what may be chosen for one part of the manner; KeyError for no such part."""
    return {"language": tuple(LANGUAGES), "week_start": WEEK_STARTS, **UNITS}[name]


def checked(said: Mapping[str, str]) -> Mapping[str, str]:
    """Return what is said, whole; FaultsError with every part that is unknown or no choice."""
    faults = []
    for name, value in said.items():
        if name not in NAMES:
            faults.append(Fault("is no setting.", f"There are {', '.join(NAMES)}.", name))
        elif not is_choice(name, value):
            faults.append(Fault(f'cannot be "{value[:40]}".', f"Choose one of: {', '.join(choices_of(name))}.", name))
    if faults:
        raise FaultsError(faults)
    return said


def manner_of(folder: Path) -> Manner:
    """Return how a logbook speaks; NoLogbookError."""
    with Logbook.open(folder):
        return read_manner(folder)


def choose_manner(folder: Path, said: Mapping[str, str]) -> Manner:
    """Change how a logbook speaks, and return it.

    `said` holds names and values of the parts to change. NoLogbookError, FaultsError, UnwrittenFileError, and the
    logbook's error where it is read-only.
    """
    with Logbook.open(folder) as book:
        if book.read_only is not None:
            raise book.read_only
    chosen = changed(read_manner(folder), checked(said))
    write_manner(folder, chosen)
    return chosen
