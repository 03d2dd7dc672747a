"""What a finding is. CLI, web, sheet and `findings.json` all print this same object."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from littoral.stats.series import Series
from littoral.stats.simulated_designs import DesignKind

Rule = Literal[
    "not answered",  # no data behind the measure: the finding says what is missing
    "cannot tell",  # interval includes 0
    "not distinguishable from the camera",  # a difference, but smaller than cameras and masks may make by themselves
    "no larger than",  # interval inside the margin set beforehand
    "these two tanks differ",  # fewer than three tanks per arm, interval excludes 0
    "larger than equal tanks usually show",
    "difference changed after the regimes began",
    "too short to follow the regime",  # a crossover whose interval excludes 0, of too few periods or without washout
    "followed the regime in this pair",  # a crossover of at least four periods, t on periods - 2
    "effect of the regime",  # at least three tanks per arm or pairs, t-test over them
    "description of these tanks",  # waiting times and steps: fewer than three tanks per arm, so no test
    "exact account",  # costs and minutes: an account of what was written down, not an estimate
]


@dataclass(frozen=True, slots=True)
class Interval:
    """A value with its interval at the finding's `level`, in the finding's unit."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class ArmValue:
    """What one arm's tank showed after the baseline: value with its 95 % interval (None where it is exact).

    `days` counts the days (or photos) that it rests on. `text` is shown in its place where the number does not say it
    all, such as "not by day 56"; the number is NaN where there is none.
    """

    arm: str
    tank: str
    value: float
    low: float | None
    high: float | None
    days: int
    text: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """One arm's share (0 to 1) of tanks or trims still waiting after each `day`, all (k,): Kaplan & Meier's estimate.

    It begins with 1 on day 0. `count` is how many tanks or trims it is of, `of` which of the two; `censored` are the
    days until which those were watched to which it never came.
    """

    arm: str
    of: Literal["tanks", "trims"]
    count: int
    day: tuple[float, ...]
    share: tuple[float, ...]
    censored: tuple[float, ...]
    median_day: float | None


@dataclass(frozen=True, slots=True)
class Part:
    """One stand or region of a finding by itself: a description, not a further claim. `text` says it in words."""

    region: str
    name: str
    arms: tuple[ArmValue, ...]
    text: str


@dataclass(frozen=True, slots=True)
class Way:
    """One way to settle a question: a design, how many pairs, periods or keepers it takes, and the difference it shows.

    `size` gives that difference a power of 80 % where tanks differ as much as is assumed of the measure.
    """

    design: DesignKind
    size: int
    difference_percent: float


LeftOutKind = Literal["day", "place", "tank", "pair", "period"]


@dataclass(frozen=True, slots=True)
class LeftOut:
    """The number that decides, with its interval at the finding's level, without one part of the data; `rule` then.

    `key` is the whole day, the region, the tank, the pair ("<tank>/<tank>") or the number of the period; `name` says it
    in words. `value` and ends are None where too little would be left, and then the rule is "not answered".
    """

    kind: LeftOutKind
    key: str
    name: str
    value: float | None
    low: float | None
    high: float | None
    rule: Rule


@dataclass(frozen=True, slots=True)
class Influence:
    """What leaving out one part at a time does: `tried` parts of a kind, the one that moves the number most, and those
    without which another claim would be made. `text` says it in words.
    """

    kind: LeftOutKind
    tried: int
    most: LeftOut
    changing: tuple[LeftOut, ...]
    text: str


@dataclass(frozen=True, slots=True)
class CarryingDay:
    """A whole day whose photos carry a finding, and why they do: the first and the last of its span, and the like."""

    day: int
    why: str


@dataclass(frozen=True, slots=True)
class Beside:
    """A further test that is shown beside the one that decides: its p value, and the least that it could have had.

    `needed` says that a claim is made only where this one agrees, too; `text` says all of it in a sentence or two.
    """

    name: str
    p_value: float
    smallest_p: float | None
    needed: bool
    text: str
    source: str


@dataclass(frozen=True, slots=True)
class Evidence:
    """What a finding rests on, so that a reader can look: days, photos (entry ids), entries (ids), and the series.

    `series` is keyed "<tank>" or "<tank>/<region>"; `disturbed_by` are entries that weaken the finding, such as missed
    doses or the first photo after a presumed trim, by id with the reason. `remarks` are what else a reader should know,
    such as photos set aside and why. `influence` is what leaving out single days, stands, tanks or periods does, none
    of an account; `carrying` are the few days whose photos carry the finding.
    """

    days: tuple[float, ...]
    photos: tuple[str, ...]
    entries: tuple[str, ...]
    series: Mapping[str, Series]
    disturbed_by: Mapping[str, str]
    remarks: tuple[str, ...] = ()
    influence: tuple[Influence, ...] = ()
    carrying: tuple[CarryingDay, ...] = ()


@dataclass(frozen=True, slots=True)
class Finding:
    """The answer to one question: effect = second arm minus first arm, in `unit`, with its 95 % interval.

    `wording` is what may be published: the claim, then the numbers. `detail` adds the baseline and where it was seen,
    `rule` is why it is allowed to say that much, and `next_step` the cheapest way to learn more; `ways` are the designs
    that would settle it, fewest tank-periods first: none where the measure has no ratios or nothing is left to settle.
    `effect` is None where the question could not be answered; `missing` says why.

    What may be claimed is decided at `level`: 0.95 for the primary question, stricter by Holm's procedure for the
    others. `claim` is the difference with its interval at that level, `before` the difference before the regimes began
    and `change` the difference after minus before, both at that level, where there was a baseline. `camera_term` is the
    smallest difference, in `unit`, that is claimed of photos at all (None where none applies); `absolute` is False
    where cameras are not calibrated: the difference itself then means nothing, only its `change` may be claimed.
    `p_value` is that of the number which decides: the difference, or its change where photos without a card allow no
    more. `beside` are further tests. `plain_method` says in a few plain sentences what was done, `cannot_show` what
    that cannot show.

    Of waiting times and ordered steps `effect_words` says the difference where a number with an interval cannot: then
    `effect` may be None though the question is answered, and has no interval. `curves` are of waiting times.
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
    detail: str = ""
    missing: str = ""
    primary: bool = False
    level: float = 0.95
    p_value: float | None = None
    claim: Interval | None = None
    before: Interval | None = None
    change: Interval | None = None
    camera_term: float | None = None
    absolute: bool = True
    parts: tuple[Part, ...] = field(default=())
    ways: tuple[Way, ...] = field(default=())
    beside: tuple[Beside, ...] = field(default=())
    effect_words: str = ""
    curves: tuple[Curve, ...] = field(default=())
    plain_method: tuple[str, ...] = field(default=())
    cannot_show: str = ""
