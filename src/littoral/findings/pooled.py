"""One question asked by several keepers: their numbers pooled, and what may be said of that.

Each keeper gives one difference of the same two arms in the same unit, whatever their own design was. How much homes
and tanks differ is estimated from the keepers themselves, so a pair of tanks is enough from each.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from littoral.errors import LittoralError
from littoral.findings.model import Finding, Interval
from littoral.findings.pooled_showing import Scale, interval_text, number_text, unit_text
from littoral.findings.rules import includes_zero
from littoral.findings.showing import percent
from littoral.findings.wording import texts
from littoral.stats.pooling import FEWEST_KEEPERS, Pooled, leave_one_out, pool
from littoral.trial.measures import MEASURES

PooledRule = Literal["too few keepers to pool", "cannot tell", "no larger than", "across keepers"]

SOURCE = (
    "Hartung & Knapp 2001; Röver, Knapp & Friede 2015 (never narrower than equal effects'); restricted likelihood "
    "(Patterson & Thompson 1971); prediction interval: Higgins, Thompson & Spiegelhalter 2009."
)


class KeepersError(LittoralError):
    """Keepers' results that cannot be pooled; the message says whose and what would be right."""


@dataclass(frozen=True, slots=True)
class KeeperResult:
    """One keeper's difference, second arm minus first in the measure's unit, with its 95 % interval.

    Pooled as ratios it is ln(second / first) instead.
    """

    keeper: str
    effect: Interval


@dataclass(frozen=True, slots=True, eq=False)
class PooledFinding:
    """What several keepers found together, in `unit`; `claim` and `prediction` at `level`, None below five keepers.

    With the `scale` "ratio" all numbers are ln(second / first), `smallest` too, and people are shown percent.

    `pooled` are the numbers behind it (None below five keepers), `without` the mean with its interval when each keeper
    is left out in turn, in the keepers' order (none below six: each would rest on too few). `wording`, `rule_text` and
    `next_step` are as in a finding.
    """

    measure: str
    unit: str
    results: tuple[KeeperResult, ...]
    rule: PooledRule
    wording: str
    rule_text: str
    next_step: str
    source: str
    level: float
    claim: Interval | None
    prediction: Interval | None
    pooled: Pooled | None
    without: tuple[Interval, ...]
    smallest: float | None
    rendered: bool = False
    scale: Scale = "difference"


def keeper_result(keeper: str, finding: Finding) -> KeeperResult:
    """Return a keeper's number from their finding, to be pooled.

    Raises KeepersError where the finding has no interval (not answered, or an account), is of waiting times or ranks,
    or was taken without cards in the water: its change from a baseline is another number than the others' difference,
    and is not mixed with it.
    """
    if finding.measure in MEASURES and MEASURES[finding.measure].compared != "difference":
        raise KeepersError(f"{keeper}: {finding.measure} is told by waiting times or ranks, which are not averaged.")
    if not finding.absolute:
        raise KeepersError(f"{keeper}: without a card in the water of each tank only a change was told, no difference.")
    if finding.effect is None or finding.low is None or finding.high is None:
        why = finding.missing or "what was written down has no interval"
        raise KeepersError(f"{keeper}: there is no difference with an interval to pool: {why}.")
    return KeeperResult(keeper, Interval(finding.effect, finding.low, finding.high))


def decide_pooled(claim: Interval, *, keepers: int, smallest: float | None) -> PooledRule:
    """Return what may be said of a pooled difference (the measure's unit); nothing of it below five keepers."""
    if keepers < FEWEST_KEEPERS:
        return "too few keepers to pool"
    if smallest is not None and -smallest < claim.low and claim.high < smallest:
        return "no larger than"
    return "cannot tell" if includes_zero(claim) else "across keepers"


