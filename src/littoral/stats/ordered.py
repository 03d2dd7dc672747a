"""Ordered categories, such as condition scores 1 to 5: which arm's is higher, never by how many points.

A score has an order and no distances, so arms are compared by the probability that a tank of the second scores above
one of the first, ties counting half (Mann & Whitney 1947, Ann Math Stat 18:50-60). One score per tank: several scores
of one tank, or of one tank over days, are not more tanks.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from littoral.stats.permutation import judged, over_choices
from littoral.stats.regression import TooFewPointsError
from littoral.stats.series import FloatArray


@dataclass(frozen=True, slots=True)
class Superiority:
    """Probability (0 to 1) that a tank of the second arm scores above one of the first, ties half; 0.5 is no effect.

    `low`, `high` are its interval's ends. `p_value` is two-sided, by every dealing of the ranks; `exact` where all
    were looked at, `smallest_p` the least that so few tanks can give.
    """

    probability: float
    low: float
    high: float
    p_value: float
    exact: bool
    smallest_p: float


@dataclass(frozen=True, slots=True)
class Signs:
    """How many pairs (or tanks) went up, down or stayed; `share_up` of those that moved, its interval and exact p."""

    up: int
    down: int
    same: int
    share_up: float
    low: float
    high: float
    p_value: float


def superiority(
    second: FloatArray, first: FloatArray, *, level: float = 0.95, rng: np.random.Generator | None = None
) -> Superiority:
    """Return the probability of superiority of scores `second` (n,) over `first` (m,), one score a tank.

    The interval is Newcombe's score interval (2006, Stat Med 25:559-573, method 5, from memory), which does not shrink
    to a point where the arms do not overlap. Above 200,000 dealings the p value needs `rng`. Raises TooFewPointsError
    where an arm has fewer than 2 tanks.
    """
    second, first = np.asarray(second, dtype=float), np.asarray(first, dtype=float)
    n, m = second.size, first.size
    if min(n, m) < 2:
        raise TooFewPointsError(points=min(n, m), needed=2, what="scores of an arm's tanks")
    from scipy.stats import rankdata

    rank = rankdata(np.concatenate([second, first]))
    middle = n * (n + m + 1) / 2
    found, exact = over_choices(
        lambda chosen: np.asarray(rank[chosen].sum(axis=1) - middle), total=n + m, chosen=n, rng=rng
    )
    above = float(rank[:n].sum() - middle)
    smallest_p = (1 + (n == m or bool(np.all(np.diff(np.sort(rank)) > 0)))) / found.size
    test = judged(above, found, exact=exact, smallest_p=smallest_p)
    probability = above / (n * m) + 0.5
    low, high = superiority_interval(probability, second=n, first=m, level=level)
    return Superiority(probability, low, high, test.p_value, exact, test.smallest_p)


def rank_within(score: FloatArray, block: NDArray[Any]) -> FloatArray:
    """Return the rank of each score (n,) among those of its `block` (n,), ties at their middle."""
    from scipy.stats import rankdata

    rank = np.empty(score.size)
    for one in np.unique(block):
        rank[block == one] = rankdata(score[block == one])
    return rank


def superiority_interval(probability: float, *, second: int, first: int, level: float = 0.95) -> tuple[float, float]:
    """Return the interval of a probability of superiority found in arms of so many tanks, ends 0 to 1.

    The ends are the probabilities t from which the one found is just so many standard errors away as `level` allows,
    with the variance of Hanley & McNeil 1982 (Radiology 143:29-36) at t, both arms' sizes in it replaced by their mean.
    """
    from scipy.optimize import brentq
    from scipy.special import ndtri

    z = float(ndtri((1 + level) / 2))

    def beyond(at: float) -> float:
        return abs(at - probability) - z * superiority_error(at, second=second, first=first, balanced=True)

    inside = min(max(probability, 1e-9), 1 - 1e-9)  # at 0 and 1 the error itself is nothing
    low = 0.0 if probability <= 0 else float(brentq(beyond, 1e-15, inside))
    high = 1.0 if probability >= 1 else float(brentq(beyond, inside, 1 - 1e-15))
    return low, high


def superiority_error(probability: float, *, second: int, first: int, balanced: bool = False) -> float:
    """Return the standard error of a probability of superiority (0 to 1) after Hanley & McNeil 1982, equation 2.

    With `balanced`, both arms' sizes but in the divisor are replaced by their mean (Newcombe 2006, method 5).
    """
    t = probability
    both_second, both_first = t / (2 - t) - t * t, 2 * t * t / (1 + t) - t * t
    n, m = ((second + first) / 2,) * 2 if balanced else (float(second), float(first))
    variance = (t * (1 - t) + (n - 1) * both_second + (m - 1) * both_first) / (second * first)
    return float(np.sqrt(max(variance, 0.0)))


def paired_signs(after: FloatArray, before: FloatArray, *, level: float = 0.95) -> Signs:
    """Return how many went up from `before` (k,) to `after` (k,): two scores of each tank, or the two of each pair.

    Exact binomial test of "up as often as down" (Arbuthnott's sign test), Clopper & Pearson 1934 interval. Raises
    TooFewPointsError where none moved.
    """
    from scipy.stats import binomtest

    moved: NDArray[np.float64] = np.sign(np.asarray(after, dtype=float) - np.asarray(before, dtype=float))
    up, down = int((moved > 0).sum()), int((moved < 0).sum())
    if up + down < 1:
        raise TooFewPointsError(points=0, needed=1, what="pairs whose scores differ")
    test = binomtest(up, up + down)
    ends = test.proportion_ci(level, method="exact")
    return Signs(
        up, down, moved.size - up - down, up / (up + down), float(ends.low), float(ends.high), float(test.pvalue)
    )
