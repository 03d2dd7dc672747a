"""Crossover: the two tanks of a pair change regimes period by period, so each is compared with itself.

One value a period: the left tank's mean minus the right one's, after the washout. Days within a period are not
replicates; periods are, so one pair has periods - 2 degrees of freedom, and one fewer for a trend or for carry-over
(Jones & Kenward 2014, Design and Analysis of Cross-Over Trials). With several pairs the pairs are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from littoral.stats.estimate import Estimate
from littoral.stats.permutation import Permutation, judged, sign_flip
from littoral.stats.regression import TooFewPointsError
from littoral.stats.series import FloatArray

BLOCK_CORRELATION = 0.5
"""Orders that follow time more closely than this (correlation, either sign) get a trend term: ours, no source.
Left-right-left-right over four periods lies below it (0.45), two blocks of two above (0.89)."""

WASHOUT_HALF_LIVES = 3.0
"""Half-lives of what lingers that a washout should last: an eighth is left."""

Order = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Crossover:
    """Second regime minus first, with what was estimated beside it; all in the value's unit, the trend per period.

    `standing` is how far the left tank (or the one tank) stands above the right (or above zero) whatever the regime.
    `carry_over` is how much of the period before's regime is still seen. `ordered` tells that the trend is there
    because the order ran in blocks.
    """

    effect: Estimate
    standing: Estimate
    trend: Estimate | None
    carry_over: Estimate | None
    periods: int
    df: int
    ordered: bool


def one_pair(
    difference: FloatArray, second_on_left: Order, *, trend: bool | None = None, carry_over: bool = False
) -> Crossover:
    """Return the effect from left minus right in each period, `difference` (k,), regimes as `second_on_left` (k,).

    A trend term comes in by itself (None) where the order runs in blocks. Raises TooFewPointsError where no degree of
    freedom is left, or the regimes never change.
    """
    return _fit(difference, np.where(second_on_left, 1.0, -1.0), trend=trend, carry_over=carry_over)


def switchback(value: FloatArray, second: Order, *, trend: bool = True, carry_over: bool = False) -> Crossover:
    """Return the effect in one tank that changes regimes period by period, `value` (k,), `second` (k,).

    There is no second tank that a season or an ageing lamp would show in, so a trend term is there unless refused.
    `standing` is the level midway between the regimes. Raises as `one_pair`.
    """
    return _fit(value, np.where(second, 0.5, -0.5), trend=trend, carry_over=carry_over)


def in_blocks(order: Order) -> bool:
    """Return whether an order of periods follows time so closely that drift would pass for an effect."""
    if order.size < 2 or order.all() or not order.any():
        return False
    return bool(abs(np.corrcoef(order.astype(float), np.arange(order.size))[0, 1]) > BLOCK_CORRELATION)


def several_pairs(
    effect: Sequence[Estimate] | FloatArray, *, rng: np.random.Generator | None = None
) -> tuple[Estimate, Permutation]:
    """Return the mean effect over pairs with t on pairs - 1, and the exact test by sign flips.

    One number for each pair (its crossover's `effect`, or its difference in a parallel trial); each pair's own doubt
    does not enter but through its value. `rng` is needed above 17 pairs. Raises TooFewPointsError below 2 pairs.
    """
    values = np.array([one.value if isinstance(one, Estimate) else float(one) for one in effect])
    if values.size < 2:
        raise TooFewPointsError(points=values.size, needed=2, what="spread between the pairs")
    one = np.ones(1)
    spread = float(values.std(ddof=1) / np.sqrt(values.size))
    mean = Estimate(float(values.mean()) * one, spread * one, (values.size - 1) * one, one)
    return mean, sign_flip(values, rng=rng)


def two_periods(difference: FloatArray, second_on_left: Order) -> float:
    """Return one pair's effect from two periods, `difference` (2,): half of what the swap changed.

    Two periods leave one pair no degree of freedom: it counts only among pairs (`several_pairs`).
    """
    if difference.shape != (2,) or second_on_left[0] == second_on_left[1]:
        raise TooFewPointsError(points=len({*second_on_left.tolist()}), needed=2, what="regimes in the two periods")
    return float((difference[0] - difference[1]) / 2 * (1 if second_on_left[0] else -1))


def equal_orders(periods: int) -> list[Order]:
    """Return all orders of an even number of periods with either regime in half of them."""
    halves = combinations(range(periods), periods // 2)
    return [np.isin(np.arange(periods), half) for half in halves]


def orders_in_twos(periods: int) -> list[Order]:
    """Return all orders of an even number of periods in which each two neighbours (1-2, 3-4, ...) hold both regimes."""
    firsts = (np.arange(2 ** (periods // 2))[:, None] >> np.arange(periods // 2)) & 1
    return [np.column_stack([row == 1, row == 0]).ravel() for row in firsts]


def randomisation(difference: FloatArray, second_on_left: Order, drawn_from: Sequence[Order]) -> Permutation:
    """Return the exact test against every order that the draw could have given, `drawn_from`, with equal chance.

    The statistic is the mean with the second regime on the left minus the mean without, halved: the effect. It holds
    whatever the autocorrelation, for the draw alone carries it. Raises ValueError where the order itself is not among
    those it was drawn from.
    """
    if not any(np.array_equal(one, second_on_left) for one in drawn_from):
        raise ValueError("the order that was followed is not among those that could have been drawn")

    def effect(order: Order) -> float:
        return float(difference[order].mean() - difference[~order].mean()) / 2

    found = np.array([effect(one) for one in drawn_from])
    mirrored = any(np.array_equal(one, ~second_on_left) for one in drawn_from)
    return judged(effect(second_on_left), found, exact=True, smallest_p=(2 if mirrored else 1) / found.size)


def _fit(value: FloatArray, regime: FloatArray, *, trend: bool | None, carry_over: bool) -> Crossover:
    k = value.size
    blocks = in_blocks(regime > 0)
    with_trend = blocks if trend is None else trend
    columns: list[FloatArray] = [np.ones(k), regime]
    if with_trend:
        columns.append(np.arange(k, dtype=np.float64) - (k - 1) / 2)
    if carry_over:
        columns.append(np.concatenate([[0.0], regime[:-1]]))
    design = np.column_stack(columns)
    df = k - design.shape[1]
    if df < 1 or np.linalg.matrix_rank(design) < design.shape[1]:
        raise TooFewPointsError(points=k, needed=max(design.shape[1] + 1, k + 1 if df >= 1 else 0), what="crossover")
    coefficient, *_ = np.linalg.lstsq(design, value, rcond=None)
    rest = value - design @ coefficient
    spread = np.sqrt(np.diagonal(np.linalg.inv(design.T @ design)) * float(rest @ rest) / df)
    one = np.ones(1)
    found = [Estimate(c * one, s * one, df * one, one) for c, s in zip(coefficient, spread, strict=True)]
    return Crossover(
        effect=found[1],
        standing=found[0],
        trend=found[2] if with_trend else None,
        carry_over=found[-1] if carry_over else None,
        periods=k,
        df=df,
        ordered=with_trend and blocks,
    )
