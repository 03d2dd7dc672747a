"""What the effect may depend on: a number for each home, such as its light, and how the effect changes with it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from littoral.findings.model import Interval
from littoral.findings.pooled import KeepersError, PooledFinding
from littoral.findings.pooled_showing import interval_text
from littoral.findings.rules import includes_zero
from littoral.findings.showing import percent, sentence
from littoral.stats.pooling import FEWEST_KEEPERS, PoolingError, pool

KEEPERS_FOR_ONE = 10
"""Fewer homes for each moderator and the slope is a description only: Cochrane Handbook, section on meta-regression
(from memory)."""


@dataclass(frozen=True, slots=True)
class Moderated:
    """How the effect goes with one moderator: `slope` per 1 of it, in the effect's unit, at the finding's level.

    None below `FEWEST_KEEPERS` + 1 homes. `between` and `left` are the variance between keepers without and with it.
    """

    name: str
    slope: Interval | None
    p_value: float | None
    between: float
    left: float
    wording: str


def moderate(found: PooledFinding, name: str, values: Mapping[str, float]) -> Moderated:
    """Return how the effect goes with `values`, one for each keeper by name, each moderator by itself.

    Raises KeepersError where a keeper has no value, or all have the same one.
    """
    lacking = [one.keeper for one in found.results if one.keeper not in values]
    if lacking:
        there = ", ".join(values) or "nobody"
        raise KeepersError(f"{name} has no value for {', '.join(lacking)}. It names {there}.")
    count = len(found.results)
    if found.pooled is None or count <= FEWEST_KEEPERS:
        least = FEWEST_KEEPERS + 1
        said = f"{sentence(name)}: {count} keepers are too few to tell what it does; {least} are the least."
        return Moderated(name, None, None, 0.0, 0.0, said)
    effect = np.array([one.effect.value for one in found.results])
    variance = np.array([((one.effect.high - one.effect.low) / (2 * 1.959964)) ** 2 for one in found.results])
    given = np.array([values[one.keeper] for one in found.results])
    try:
        fit = pool(effect, variance, moderators=given, level=found.level)
    except PoolingError as error:
        raise KeepersError(f"{name}: {error}") from None
    slope = Interval(float(fit.coefficient[1]), float(fit.low[1]), float(fit.high[1]))
    said = interval_text(found.measure, found.scale, slope, level=found.level)
    verdict = f"{'Cannot tell whether the' if includes_zero(slope) else 'The'} difference goes with it."
    few = "" if count >= KEEPERS_FOR_ONE else f" With fewer than {KEEPERS_FOR_ONE} keepers this is a description only."
    before, left = found.pooled.tau2, fit.tau2
    explained = (
        f" It takes up {percent(max(0.0, 1 - left / before))} of the spread between keepers." if before > 0 else ""
    )
    wording = (
        f"{sentence(name)}: {verdict} For each 1 more of it: {said}.{explained}{few} "
        "Homes differ in much else too, so this is no proof of a cause."
    )
    return Moderated(name, slope, float(fit.p_value[1]), before, left, wording)
