"""What comparing the arms gave for one question, before any word is chosen for it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from littoral.findings.model import ArmValue, Beside, Curve, Interval, Part
from littoral.findings.spread import Spread
from littoral.findings.swaps import Swaps
from littoral.findings.tank_values import TankSeries
from littoral.stats.estimate import Estimate
from littoral.stats.series import Series
from littoral.trial.model import Question

NOTHING_CAME = "nothing came"
NOTHING_CAME_YET = "nothing came while all were watched"
"""Names of a test over tanks that had nothing to compare: at all, or until the last day on which all were watched."""


@dataclass(frozen=True, slots=True)
class TankTest:
    """A test over tanks or pairs that needs no distribution, named as in rules.toml.

    `smallest_p` is the least p value that so few tanks could have given. `interval_at` gives the interval of the effect
    at a level (0 to 1); it is None where there is none.
    """

    name: str
    p_value: float
    smallest_p: float
    interval_at: Callable[[float], Interval] | None = field(default=None, compare=False)


@dataclass(frozen=True, slots=True)
class Described:
    """Waiting times or steps in words: which arm had `more`, what was `measured`, and the difference.

    `more` is the claim's first half, without a stop ("Left tank (full) had algae earlier"); `alike` says that it tells
    no difference. `measured` is a sentence. `tested` is None where there is nothing to test, above all below three
    tanks per arm.
    """

    more: str
    measured: str
    effect: float | None
    effect_words: str
    alike: bool = False
    tested: TankTest | None = None
    curves: tuple[Curve, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Compared:
    """Second arm minus first arm in the measure's unit, after the regimes began; and what it was taken from.

    `effect` is an estimate, or exact (scale 0) for an account; None where `missing` says what is missing. `before` and
    `change` are there where a baseline was measured. `camera_term` is the smallest difference that photos may claim;
    `absolute` is False where only a change may be claimed of them at all. `photos` and `entries` are entry ids;
    `disturbed` says by entry id what else weakens the comparison. `paired` says that the arms' tanks stand in pairs,
    which `tanks_per_arm` counts; `swaps` that the regimes were swapped between periods. `step` is the change once more,
    as a step without trends; `beside` are further tests, `blocks` the number of blocks that tanks stand in (0: none).
    `spread` is how much tanks kept alike are taken to differ (None: no ratios).
    `described` is there instead of `effect` for waiting times and ordered steps. `tanks` are the
    series of each arm's tanks, first arm first, where the numbers come from photos.
    """

    question: Question
    unit: str
    arms: tuple[ArmValue, ...] = ()
    effect: Estimate | None = None
    before: Estimate | None = None
    change: Estimate | None = None
    tanks_per_arm: int = 1
    account: bool = False
    camera_term: float | None = None
    absolute: bool = True
    days: tuple[float, ...] = ()
    photos: tuple[str, ...] = ()
    entries: tuple[str, ...] = ()
    series: Mapping[str, Series] = field(default_factory=dict)
    parts: tuple[Part, ...] = ()
    paired: bool = False
    swaps: Swaps | None = None
    step: Estimate | None = None
    beside: tuple[Beside, ...] = ()
    blocks: int = 0
    spread: Spread | None = None
    disturbed: Mapping[str, str] = field(default_factory=dict)
    remarks: tuple[str, ...] = ()
    tanks: tuple[tuple[TankSeries, ...], ...] = ()
    method: str = ""
    detail: str = ""
    missing: str = ""
    described: Described | None = None

    @property
    def tested(self) -> Estimate | None:
        """The number that decides: the difference, or its change where cameras allow no more; None where none does."""
        return self.effect if self.absolute else self.change

    @property
    def p_value(self) -> float | None:
        """The two-sided p value that decides; None for an account, a description, or where nothing was found."""
        if self.described is not None:
            return None if self.described.tested is None else self.described.tested.p_value
        if self.tested is None or self.account:
            return None
        p = self.tested.p_zero()
        # of a change alone, the larger of both ways to reckon it
        return p if self.absolute or self.step is None else max(p, self.step.p_zero())
