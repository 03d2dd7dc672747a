"""Effect sizes from what a report prints of two groups: mean, standard deviation, number. Each with its variance.

Borenstein, Hedges, Higgins & Rothstein 2009, Introduction to Meta-Analysis, chapter 4; Hedges, Gurevitch & Curtis 1999,
Ecology 80:1150-1156 for the response ratio.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from littoral.errors import LittoralError


class EffectSizeError(LittoralError):
    """A group's summary does not allow this effect size; the message says what would."""


@dataclass(frozen=True, slots=True)
class Group:
    """What is printed of one group: mean and standard deviation in one unit, and how many tanks (or pots) it had."""

    mean: float
    sd: float
    n: int


@dataclass(frozen=True, slots=True)
class EffectSize:
    """One study's effect and its sampling variance (the square of its unit); both without unit here."""

    value: float
    variance: float


def hedges_g(second: Group, first: Group) -> EffectSize:
    """Return the standardised mean difference, second minus first, without the small-sample bias (Hedges' g).

    d over the pooled standard deviation, times J = 1 - 3/(4 df - 1); variance J^2 ((n1+n2)/(n1 n2) + d^2/(2(n1+n2))).
    Raises EffectSizeError where a group has fewer than two, or neither has any spread.
    """
    _check(second, first)
    df = second.n + first.n - 2
    pooled = math.sqrt(((second.n - 1) * second.sd**2 + (first.n - 1) * first.sd**2) / df)
    if pooled <= 0:
        raise EffectSizeError("Hedges' g needs a spread within the groups: both standard deviations are 0.")
    d = (second.mean - first.mean) / pooled
    j = small_sample_factor(df)
    variance = (second.n + first.n) / (second.n * first.n) + d**2 / (2 * (second.n + first.n))
    return EffectSize(j * d, j**2 * variance)


def small_sample_factor(df: int) -> float:
    """Return J = 1 - 3/(4 df - 1), without unit, for `df` degrees of freedom (at least 2)."""
    return 1 - 3 / (4 * df - 1)


def log_response_ratio(second: Group, first: Group) -> EffectSize:
    """Return ln(second/first) of the means, with variance sd2^2/(n2 m2^2) + sd1^2/(n1 m1^2).

    Raises EffectSizeError where a group has fewer than two, or a mean is not above 0: a ratio needs a true zero.
    """
    _check(second, first)
    if min(second.mean, first.mean) <= 0:
        raise EffectSizeError(
            f"A ratio needs means above 0; they are {second.mean:g} and {first.mean:g}. Use the difference instead."
        )
    variance = sum(group.sd**2 / (group.n * group.mean**2) for group in (second, first))
    return EffectSize(math.log(second.mean / first.mean), variance)


def _check(*groups: Group) -> None:
    for group in groups:
        if group.n < 2:
            raise EffectSizeError(f"A group of {group.n} has no spread of its own; at least 2 are needed.")
        if not (math.isfinite(group.mean) and math.isfinite(group.sd) and group.sd >= 0):
            raise EffectSizeError(
                f"A group needs a mean and a standard deviation of 0 or more; it has {group.mean:g} and {group.sd:g}."
            )
