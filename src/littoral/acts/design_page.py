"""What the page of a trial's design shows, as plain data: the contract between `acts.view_design` and the doors."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from littoral.findings.design_power import DesignPower
from littoral.publish.chart import Chart
from littoral.trial.design import Design
from littoral.trial.model import Trial

TICKS_APART = 0.08
"""Share of the trial's length that two days written under the picture keep between them: 30 px on a telephone."""


@dataclass(frozen=True, slots=True)
class Asked:
    """One question in words: `meaning` says how its measure is taken.

    `smallest` is the smallest difference that matters with its unit, "" where none is set; an `account` takes none.
    """

    key: str
    ask: str
    measure: str
    expected: str
    smallest: str
    primary: bool
    meaning: str = ""
    account: bool = False

    @property
    def margin(self) -> str:
        """What the smallest difference that matters means for the answer, in a sentence; "" of an account."""
        if self.account:
            return ""
        if self.smallest:
            return f"A difference under {self.smallest} does not matter."
        return "No smallest difference was set, so “no difference larger than” can never be said."


@dataclass(frozen=True, slots=True)
class Stretch:
    """One stretch of a tank's days, half-open: what it gets, and the arm whose regime that is (None: the baseline).

    `washed_until` is the day up to which nothing is compared; `from_day` where all of it is.
    """

    from_day: float
    to_day: float
    washed_until: float
    words: str
    arm_place: int | None

    @property
    def letter(self) -> str:
        """The letter that stands for the arm in the picture; "" for the baseline."""
        return "" if self.arm_place is None else "ABCDEFGHIJKLMNOPQRSTUVWXYZ"[self.arm_place % 26]


@dataclass(frozen=True, slots=True)
class TankBar:
    """One tank's days from the start to the end, without a gap."""

    tank: str
    name: str
    stretches: tuple[Stretch, ...]


@dataclass(frozen=True, slots=True)
class Version:
    """A later text of the trial whose design differs: when it came, its hash, and what it changed.

    `after_start` says that the trial was running by then; `changes` is None where the text before cannot be read.
    """

    at: datetime
    sha256: str
    after_start: bool
    changes: tuple[str, ...] | None


@dataclass(frozen=True, slots=True)
class Locked:
    """The design as it was first taken into the logbook: its SHA-256, since when, and what was changed later."""

    sha256: str
    since: datetime
    before_start: bool
    zone: str
    versions: tuple[Version, ...]
    on_first_day: bool = False
    """Taken in on the day it began, with a baseline still to run: before the arms differed in anything."""

    def when(self, at: datetime) -> str:
        """Return a moment as the trial's clocks showed it, to the minute."""
        return f"{at.astimezone(ZoneInfo(self.zone)):%Y-%m-%d %H:%M}"

    def words(self) -> str:
        """Return in a sentence since when the design is kept, and whether it stands."""
        when = "after the start, so it was not fixed beforehand"
        if self.before_start:
            when = "before the start"
        elif self.on_first_day:
            when = "on the first day, before the arms differed"
        said = f"Written down on {self.when(self.since)} ({self.zone}), {when}."
        late = sum(version.after_start for version in self.versions)
        if not self.versions:
            return f"{said} It has not been changed since."
        count = len(self.versions)
        if count == 1:
            return f"{said} It was changed once since, {'after' if late else 'before'} the start."
        which = f"{'all' if late == count else late or 'none'} of them after the start"
        return f"{said} It was changed {count} times since, {which}."


@dataclass(frozen=True, slots=True)
class DesignPage:
    """Everything that is said of a trial's design. `locked` is None for a file that no logbook holds.

    `rules` are pairs of a heading and a text. `charts` holds the chart of power by its width in px; none where no
    question's measure has ratios, or charts cannot be laid out.
    """

    trial: Trial
    lead: str
    design: Design
    drawn: tuple[str, ...]
    asked: tuple[Asked, ...]
    arms: tuple[tuple[str, str], ...]
    bars: tuple[TankBar, ...]
    rules: tuple[tuple[str, str], ...]
    power: DesignPower | None
    charts: tuple[Mapping[int, Chart], ...]
    on_dark: Mapping[str, str]
    sha256: str
    locked: Locked | None

    @property
    def ticks(self) -> tuple[float, ...]:
        """The days at which something begins or ends, ascending, less those too close to be written side by side."""
        ends = sorted({end for bar in self.bars for one in bar.stretches for end in (one.from_day, one.to_day)})
        apart = TICKS_APART * ends[-1]
        kept: list[float] = []
        for end in ends[:-1]:
            if not kept or (end - kept[-1] >= apart and ends[-1] - end >= apart):
                kept.append(end)
        return (*kept, ends[-1])

    def as_json(self) -> dict[str, Any]:
        """Return it as plain data, without the chart."""
        power = self.power
        return {
            "trial": self.trial.key,
            "factor": self.trial.factor,
            "kind": self.trial.plan.kind,
            "design": self.design.name,
            "can": self.design.can,
            "cannot": self.design.cannot,
            "drawn": list(self.drawn),
            "arms": [{"name": name, "regime": words} for name, words in self.arms],
            "questions": [
                {
                    "key": one.key, "ask": one.ask, "measure": one.measure, "expected": one.expected,
                    "smallest": one.smallest, "primary": one.primary, "meaning": one.meaning,
                }
                for one in self.asked
            ],
            "held_equal": list(self.trial.held_equal),
            "tanks": [
                {
                    "tank": bar.tank,
                    "name": bar.name,
                    "stretches": [
                        {"from_day": one.from_day, "to_day": one.to_day, "compared_from": one.washed_until,
                         "what": one.words}
                        for one in bar.stretches
                    ],
                }
                for bar in self.bars
            ],
            "rules": [{"rule": name, "text": text} for name, text in self.rules],
            "power": None if power is None else {
                "question": power.question,
                "spread": power.spreads.tanks,
                "words": list(power.words),
                "own": [{"difference": one.effect, "power": one.share} for one in power.own],
                "ways": [
                    {"design": way.design, "size": way.size, "difference_percent": way.difference_percent}
                    for way in power.ways
                ],
            },
            "sha256": self.sha256,
            "locked": None if self.locked is None else {
                "sha256": self.locked.sha256,
                "since": self.locked.since.isoformat(),
                "before_start": self.locked.before_start,
                "changed": [
                    {
                        "at": one.at.isoformat(), "sha256": one.sha256, "after_start": one.after_start,
                        "changes": None if one.changes is None else list(one.changes),
                    }
                    for one in self.locked.versions
                ],
            },
        }  # fmt: skip
