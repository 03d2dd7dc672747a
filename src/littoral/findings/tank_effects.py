"""Whether one tank of a bench always does better, whatever it is given: told from trials in which the arms swapped.

With the same two arms in the same two tanks, the difference of the arms is d = r + t where the second arm stands in the
second tank, and d = r - t where it stands in the first: r is the regime, t second tank minus first. As long as all
trials stand the same way round, the two cannot be told apart, however many there are.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from littoral.findings.model import Finding, Interval
from littoral.findings.pooled_showing import Scale, interval_text
from littoral.findings.response_ratio import NORMAL_95, log_ratio_of
from littoral.findings.rules import includes_zero
from littoral.findings.showing import sentence
from littoral.findings.wording import texts
from littoral.stats.pooling import pool
from littoral.trial.model import Trial

Result = tuple[Trial, Sequence[Finding]]


@dataclass(frozen=True, slots=True)
class TankEffect:
    """One measure in one pair of tanks: `effect` is second tank minus first (or the ln of their ratio), at 95 %.

    `straight` and `swapped` are the keys of the trials each way round. `effect` is None where it cannot be told;
    `wording` says so, or why not, after the measure's name.
    """

    measure: str
    tanks: tuple[str, str]
    scale: Scale
    effect: Interval | None
    straight: tuple[str, ...]
    swapped: tuple[str, ...]
    wording: str


@dataclass(frozen=True, slots=True)
class _One:
    """One trial's difference of the arms in their order of the first trial; `side` +1: second arm in second tank."""

    key: str
    side: int
    difference: Interval
    ratio: Interval | None


def tank_effects(results: Sequence[Result]) -> tuple[TankEffect, ...]:
    """Return one effect for each measure and pair of tanks that trials compared, oldest pair first.

    Only trials with one tank in each of two arms and side by side count, taken by what their findings gave with an
    interval; trials of other factors or arms are another r, and are never mixed.
    """
    groups: dict[tuple[object, ...], list[tuple[Trial, Finding]]] = {}
    for trial, findings in results:
        if trial.plan.kind != "parallel" or len(trial.arms) != 2 or any(len(arm.tanks) != 1 for arm in trial.arms):
            continue
        for finding in findings:
            if finding.effect is None or finding.low is None or finding.high is None or not finding.absolute:
                continue
            tanks = tuple(sorted(arm.tanks[0] for arm in trial.arms))
            arms = tuple(sorted(arm.name.casefold() for arm in trial.arms))
            groups.setdefault((finding.measure, tanks, trial.factor, arms), []).append((trial, finding))
    return tuple(_effect(str(key[0]), members) for key, members in groups.items())


def tank_words(effects: Sequence[TankEffect]) -> tuple[str, ...]:
    """Return the effects in sentences; measures of which the same is said share one."""
    said: dict[str, list[str]] = {}
    for one in effects:
        said.setdefault(one.wording, []).append(one.measure)
    return tuple(f"{sentence(', '.join(measures))}: {words}" for words, measures in said.items())


def _effect(measure: str, members: Sequence[tuple[Trial, Finding]]) -> TankEffect:
    first, last = members[0][0], members[-1][0]
    tanks = tuple(tank for tank in first.tanks if any(tank in arm.tanks for arm in first.arms))
    pair = tanks[0], tanks[1]
    by_trial = {trial.key: _one(trial, finding, first, pair) for trial, finding in reversed(members)}
    ones = list(reversed(by_trial.values()))  # a measure asked about twice counts once, by its first question
    scale: Scale = "ratio" if all(one.ratio is not None for one in ones) else "difference"
    straight = tuple(one.key for one in ones if one.side > 0)
    swapped = tuple(one.key for one in ones if one.side < 0)
    names = last.tanks[pair[0]].name, last.tanks[pair[1]].name
    if not straight or not swapped:
        where = first.tanks[first.arms[1].tanks[0]].name
        many = f"all {len(ones)} trials" if len(ones) > 1 else "the one trial"
        said = (
            f"cannot be told. In {many} of these two arms {first.arms[1].name} stood in the {where}, so tank and "
            f"{first.factor} are one. A trial with the arms swapped tells them apart."
        )
        return TankEffect(measure, pair, scale, None, straight, swapped, said)
    effect = _estimated(ones, scale)
    said = _said(measure, scale, effect, names, len(straight), len(swapped), last.currency)
    return TankEffect(measure, pair, scale, effect, straight, swapped, said)


def _one(trial: Trial, finding: Finding, first: Trial, pair: tuple[str, str]) -> _One:
    assert finding.effect is not None
    assert finding.low is not None
    assert finding.high is not None
    effect, ratio = Interval(finding.effect, finding.low, finding.high), log_ratio_of(finding)
    second = first.arms[1].name.casefold()
    if trial.arms[1].name.casefold() != second:
        effect, ratio = _turned(effect), None if ratio is None else _turned(ratio)
    place = next(arm.tanks[0] for arm in trial.arms if arm.name.casefold() == second)
    return _One(trial.key, 1 if place == pair[1] else -1, effect, ratio)


def _estimated(ones: Sequence[_One], scale: Scale) -> Interval:
    """Return t with its 95 % interval: of two trials from their own doubt alone, of more with their spread, too."""
    taken = [one.ratio if scale == "ratio" and one.ratio is not None else one.difference for one in ones]
    y = np.array([one.value for one in taken])
    v = np.array([((one.high - one.low) / (2 * NORMAL_95)) ** 2 for one in taken])
    side = np.array([one.side for one in ones], dtype=float)
    if len(ones) == 2:
        value = float(side @ y) / 2
        half = NORMAL_95 * math.sqrt(float(v.sum())) / 2
        return Interval(value, value - half, value + half)
    fit = pool(y, v, moderators=side)
    return Interval(float(fit.coefficient[1]), float(fit.low[1]), float(fit.high[1]))


def _said(
    measure: str, scale: Scale, effect: Interval, names: tuple[str, str], straight: int, swapped: int, currency: str
) -> str:
    number = interval_text(measure, scale, effect, level=0.95, currency=currency)
    joined = "against" if scale == "ratio" else "minus"
    counted = f"{straight} trial{'s' if straight > 1 else ''} one way round, {swapped} the other"
    if includes_zero(effect):
        claim = f"cannot tell whether one of the two tanks does more, whatever it is given ({counted})."
    else:
        word = texts()["more" if effect.value > 0 else "less"][measure]
        claim = f"the {names[1]} {word} whatever it was given ({counted})."
    few = " Two trials only: how much times differ is not in this interval." if straight + swapped == 2 else ""
    return f"{claim} {sentence(names[1])} {joined} {names[0]}: {number}.{few}"


def _turned(one: Interval) -> Interval:
    return Interval(-one.value, -one.high, -one.low)
