"""How two tanks differ while both are cared for alike: told from the baselines, without any swap."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from littoral.findings.model import Finding, Interval
from littoral.findings.pooled_showing import interval_text
from littoral.findings.response_ratio import NORMAL_95
from littoral.findings.rules import includes_zero
from littoral.findings.showing import sentence
from littoral.findings.tank_effects import Result
from littoral.findings.wording import texts
from littoral.stats.pooling import pool
from littoral.trial.model import Trial


@dataclass(frozen=True, slots=True)
class BaselineEffect:
    """One measure in one pair of tanks under the same care: second tank minus first, at 95 %; `trials` by key."""

    measure: str
    tanks: tuple[str, str]
    effect: Interval
    trials: tuple[str, ...]
    wording: str


def baseline_effects(results: Sequence[Result]) -> tuple[BaselineEffect, ...]:
    """Return the difference before the regimes began, for each measure and pair of tanks that stood alone in two arms.

    What the arms were called or given later does not matter here. Several baselines are averaged with their spread.
    """
    groups: dict[tuple[str, tuple[str, str]], dict[str, tuple[Trial, Interval]]] = {}
    for trial, findings in results:
        if len(trial.arms) != 2 or any(len(arm.tanks) != 1 for arm in trial.arms) or not trial.baseline_days:
            continue
        first, second = (arm.tanks[0] for arm in trial.arms)
        tanks = (first, second) if list(trial.tanks).index(first) < list(trial.tanks).index(second) else (second, first)
        for finding in findings:
            before = _before(finding)
            if before is None:
                continue
            if tanks[0] != first:
                before = Interval(-before.value, -before.high, -before.low)
            groups.setdefault((finding.measure, tanks), {}).setdefault(trial.key, (trial, before))
    return tuple(_effect(measure, tanks, list(own.values())) for (measure, tanks), own in groups.items())


def _before(finding: Finding) -> Interval | None:
    """Return the difference before the regimes began with its 95 % interval, whatever level it was held to."""
    one = finding.before
    if one is None or not finding.absolute or not np.isfinite([one.value, one.low, one.high]).all():
        return None
    half = (one.high - one.low) / 2 * NORMAL_95 / NormalDist().inv_cdf((1 + finding.level) / 2)
    return Interval(one.value, one.value - half, one.value + half) if half > 0 else None


def _effect(measure: str, tanks: tuple[str, str], own: Sequence[tuple[Trial, Interval]]) -> BaselineEffect:
    effect = own[0][1]
    if len(own) > 1:
        y = np.array([one.value for _, one in own])
        v = np.array([((one.high - one.low) / (2 * NORMAL_95)) ** 2 for _, one in own])
        fit = pool(y, v)
        effect = Interval(fit.value, *fit.interval)
    trial = own[-1][0]
    names = trial.tanks[tanks[0]].name, trial.tanks[tanks[1]].name
    number = interval_text(measure, "difference", effect, level=0.95, currency=trial.currency)
    baselines = "the one baseline" if len(own) == 1 else f"{len(own)} baselines"
    if includes_zero(effect):
        claim = f"under the same care in both, in {baselines}, the two tanks could not be told apart"
    else:
        word = texts()["more" if effect.value > 0 else "less"][measure]
        claim = f"under the same care in both, in {baselines}, the {names[1]} {word}"
    said = f"{sentence(measure)}: {claim}. {sentence(names[1])} minus {names[0]}: {number}."
    return BaselineEffect(measure, tanks, effect, tuple(one.key for one, _ in own), said)
