"""Exact tests for a handful of tanks or pairs: every arrangement that chance could have drawn is looked at.

They need no distribution, only that the draw was one (Fisher 1935, The Design of Experiments, section 21). With few
pairs the smallest p value they can give is large, and it is told: below 6 pairs no sign flip comes under 0.05.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations, islice
from math import comb, prod
from typing import Any

import numpy as np
from numpy.typing import NDArray

from littoral.stats.regression import TooFewPointsError
from littoral.stats.series import FloatArray

MOST_ARRANGEMENTS = 200_000
"""More than these are drawn from at random instead of being looked at one by one."""

DRAWS = 20_000
_AT_ONCE = 20_000


@dataclass(frozen=True, slots=True)
class Permutation:
    """A permutation test: the statistic (unit of the values), the two-sided p value, and how many arrangements.

    `exact` where all were looked at. `smallest_p` is the least p value that any outcome without ties could have had.
    """

    statistic: float
    p_value: float
    arrangements: int
    exact: bool
    smallest_p: float


def sign_flip(value: FloatArray, *, rng: np.random.Generator | None = None) -> Permutation:
    """Return the test of "the mean difference of k pairs is 0" by turning each pair's sign, `value` (k,).

    The draw it rests on: which tank of each pair got which regime was drawn pair by pair. Above 17 pairs signs are
    drawn with `rng`. Raises TooFewPointsError below 2 pairs, ValueError where `rng` is needed and missing.
    """
    value = np.asarray(value, dtype=float)
    k = value.size
    if k < 2:
        raise TooFewPointsError(points=k, needed=2, what="sign flips of pairs")
    exact = 2**k <= MOST_ARRANGEMENTS
    if exact:
        signs = 1.0 - 2.0 * ((np.arange(2**k)[:, None] >> np.arange(k)) & 1)
    else:
        signs = 1.0 - 2.0 * _needed(rng).integers(0, 2, (DRAWS, k))
    means = signs @ value / k
    return judged(float(value.mean()), means, exact=exact, smallest_p=2.0 / 2**k)


def two_sample(second: FloatArray, first: FloatArray, *, rng: np.random.Generator | None = None) -> Permutation:
    """Return the test of "second (n,) and first (m,) differ by nothing" by every way of dealing the tanks to the arms.

    The statistic is second's mean minus first's. Raises TooFewPointsError where an arm is empty or both hold fewer
    than 3 tanks, ValueError where more than 200,000 arrangements need an `rng` that is missing.
    """
    second, first = np.asarray(second, dtype=float), np.asarray(first, dtype=float)
    both = np.concatenate([second, first])
    n, total = second.size, both.size
    if min(n, first.size) < 1 or total < 3:
        raise TooFewPointsError(points=total, needed=3, what="two arms' tanks")
    share = both.sum() / (total - n)

    def difference(chosen: NDArray[np.intp]) -> FloatArray:
        return np.asarray(both[chosen].sum(axis=1) * (1 / n + 1 / (total - n)) - share, dtype=np.float64)

    found, exact = over_choices(difference, total=total, chosen=n, rng=rng)
    ways = comb(total, n)
    return judged(float(second.mean() - first.mean()), found, exact=exact, smallest_p=(1 + (2 * n == total)) / ways)


def within_blocks(
    value: FloatArray, second: NDArray[np.bool_], block: NDArray[Any], *, rng: np.random.Generator | None = None
) -> Permutation:
    """Return the test of "the arms differ by nothing" by every way of dealing each block's tanks to the arms.

    `value` (n,), one of each tank, `second` (n,) whether it had the second regime, `block` (n,) any labels. The draw it
    rests on: how many tanks of a block got which regime was fixed, which ones was drawn. The statistic is the mean over
    blocks of second minus first, a block weighted by n1 n2 / (n1 + n2) as in a model with block offsets. Above 200,000
    arrangements 20,000 are drawn by `rng`. Raises TooFewPointsError where no block holds both, ValueError where `rng`
    is needed and missing.
    """
    value = np.asarray(value, dtype=float)
    cut = [(value[block == label], second[block == label]) for label in np.unique(block)]
    both = [(own, chosen) for own, chosen in cut if 0 < chosen.sum() < own.size]
    if not both:
        raise TooFewPointsError(points=0, needed=1, what="blocks that hold tanks of both arms")
    ways = prod(comb(own.size, int(chosen.sum())) for own, chosen in both)
    exact = ways <= MOST_ARRANGEMENTS
    source = None if exact else _needed(rng)
    found = np.zeros(1)
    observed = weights = 0.0
    for own, chosen in both:
        n, k = own.size, int(chosen.sum())
        weight = k * (n - k) / n
        if source is None:
            rows = np.array(list(combinations(range(n), k)), dtype=np.intp)
        else:
            rows = source.random((DRAWS, n)).argsort(axis=1)[:, :k]
        of_second = own[rows].sum(axis=1)
        part = weight * (of_second / k - (own.sum() - of_second) / (n - k))
        found = (found[:, None] + part[None, :]).ravel() if source is None else found + part
        observed += weight * float(own[chosen].mean() - own[~chosen].mean())
        weights += weight
    mirrored = all(2 * int(chosen.sum()) == own.size for own, chosen in both)
    return judged(observed / weights, found / weights, exact=exact, smallest_p=(1 + mirrored) / ways)


def least_p_within(sizes: Sequence[tuple[int, int]]) -> float:
    """Return the least p value of `within_blocks` from (tanks of the second arm, of the first) in each block."""
    both = [(k, m) for k, m in sizes if k and m]
    return min(1.0, (1 + all(k == m for k, m in both)) / prod(comb(k + m, k) for k, m in both))


def over_choices(
    statistic: Callable[[NDArray[np.intp]], FloatArray],
    *,
    total: int,
    chosen: int,
    rng: np.random.Generator | None = None,
) -> tuple[FloatArray, bool]:
    """Return `statistic` of every choice of `chosen` out of `total` (rows of indices (m, chosen) at a time: (m,)).

    All of them, True; or above 200,000 a random 20,000 of them by `rng`, False.
    """
    if comb(total, chosen) > MOST_ARRANGEMENTS:
        draws = _needed(rng).random((DRAWS, total)).argsort(axis=1)[:, :chosen]
        return statistic(draws), False
    rows = combinations(range(total), chosen)
    found: list[FloatArray] = []
    while some := list(islice(rows, _AT_ONCE)):
        found.append(statistic(np.array(some, dtype=np.intp).reshape(len(some), chosen)))
    return np.concatenate(found), True


def judged(statistic: float, found: FloatArray, *, exact: bool, smallest_p: float) -> Permutation:
    """Return the test of a `statistic` against that of all arrangements, or of a random sample of them: `found` (m,).

    Counted is what is at least as far from 0; what is equal but for rounding counts as equal.
    """
    slack = 1e-9 * (1.0 + float(np.abs(found).max()))
    beyond = int((np.abs(found) >= abs(statistic) - slack).sum())
    # a random sample holds the arrangement that happened as well (Phipson & Smyth 2010, SAGMB 9:39)
    p_value = beyond / found.size if exact else (beyond + 1) / (found.size + 1)
    return Permutation(statistic, p_value, int(found.size), exact, smallest_p if exact else 1 / (found.size + 1))


def _needed(rng: np.random.Generator | None) -> np.random.Generator:
    if rng is None:
        raise ValueError(f"more than {MOST_ARRANGEMENTS} arrangements: a random source `rng` is needed")
    return rng
