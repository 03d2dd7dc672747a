"""What may be said: one pure decision from the design and the numbers. The words are in `wording`."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from statistics import NormalDist

from littoral.findings.compared import TankTest
from littoral.findings.model import Interval, Rule
from littoral.findings.spread import Spread
from littoral.findings.swaps import Swaps
from littoral.trial.model import Trial

TANKS_FOR_A_REGIME = 3
"""Tanks per arm from which on the spread between tanks is estimated, and a regime may be spoken of."""

ASSUMED_SPREAD = {"height growth": 0.20, "cover growth": 0.20, "compactness": 0.15, "algae": 0.50, "yield": 0.30}
"""Assumed coefficient of variation between equal tanks: common practice, no source. a* has no ratios, so none."""


def assumed_spread(trial: Trial, measure: str) -> float | None:
    """Return the assumed CV between equal tanks: as the trial's design says, else of the measure; None: no ratios."""
    usual = ASSUMED_SPREAD.get(measure)
    return usual if usual is None or trial.plan.spread is None else trial.plan.spread


def spread_for(trial: Trial, measure: str, seen: Mapping[str, Spread]) -> Spread | None:
    """Return the spread to use: what was seen; else as the trial's design says, else assumed; None without ratios.

    Where a larger one was written into the design beforehand, that one stays.
    """
    assumed = assumed_spread(trial, measure)
    if assumed is None:
        return None
    written = trial.plan.spread
    found = seen.get(measure)
    if found is not None and (written is None or written < found.share):
        return found
    return Spread(assumed, "assumed" if written is None else "written")


@dataclass(frozen=True, slots=True)
class Numbers:
    """All that the decision needs, in the measure's unit; intervals at the level that the question is held to.

    `arm_values` are the means of first and second arm, `spread` the assumed CV between equal tanks (None: no ratios).
    `absolute` is False where cameras allow only a change to be claimed; then nothing but `change` decides. `paired`
    says that the tanks stand in pairs, which `tanks_per_arm` then counts; `swaps` is there for a crossover, whose
    `effect` has its interval from t on periods - 2. `start_disagrees` says that the start was drawn by lot from enough
    days, and that the exact test over them does not find the change. `spread_df` are the degrees of freedom of a spread
    that was seen on this bench; None where it is assumed. `level` (0 to 1) is what all of it is held to.
    """

    effect: Interval
    before: Interval | None
    change: Interval | None
    arm_values: tuple[float, float]
    tanks_per_arm: int
    smallest: float | None
    camera_term: float | None
    absolute: bool
    spread: float | None
    paired: bool = False
    swaps: Swaps | None = None
    start_disagrees: bool = False
    spread_df: int | None = None
    level: float = 0.95


def decide(numbers: Numbers) -> Rule:
    """Return the strongest rule that design and numbers allow.

    In this order: inside the margin, includes 0, under the camera's own difference, replicated, crossed over, changed
    from the baseline, beyond what equal tanks show, differs. So a change is asked about only once a difference is
    there, and no second chance is taken at one question. Replicated tanks that differed in the baseline already are not
    said to follow the regime unless their difference moved that way since. A margin under the camera's own
    difference is not one that photos can keep. Where the cameras are not calibrated, the difference itself means
    nothing, in any number of tanks, and the change is the one number asked about.
    """
    effect, change = numbers.effect, numbers.change
    least = numbers.camera_term or 0.0
    if not numbers.absolute:
        return _rule_of_change(change, least=least, refused=numbers.start_disagrees)
    smallest = numbers.smallest
    if smallest is not None and smallest >= least and -smallest < effect.low and effect.high < smallest:
        return "no larger than"
    if includes_zero(effect):
        return "cannot tell"
    if abs(effect.value) < least:
        return "not distinguishable from the camera"
    if numbers.tanks_per_arm >= TANKS_FOR_A_REGIME:
        return "these two tanks differ" if differed_before(numbers) else "effect of the regime"
    if numbers.swaps is not None:
        return "too short to follow the regime" if numbers.swaps.why_too_short else "followed the regime in this pair"
    changed = change is not None and not includes_zero(change) and abs(change.value) >= least
    if changed and not numbers.start_disagrees:
        return "difference changed after the regimes began"
    bound = usual_bound(numbers)
    if change is None and bound is not None and abs(log_ratio(numbers) or 0.0) > bound:
        return "larger than equal tanks usually show"
    return "these two tanks differ"


def differed_before(numbers: Numbers) -> bool:
    """Whether the arms differed before the regimes began, and are not shown to have moved apart that way since."""
    before, change = numbers.before, numbers.change
    if before is None or includes_zero(before):
        return False
    return change is None or includes_zero(change) or change.value * numbers.effect.value < 0


def decide_tested(tested: TankTest | None, *, tanks_per_arm: int, smallest: float | None, level: float) -> Rule:
    """Return what waiting times or ordered steps allow: a description, or from three tanks per arm on what a test says.

    `tested` is None where nothing could be tested; `level` (0 to 1) is what the question is held to. The test decides,
    not the interval, which is an approximation for so few tanks; the interval only shows what lies inside a margin.
    """
    if tested is None or tanks_per_arm < TANKS_FOR_A_REGIME:
        return "description of these tanks"
    inside = None if tested.interval_at is None else tested.interval_at(level)
    if smallest is not None and inside is not None and -smallest < inside.low and inside.high < smallest:
        return "no larger than"
    return "effect of the regime" if tested.p_value < 1 - level - 1e-12 else "cannot tell"


def _rule_of_change(change: Interval | None, *, least: float, refused: bool) -> Rule:
    """Return what a change alone allows, where cameras allow no more: never a difference, nor an effect."""
    if change is None:
        return "not distinguishable from the camera"
    if includes_zero(change) or refused:
        return "cannot tell"
    return (
        "not distinguishable from the camera"
        if abs(change.value) < least
        else "difference changed after the regimes began"
    )


def includes_zero(interval: Interval) -> bool:
    """Whether 0 lies in an interval, its ends included."""
    return interval.low <= 0 <= interval.high


def log_ratio(numbers: Numbers) -> float | None:
    """Return ln(second/first) of the arms' values, or None where they have no ratio."""
    first, second = numbers.arm_values
    return math.log(second / first) if first > 0 and second > 0 else None


def usual_bound(numbers: Numbers) -> float | None:
    """Return z·sqrt(2·CV² + SE²), the log ratio that one pair of equal tanks seldom exceeds; None without ratios.

    z is the two-sided quantile of `level`, 1.96 at 95 %: the normal one, or of a spread that was seen Student's at its
    degrees of freedom, so that its own doubt is in it.
    SE is the standard error of the log ratio, from the interval of the effect over the mean of both arms. Only for one
    tank per arm.
    """
    if numbers.spread is None or numbers.tanks_per_arm != 1 or log_ratio(numbers) is None:
        return None
    reach = NormalDist().inv_cdf((1 + numbers.level) / 2)
    error = (numbers.effect.high - numbers.effect.low) / (2 * reach) / (sum(numbers.arm_values) / 2)
    return _beyond(numbers.spread_df, numbers.level) * math.sqrt(2 * numbers.spread**2 + error**2)


def _beyond(df: int | None, level: float) -> float:
    if df is None:
        return NormalDist().inv_cdf((1 + level) / 2)
    from scipy.special import stdtrit

    return float(stdtrit(df, (1 + level) / 2))
