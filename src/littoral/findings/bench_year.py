"""A bench's trials week by week, and what they answered: the question, the answer, its interval, how strong it is."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Literal

from littoral.findings.history import answer_cell, last_day
from littoral.findings.pooled_showing import unit_text
from littoral.findings.tank_effects import Result
from littoral.trial.model import Trial
from littoral.trial.periods import periods_of

WEEK_DAYS = 7
Stage = Literal["baseline", "arms", "arms swapped"]


@dataclass(frozen=True, slots=True)
class TrialWeek:
    """One week of a trial, from its first date on: what it was, and how much was written down.

    `days` is 7, fewer for a last one that is cut short. `entries` do not count photos. It is a `gap` where it has begun
    and holds neither an entry nor a photo; `trims` are counted by tank.
    """

    first: date
    days: int
    stage: Stage
    entries: int
    photos: int
    trims: int
    begun: bool

    @property
    def gap(self) -> bool:
        """Whether the week has begun and nothing was written down in it."""
        return self.begun and not (self.entries or self.photos)


@dataclass(frozen=True, slots=True)
class TrialYear:
    """One trial as a strip: its weeks, the names of its arms, and whether it has ended."""

    key: str
    title: str
    factor: str
    arms: tuple[str, ...]
    start: date
    end: date
    weeks: tuple[TrialWeek, ...]
    ended: bool
    rendered: bool


@dataclass(frozen=True, slots=True)
class Answered:
    """One question of one trial: the answer in a sentence, its interval, and how strong it is (the rule behind it)."""

    trial: str
    title: str
    question: str
    answer: str
    interval: str
    strength: str
    primary: bool
    next_step: str


def trial_year(
    trial: Trial,
    *,
    entry_days: Iterable[float],
    photo_days: Iterable[float],
    trim_days: Iterable[float],
    today: date,
) -> TrialYear:
    """Return a trial as a strip of weeks; all days count from day 0, those outside the trial are left out.

    A week that is partly baseline is what its first day is.
    """
    length = max(1, round(trial.length_days))
    counts = [_by_week(days, length) for days in (entry_days, photo_days, trim_days)]
    weeks = tuple(
        TrialWeek(
            first=trial.start + timedelta(days=day),
            days=min(WEEK_DAYS, length - day),
            stage=_stage(trial, day),
            entries=counts[0][day // WEEK_DAYS],
            photos=counts[1][day // WEEK_DAYS],
            trims=counts[2][day // WEEK_DAYS],
            begun=trial.start + timedelta(days=day) <= today,
        )
        for day in range(0, length, WEEK_DAYS)
    )
    return TrialYear(
        trial.key,
        trial.title,
        trial.factor,
        tuple(arm.name for arm in trial.arms),
        trial.start,
        last_day(trial),
        weeks,
        last_day(trial) < today,
        trial.rendered,
    )


def answers_of(results: Sequence[Result]) -> tuple[Answered, ...]:
    """Return every question of every trial with its answer, the oldest trial first, its primary question first."""
    found: list[Answered] = []
    for trial, findings in sorted(results, key=lambda one: (one[0].start, one[0].key)):
        for finding in sorted(findings, key=lambda one: not one.primary):
            number, _ = answer_cell(finding, trial, trial.currency)
            answer = finding.wording.partition(". ")[0].rstrip(".")
            found.append(
                Answered(
                    trial.key,
                    trial.title,
                    finding.ask,
                    f"{answer}." if answer else "",
                    f"{number} {unit_text(finding.measure, 'difference', trial.currency, difference=True)}"
                    if number
                    else "",
                    finding.rule,
                    finding.primary,
                    finding.next_step,
                )
            )
    return tuple(found)


def learnt(answered: Sequence[Answered]) -> tuple[str, ...]:
    """Return what the primary questions have answered so far, one line for each trial; none where nothing is known."""
    return tuple(f"{one.title}: {one.answer}" for one in answered if one.primary and one.interval and one.answer)


def to_try(answered: Sequence[Answered]) -> tuple[str, ...]:
    """Return what would tell more, the newest trial's first, each said once with the trials that ask for it."""
    said: dict[str, list[str]] = {}
    for one in reversed(answered):
        if one.primary and one.next_step:
            said.setdefault(one.next_step, []).append(one.title)
    return tuple(f"{', '.join(titles)}: {step}" for step, titles in said.items())


def year_json(strips: Sequence[TrialYear]) -> list[dict[str, Any]]:
    """Return the strips as plain data."""
    return [
        {
            "key": one.key,
            "title": one.title,
            "factor": one.factor,
            "arms": list(one.arms),
            "start": one.start.isoformat(),
            "end": one.end.isoformat(),
            "ended": one.ended,
            "rendered": one.rendered,
            "weeks": [
                {
                    "first": week.first.isoformat(),
                    "days": week.days,
                    "stage": week.stage,
                    "entries": week.entries,
                    "photos": week.photos,
                    "trims": week.trims,
                    "gap": week.gap,
                }
                for week in one.weeks
            ],
        }
        for one in strips
    ]


def answers_json(answered: Sequence[Answered]) -> list[dict[str, Any]]:
    """Return the answers as plain data."""
    return [
        {
            "trial": one.trial,
            "question": one.question,
            "answer": one.answer,
            "interval": one.interval or None,
            "strength": one.strength,
            "primary": one.primary,
            "next_step": one.next_step,
        }
        for one in answered
    ]


def _by_week(days: Iterable[float], length: int) -> list[int]:
    counts = [0] * -(-length // WEEK_DAYS)
    for day in days:
        if 0 <= day < length:
            counts[int(day // WEEK_DAYS)] += 1
    return counts


def _stage(trial: Trial, day: int) -> Stage:
    if day < trial.baseline_days:
        return "baseline"
    for period in periods_of(trial) if trial.plan.kind == "crossover" else ():
        if period.from_day <= day < period.to_day and period.swapped:
            return "arms swapped"
    return "arms"
