"""What is known of the levels of a trial between its tests: numbers with their doubt, and what to do about it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from littoral.findings.estimates.kept_tanks import Kept
from littoral.quantities.check_row import CheckRow
from littoral.tank.alarms import Alarm
from littoral.tank.fit.fit import Posterior
from littoral.tank.fit.forecast import Bands, Estimate
from littoral.tank.fit.next_test import Worth
from littoral.tank.fit.surprise import Surprise
from littoral.tank.limiting import Limiting
from littoral.trial.model import Band

A_MOMENT = 1e-6
"""Days, a tenth of a second: what is told of the end of a day belongs to that day."""


@dataclass(frozen=True, slots=True, eq=False)
class TestedLevel:
    """One reading as it is drawn: its range in mg/L, what was written, and how well the rest explains it."""

    entry_id: str
    day: float
    low_mg_per_l: float
    high_mg_per_l: float
    shown: str
    method: str
    surprise: Surprise


@dataclass(frozen=True, slots=True, eq=False)
class LevelEstimate:
    """One nutrient in one tank, mg/L. `bands` goes from day 0 through two weeks from `now_day` on.

    `before_change` is the level just before the last water change done, `before_next` before the next one planned, each
    with its day; None where there is none. `doses` are (day, mg/L added); those after `now_day` are planned.
    `without_readings` says that nothing but what was dosed and what is usual is behind it.
    """

    tank: str
    nutrient: str
    bands: Bands
    now: Estimate
    before_change: tuple[float, Estimate] | None
    before_next: tuple[float, Estimate] | None
    net_removal: Estimate
    source: Estimate
    band: Band
    doses: tuple[tuple[float, float], ...]
    change_days: tuple[float, ...]
    results: tuple[TestedLevel, ...]
    without_readings: bool


@dataclass(frozen=True, slots=True, eq=False)
class Narrowing:
    """How the band of one level narrowed as tests came in: the level just before a change, known at the end of a week.

    `weeks` (n,) after the start of the record; each has the day of its change and the estimate as it was known then.
    """

    tank: str
    nutrient: str
    weeks: tuple[int, ...]
    day: tuple[float, ...]
    estimate: tuple[Estimate, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Estimates:
    """All that follows from the fit of one trial, by tank and nutrient in the trial's order.

    `changes` says, where conductivity was read before and after one, whether as much water was changed as noted.
    `now_day` is the day that "now" means: today, or the end of the record of a trial that is over (`ended`). `kept` and
    `posterior` are what other questions ("what if…") are asked of.
    """

    now_day: float
    to_day: float
    ended: bool
    levels: tuple[LevelEstimate, ...]
    narrowing: tuple[Narrowing, ...]
    next_tests: tuple[Worth, ...]
    alarms: Mapping[str, tuple[Alarm, ...]]
    changes: Mapping[str, tuple[CheckRow, ...]]
    limiting: Mapping[str, tuple[Limiting, ...]]
    kept: Kept
    posterior: Posterior
    remarks: tuple[str, ...]

    def of(self, tank: str, nutrient: str) -> LevelEstimate:
        """Return the estimate of one level; KeyError where there is none."""
        for one in self.levels:
            if (one.tank, one.nutrient) == (tank, nutrient):
                return one
        raise KeyError((tank, nutrient))

    @property
    def last_day(self) -> float:
        """A moment of the last day that is known of: today, or the day at whose midnight a record ended."""
        return self.now_day - A_MOMENT if self.ended and self.now_day >= 1 else self.now_day

    @property
    def nutrients(self) -> tuple[str, ...]:
        """The nutrients that are followed."""
        return tuple(dict.fromkeys(one.nutrient for one in self.levels))
