"""Answer the questions of a trial."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from littoral.acts.bench_spread import spreads_before
from littoral.acts.choosing import chosen_trial
from littoral.errors import extras_needed
from littoral.findings.answers import answer
from littoral.findings.measured import Measured
from littoral.findings.measuring import measure_photos
from littoral.findings.model import Finding
from littoral.logbook.book import Logbook
from littoral.progress import Progress
from littoral.trial.model import Trial


@dataclass(frozen=True, slots=True, eq=False)
class Answered:
    """A trial with what was measured and found."""

    trial: Trial
    measured: Measured
    findings: tuple[Finding, ...]


@extras_needed()
def answer_questions(folder: Path, trial_key: str | None = None, *, progress: Progress | None = None) -> Answered:
    """Measure what is not measured yet and answer every question of a trial."""
    with Logbook.open(folder) as book:
        trial = book.trial(chosen_trial(book, trial_key))
        measured = measure_photos(book, trial, progress=progress)
        return Answered(trial, measured, answer(book, trial, measured=measured, seen=spreads_before(book, trial)))
