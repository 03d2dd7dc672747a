"""What gauges of a tank showed of late: pH, temperature, KH, conductivity; each with its day and range."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from littoral.trial.days import day_of
from littoral.trial.entries import Entry, GaugeReading
from littoral.trial.model import Trial

LATELY_DAYS = 14.0
"""Older readings say little of the water now; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Shown:
    """One reading of a gauge: day, and its range in the gauge's unit (`trial.gauges`)."""

    day: float
    low: float
    high: float

    @property
    def middle(self) -> float:
        """The middle of the range."""
        return (self.low + self.high) / 2


def shown_of(trial: Trial, entries: Sequence[Entry], tank: str, gauge: str) -> tuple[Shown, ...]:
    """Return all readings of one gauge in one tank, by day."""
    return tuple(
        Shown(day_of(entry.at, trial), entry.payload.low, entry.payload.high)
        for entry in entries
        if entry.tank == tank and isinstance(entry.payload, GaugeReading) and entry.payload.gauge == gauge
    )


def lately(shown: Sequence[Shown], *, now_day: float) -> tuple[Shown, ...]:
    """Return the readings of the two weeks before `now_day`."""
    return tuple(one for one in shown if now_day - LATELY_DAYS <= one.day <= now_day)
