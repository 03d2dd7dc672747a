"""What a finding is. CLI, web, sheet and `findings.json` all print this same object."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from littoral.stats.series import Series

Rule = Literal[
    "not answered",  # no data behind the measure: the finding says what is missing
    "cannot tell",  # interval includes 0
    "no larger than",  # interval inside the margin set beforehand
    "these two tanks differ",  # one tank per arm, interval excludes 0
    "larger than equal tanks usually show",
    "difference changed after the regimes began",
    "exact account",  # costs and minutes: an account of what was written down, not an estimate
]


@dataclass(frozen=True, slots=True)
class ArmValue:
    """What one arm's tank showed after the baseline: value with its 95 % interval (None where it is exact)."""

    arm: str
    tank: str
    value: float
    low: float | None
    high: float | None
    days: int


@dataclass(frozen=True, slots=True)
class Evidence:
    """What a finding rests on, so that a reader can look: days, photos (entry ids), entries (ids), and the series.

    `series` is keyed "<tank>" or "<tank>/<region>"; `disturbed_by` are entries that weaken the finding, such as missed
    doses, by id with the reason.
    """

    days: tuple[float, ...]
    photos: tuple[str, ...]
    entries: tuple[str, ...]
    series: Mapping[str, Series]
    disturbed_by: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Finding:
    """The answer to one question: effect = second arm minus first arm, in `unit`, with its 95 % interval.

    `wording` is the sentence that may be published, `rule` why it is allowed to say that much, and `next_step` the
    cheapest way to learn more. `effect` is None where the question could not be answered; `missing` says why.
    """

    question: str
    ask: str
    measure: str
    unit: str
    arms: tuple[ArmValue, ...]
    effect: float | None
    low: float | None
    high: float | None
    relative_percent: float | None
    tanks_per_arm: int
    design: str
    rule: Rule
    wording: str
    rule_text: str
    next_step: str
    method: str
    source: str
    evidence: Evidence
    missing: str = ""
