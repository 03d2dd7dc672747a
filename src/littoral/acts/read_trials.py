"""Read the trials of a logbook, without their entries."""

from __future__ import annotations

from pathlib import Path

from littoral.logbook.book import Logbook
from littoral.trial.model import Trial


def read_trials(folder: Path) -> dict[str, Trial]:
    """Return every trial of a logbook by its key, the newest first; NoLogbookError."""
    with Logbook.open(folder) as book:
        return {key: book.trial(key) for key in reversed(book.trials())}
