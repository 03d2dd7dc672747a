"""How much tanks of this bench differ when they are kept alike, from its earlier trials: instead of an assumption.

Two things show it: the difference of a pair during a baseline, and how several tanks of one arm differ. What measuring
adds is left in, so the spread is rather too wide than too narrow. Baselines of one and the same pair count each, for
each was planted anew; what that pair always differs by is then in every one of them, which again makes it wider.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from littoral.findings.model import Finding
from littoral.findings.rules import ASSUMED_SPREAD
from littoral.findings.showing import percent, sentence
from littoral.findings.spread import Spread
from littoral.findings.tank_effects import Result
from littoral.quantities.counting import counted
from littoral.trial.model import Trial

FEWEST = 6
"""Independent comparisons from which on a spread that was seen is used.

The danger is a spread under half the true one: 29 of 100 equal pairs are then called (METHODS of the wording rules).
With 6 comparisons that happens in 4 of 100 benches, P(chi-square of 6 < 6/4); with 3 it would be in 14 of 100."""


def spreads_seen(results: Sequence[Result]) -> dict[str, Spread]:
    """Return for each measure with ratios the spread seen in trials with their findings, where enough showed it."""
    gathered = _gathered(results)
    return {measure: _spread(found, len(of)) for measure, (found, of) in gathered.items() if len(found) >= FEWEST}


def spread_words(results: Sequence[Result]) -> tuple[str, ...]:
    """Return in a sentence for each measure what trials showed of equal tanks, or how much of it is lacking."""
    said = []
    for measure, (found, of) in _gathered(results).items():
        if len(found) >= FEWEST:
            words = f"tanks kept alike: {_spread(found, len(of)).said}. Later trials are judged by it."
        else:
            words = (
                f"{counted(len(found), 'comparison')} of tanks kept alike; from {FEWEST} on their spread takes the "
                f"place of the assumed {percent(ASSUMED_SPREAD[measure])}."
            )
        said.append(f"{sentence(measure)}: {words}")
    return tuple(said)


def _gathered(results: Sequence[Result]) -> dict[str, tuple[list[float], set[str]]]:
    """Return by measure the independent squares and the trials that they come from; none that nothing shows."""
    gathered: dict[str, tuple[list[float], set[str]]] = {}
    for trial, findings in results:
        for measure in ASSUMED_SPREAD:
            own = [one for one in findings if one.measure == measure and one.absolute]
            if own and (found := _squares(trial, next((one for one in own if one.primary), own[0]))):
                squares, trials = gathered.setdefault(measure, ([], set()))
                squares += found
                trials.add(trial.key)
    return gathered


def _squares(trial: Trial, finding: Finding) -> list[float]:
    """Return independent squares, each with the squared coefficient of variation as its mean.

    An account shows none: a mass that nobody noted makes a tank's sum too small, not the tank another one.
    """
    if finding.rule == "exact account":
        return []
    found: list[float] = []
    alone = len(trial.arms) == 2 and all(len(arm.tanks) == 1 for arm in trial.arms)
    values = [value.value for value in finding.arms]
    if alone and trial.baseline_days and finding.before is not None and finding.tanks_per_arm == 1:
        mean = sum(values) / len(values) if values else 0.0
        if mean > 0 and math.isfinite(finding.before.value):
            found.append((finding.before.value / mean) ** 2 / 2)
    if trial.plan.kind == "parallel" and not trial.plan.blocks:
        for arm in trial.arms[:2]:
            own = np.array([value.value for value in finding.arms if value.arm == arm.key])
            if own.size > 1 and float(own.min()) > 0:
                logs = np.log(own)
                # Helmert: as many independent contrasts as degrees of freedom
                found += [float((logs[:k].mean() - logs[k]) ** 2 * k / (k + 1)) for k in range(1, own.size)]
    return found


def _spread(squares: Sequence[float], trials: int) -> Spread:
    from scipy.stats import chi2

    df = len(squares)
    share = math.sqrt(sum(squares) / df)
    low, high = (share * math.sqrt(df / float(chi2.ppf(q, df))) for q in (0.975, 0.025))
    # whole percents, rounded up: more digits would be vain, and what is simulated with it can be kept
    return Spread(max(0.01, math.ceil(100 * share - 1e-9) / 100), "seen", low, high, df, trials)