def pool_keepers(
    measure: str,
    results: Sequence[KeeperResult],
    *,
    arms: tuple[str, str],
    smallest: float | None = None,
    level: float = 0.95,
    currency: str = "",
    rendered: bool = False,
    scale: Scale = "difference",
) -> PooledFinding:
    """Pool one measure over keepers; `arms` names first and second arm, `smallest` is the margin set beforehand.

    With the `scale` "ratio" effects, intervals and margin are ln(second / first) (`findings.response_ratio`).

    Raises KeepersError where a keeper stands there twice (two trials of one home are not two homes; take one of them or
    their mean), has no interval, or where there is no such measure.
    """
    if measure not in MEASURES:
        raise KeepersError(f"There is no measure {measure!r}; there are {', '.join(MEASURES)}.")
    names = [result.keeper for result in results]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise KeepersError(f"{', '.join(twice)}: more than one result. One number from each keeper: take their mean.")
    for result in results:
        if not (np.isfinite(result.effect.value) and 0 < result.effect.high - result.effect.low < np.inf):
            raise KeepersError(f"{result.keeper}: a difference with an interval of some width is needed to weigh it.")
    effect = np.array([result.effect.value for result in results])
    variance = np.array([((result.effect.high - result.effect.low) / (2 * 1.959964)) ** 2 for result in results])
    pooled = pool(effect, variance, level=level) if len(results) >= FEWEST_KEEPERS else None
    mean = Interval(pooled.value, *pooled.interval) if pooled is not None else Interval(0.0, 0.0, 0.0)
    rule = decide_pooled(mean, keepers=len(results), smallest=smallest)
    prediction = Interval(mean.value, *pooled.prediction) if pooled is not None and pooled.prediction else None
    without = leave_one_out(effect, variance, level=level) if len(results) > FEWEST_KEEPERS else ()
    finding = PooledFinding(
        measure=measure,
        unit="ln(second / first)" if scale == "ratio" else MEASURES[measure].unit,
        results=tuple(results),
        rule=rule,
        wording="",
        rule_text=f"{texts()['pooled'][rule]} Held to {percent(level)}.",
        next_step=_next(rule, len(results)),
        source=SOURCE,
        level=level,
        claim=mean if pooled is not None else None,
        prediction=prediction,
        pooled=pooled,
        without=tuple(Interval(one.value, *one.interval) for one in without),
        smallest=smallest,
        rendered=rendered,
        scale=scale,
    )
    return replace(finding, wording=_wording(finding, arms=arms, currency=currency))


def _wording(finding: PooledFinding, *, arms: tuple[str, str], currency: str) -> str:
    count = len(finding.results)
    if finding.claim is None or finding.pooled is None:
        keepers = "no keeper" if not count else "one keeper" if count == 1 else f"{count} keepers"
        return f"Too few keepers to pool: {keepers}, and at least {FEWEST_KEEPERS} are needed. Each stands by itself."
    measure, claim = finding.measure, finding.claim
    said = interval_text(measure, finding.scale, claim, level=finding.level, currency=currency)
    pair = f"{arms[1]} against {arms[0]}" if finding.scale == "ratio" else f"{arms[1]} minus {arms[0]}"
    numbers = f"{pair}: {said} on average of {count} keepers."
    match finding.rule:
        case "across keepers":
            word = texts()["more" if claim.value > 0 else "less"][measure]
            first = f"Across keepers, {arms[1]} {word}."
        case "no larger than":
            assert finding.smallest is not None
            first = (
                "Across keepers, no difference on average larger than "
                f"{_plain(finding, finding.smallest, currency)}, the margin set beforehand."
            )
        case _:
            half = _plain(finding, (claim.high - claim.low) / 2, currency)
            first = f"Cannot tell; an average difference under {half} could have been missed."
    return f"{first} {numbers[:1].upper()}{numbers[1:]} {_next_keeper(finding, currency=currency)}"


def _next_keeper(finding: PooledFinding, *, currency: str) -> str:
    """Return what one further keeper may expect; both signs are said where the interval holds both."""
    assert finding.prediction is not None
    measure, scale, one = finding.measure, finding.scale, finding.prediction
    ends = " to ".join(number_text(measure, scale, end, of=one, signed=True) for end in (one.low, one.high))
    unit = unit_text(measure, scale, currency, difference=True)
    either = ", so it may go either way in one home" if includes_zero(finding.prediction) else ""
    return f"One further keeper may find {ends} {unit} ({percent(finding.level)} prediction interval{either})."


def _plain(finding: PooledFinding, size: float, currency: str) -> str:
    measure, scale = finding.measure, finding.scale
    number = number_text(measure, scale, abs(size), of=Interval(0.0, -abs(size), abs(size)), signed=False)
    return f"{number} {unit_text(measure, scale, currency, difference=True)}"


def _next(rule: PooledRule, keepers: int) -> str:
    match rule:
        case "too few keepers to pool":
            more = FEWEST_KEEPERS - keepers
            return f"Cheapest next step: the same trial with {more} more keeper{'s' if more > 1 else ''}."
        case "cannot tell":
            return "Cheapest next step: more keepers; longer trials of the same ones narrow it little."
        case "no larger than" | "across keepers":
            return "Next: ask what the homes differ in (hardness, light, CO2) before another keeper is asked."
