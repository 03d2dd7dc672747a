"""Measure every photo of a trial."""

from __future__ import annotations

from pathlib import Path

from littoral.acts.choosing import chosen_trial
from littoral.errors import extras_needed
from littoral.findings import measuring
from littoral.findings.measured import Measured
from littoral.logbook.book import Logbook
from littoral.progress import Progress


@extras_needed()
def measure_photos(folder: Path, trial_key: str | None = None, *, progress: Progress | None = None) -> Measured:
    """Measure the photos of a trial in the logbook at `folder`; what was measured before comes from the cache."""
    with Logbook.open(folder) as book:
        trial = book.trial(chosen_trial(book, trial_key))
        return measuring.measure_photos(book, trial, progress=progress)
