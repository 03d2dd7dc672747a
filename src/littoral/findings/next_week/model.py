"""What is weighed for the week ahead, and what comes of it. Levels are mg/L as the ion, over the two weeks to come."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

Way = Literal["up", "down"]
Kind = Literal["level", "leaves", "finding"]

WEEKS_AHEAD = 2.0
"""A step is for one week and is looked at then; were it left on, it would still keep to every limit for this long."""
STEP = 0.25
"""How far one week's step goes: common practice, no source."""
LEAST_STEP = 0.05
"""A smaller step than this share of a dose nobody measures: it is none."""


@dataclass(frozen=True, slots=True)
class LevelAhead:
    """One nutrient in one tank as planned: the ends of its 90 % range over the days ahead, its band, and the strictest
    published upper limit there is for it, each None where there is none.

    `chance_below`, `chance_above`: the largest on any day of being outside the band. `limit_open` names a limit that
    cannot be told ("" where all can); `unfollowed` says that only the most there can be is known, or nothing.
    """

    nutrient: str
    low: float
    high: float
    floor: float | None = None
    ceiling: float | None = None
    chance_below: float = 0.0
    chance_above: float = 0.0
    limit: float | None = None
    limit_name: str = ""
    limit_open: str = ""
    unfollowed: bool = False

    @property
    def unknown(self) -> bool:
        """Whether nothing holds a dose of it: it is not followed, and no ceiling or published limit is told of it."""
        return self.unfollowed and self.ceiling is None and self.limit is None and not self.limit_open

    @property
    def room(self) -> float:
        """How much may be added until the ceiling or the published limit is reached; 0 where that cannot be told."""
        if self.limit_open or (self.unfollowed and self.ceiling is not None):
            return 0.0
        ends = [end for end in (self.ceiling, self.limit) if end is not None]
        return max(0.0, min(ends) - self.high) if ends else math.inf


@dataclass(frozen=True, slots=True)
class DoseAhead:
    """One planned dose of a tank's regime: its place there, bottle, amount in `unit`, and what a week of it adds."""

    at: int
    bottle: str
    name: str
    when: str
    amount: float
    unit: Literal["mL", "g"]
    adds_per_week: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a nutrient should go up or down in a tank, in a sentence."""

    nutrient: str
    way: Way
    kind: Kind
    words: str


@dataclass(frozen=True, slots=True)
class TankAhead:
    """What is known of one tank: levels by nutrient, doses, reasons from levels and leaves, and disagreements of both.

    `urgent` are published short-term limits that are probably passed, `watch` what may come to pass, in sentences.
    """

    tank: str
    name: str
    arm: str
    levels: Mapping[str, LevelAhead]
    doses: tuple[DoseAhead, ...]
    reasons: tuple[Reason, ...] = ()
    disagreements: tuple[str, ...] = ()
    urgent: tuple[str, ...] = ()
    watch: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class DoseChange:
    """One dose changed: its place in the regime, from and to which amount."""

    at: int
    bottle: str
    name: str
    when: str
    before: float
    after: float
    unit: Literal["mL", "g"]


@dataclass(frozen=True, slots=True)
class TankStep:
    """One small step in one tank, for one week: what to do, why, what to watch."""

    tank: str
    name: str
    way: Way
    changes: tuple[DoseChange, ...]
    do: str
    because: tuple[str, ...]
    watch: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Conflict:
    """Reasons that point both ways, side by side: nothing is averaged, and no step follows."""

    name: str
    about: str
    more: tuple[str, ...]
    less: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WeekAhead:
    """All of it: what the animals need first, then steps, conflicts, what is held back and why, and what to watch.

    `animals` are the limits that are probably passed, and last what to do about them; empty where there are none.
    """

    animals: tuple[str, ...] = ()
    steps: tuple[TankStep, ...] = ()
    conflicts: tuple[Conflict, ...] = ()
    held_back: tuple[str, ...] = ()
    watch: tuple[str, ...] = ()
    tanks: tuple[TankAhead, ...] = field(default=(), repr=False)
