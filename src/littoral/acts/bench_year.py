"""The whole bench on one page: strips of weeks, answers side by side, what was learnt, what to try next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from littoral.acts.bench_history import answered_trials, history_json
from littoral.acts.trial_page import TrialPage
from littoral.errors import extras_needed
from littoral.findings.bench_year import (
    Answered,
    TrialYear,
    answers_json,
    answers_of,
    learnt,
    to_try,
    trial_year,
    year_json,
)
from littoral.findings.history import History, history_of
from littoral.findings.tank_effects import Result
from littoral.logbook.book import Logbook
from littoral.progress import Progress
from littoral.publish.bench_year_chart import bench_year_chart
from littoral.publish.chart import Chart
from littoral.trial.days import day_of
from littoral.trial.entries import Entry, Photo, Trim
from littoral.trial.model import Trial


@dataclass(frozen=True, slots=True)
class BenchYear:
    """All trials of a bench: their strips, the history, every question answered, what was learnt, what to try."""

    strips: tuple[TrialYear, ...]
    history: History
    answered: tuple[Answered, ...]
    learnt: tuple[str, ...]
    to_try: tuple[str, ...]
    today: date

    def chart(self, width_px: float) -> Chart | None:
        """Return the strips as a chart; None without a trial."""
        return bench_year_chart(self.strips, today=self.today, width_px=width_px)


@extras_needed()
def bench_year(folder: Path, *, today: date, progress: Progress | None = None) -> BenchYear:
    """Answer every trial of the logbook at `folder` and lay them out; photos are measured first. NoLogbookError."""
    with Logbook.open(folder) as book:
        results = answered_trials(book, progress=progress)
        strips = [strip_of(trial, book.entries(trial.key), today=today) for trial, _ in results]
    return laid_out(results, strips, today=today)


def laid_out(results: Sequence[Result], strips: Sequence[TrialYear], *, today: date) -> BenchYear:
    """Return a bench from its trials with their findings and strips, in any order."""
    answered = answers_of(results)
    ordered = tuple(sorted(strips, key=lambda one: (one.start, one.key)))
    return BenchYear(ordered, history_of(results), answered, learnt(answered), to_try(answered), today)


def strip_of(trial: Trial, entries: Sequence[Entry], *, today: date) -> TrialYear:
    """Return a trial's weeks from its entries in force."""
    days = [(day_of(entry.at, trial), entry.payload) for entry in entries]
    return trial_year(
        trial,
        entry_days=[day for day, payload in days if not isinstance(payload, Photo)],
        photo_days=[day for day, payload in days if isinstance(payload, Photo)],
        trim_days=[day for day, payload in days if isinstance(payload, Trim)],
        today=today,
    )


def strip_of_page(page: TrialPage, *, today: date) -> TrialYear:
    """Return a trial's weeks from its page, which holds the same entries; photos as they are shown, each once."""
    photos = {
        shown.photo.entry_id: shown.photo.day
        for tank in page.tanks
        for shown in tank.shown
        if shown.photo is not None and not shown.held
    }
    return trial_year(
        page.trial,
        entry_days=[event.day for event in page.events],
        photo_days=photos.values(),
        trim_days=[event.day for event in page.events if event.kind == "trim"],
        today=today,
    )


def bench_json(bench: BenchYear) -> dict[str, Any]:
    """Return the bench as plain data: the history, the year by weeks, the answers, what was learnt and what to try."""
    return {
        **history_json(bench.history),
        "today": bench.today.isoformat(),
        "year": year_json(bench.strips),
        "answers": answers_json(bench.answered),
        "learnt": list(bench.learnt),
        "to_try": list(bench.to_try),
    }
