"""Repeats of one design, simulated: in each, whether the wording rules' own test calls the difference.

All sizes are shares of the measure's mean. Numbers only; `power` counts and chooses. SciPy is imported late.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from littoral.errors import LittoralError
from littoral.stats.estimate import Estimate
from littoral.stats.series import FloatArray

Called = NDArray[np.bool_]

DesignKind = Literal[
    "one pair", "one pair with baseline", "pairs", "pairs with baseline", "swapped pairs", "periods", "keepers"
]


class PowerError(LittoralError):
    """A design or a spread that cannot be simulated; the message says what would be right."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spreads:
    """What equal tanks do by themselves, each as a share of the measure's mean.

    `tanks` is the coefficient of variation between tanks kept alike, `periods` that of one tank from period to period,
    `keepers` how much the true effect differs from home to home; `measuring` is the standard error of the difference
    of two tanks that photos or readings leave. `baseline_correlation` (0 to 1) is that of the pairs' differences before
    and after the change. The defaults are the design study's.
    """

    tanks: float = 0.10
    periods: float = 0.05
    keepers: float = 0.15
    measuring: float = 0.07
    baseline_correlation: float = 0.7

    def __post_init__(self) -> None:
        shares = (self.tanks, self.periods, self.keepers, self.measuring)
        if not all(math.isfinite(one) and one >= 0 for one in shares):
            raise PowerError(f"Spreads are shares of the mean, 0 or more, such as 0.1; they are {shares}.")
        if self.tanks + self.periods + self.keepers + self.measuring == 0:
            raise PowerError("Without any spread every design shows everything; give at least one above 0.")
        if not 0 <= self.baseline_correlation <= 1:
            raise PowerError(f"A correlation with the baseline lies from 0 to 1; it is {self.baseline_correlation:g}.")


@dataclass(frozen=True, slots=True, eq=False)
class SimulatedTask:
    """`runs` repeats of a design of `size` pairs, periods or keepers; shares of the mean, `level` 0 to 1.

    `periods` is how many periods each of several pairs that swap runs, in alternating order.
    """

    size: int
    effect: float
    spreads: Spreads
    rng: np.random.Generator
    runs: int
    carry_over: float
    level: float
    periods: int = 2

    @property
    def pair_spread(self) -> float:
        """The standard deviation of the measured difference of two tanks kept alike."""
        return math.sqrt(2 * self.spreads.tanks**2 + self.spreads.measuring**2)

    @property
    def change_spread(self) -> float:
        """That of the difference's change from the baseline: both share what makes them correlate."""
        return self.pair_spread * math.sqrt(2 * (1 - self.spreads.baseline_correlation))

    @property
    def period_spread(self) -> float:
        """That of the difference in one period, apart from what the two tanks differ by always."""
        return math.sqrt(2 * self.spreads.periods**2 + self.spreads.measuring**2)


def _one(task: SimulatedTask, spread: float) -> Called:
    from scipy.special import ndtri

    seen = task.rng.normal(task.effect, spread, task.runs)
    return np.asarray(np.abs(seen) > float(ndtri((1 + task.level) / 2)) * spread)


def _one_pair(task: SimulatedTask) -> Called:
    return _one(task, task.pair_spread)


def _one_pair_with_baseline(task: SimulatedTask) -> Called:
    return _one(task, task.change_spread)


def _pairs(task: SimulatedTask) -> Called:
    return _mean_called(task.rng.normal(task.effect, task.pair_spread, (task.runs, task.size)), task.level)


def _pairs_with_baseline(task: SimulatedTask) -> Called:
    return _mean_called(task.rng.normal(task.effect, task.change_spread, (task.runs, task.size)), task.level)


def _swapped_pairs(task: SimulatedTask) -> Called:
    """Each pair runs its periods with the regimes swapped between them, each says one number: t over pairs from 3 on.

    Of two pairs the spread between periods is the error, so their mean is held against two t of periods - 2 in one
    (Behrens and Fisher), as the findings do.
    """
    slope, error = _swapped(task, task.size, task.periods)
    if task.size >= 3:
        return _mean_called(slope, task.level)
    angle = np.arctan2(error[:, 1], error[:, 0])
    bound = np.interp(angle, *_behrens_fisher(task.periods - 2, task.level))
    return np.asarray(np.abs(slope.sum(axis=1)) > bound * np.hypot(error[:, 0], error[:, 1]))


def _periods(task: SimulatedTask) -> Called:
    """One pair, regimes swapped after each period: the difference of the tanks against which has which regime."""
    task.rng.normal(size=task.runs)  # once what the tanks differ by; kept, for the draws after it stay the same
    slope, error = _swapped(task, 1, task.size)
    return np.asarray(np.abs(slope[:, 0]) > _t_quantile(task.size - 2, task.level) * error[:, 0])


def _swapped(task: SimulatedTask, pairs: int, n: int) -> tuple[FloatArray, FloatArray]:
    """Return each pair's effect over n alternating periods and its standard error (nan for two), (runs, pairs) each."""
    sign = np.where(np.arange(n) % 2 == 0, 1.0, -1.0)
    left = np.concatenate([[sign[0]], sign[:-1]])  # nothing came before the first period
    share = (1 - task.carry_over) * sign + task.carry_over * left
    # what the tanks differ by always cancels within a pair
    seen = task.effect * share + task.rng.normal(0.0, task.period_spread, (task.runs, pairs, n))
    around = sign - sign.mean()
    slope = seen @ around / (around @ around)
    rest = seen - seen.mean(axis=-1, keepdims=True) - slope[..., None] * around
    squares = (rest**2).sum(axis=-1)
    error = np.sqrt(squares / (n - 2) / (around @ around)) if n > 2 else np.full(slope.shape, math.nan)
    return np.asarray(slope, dtype=np.float64), np.asarray(error, dtype=np.float64)


@cache
def _behrens_fisher(df: int, level: float) -> tuple[FloatArray, FloatArray]:
    """Return at angles from 0 to a right one the quantile of cos(angle) t + sin(angle) t', both on `df`."""
    angles = np.linspace(0.0, math.pi / 2, 19)
    one = np.ones(1)

    def bound(angle: float) -> float:
        parts = [
            Estimate(0 * one, max(scale, 1e-9) * one, df * one, one) for scale in (math.cos(angle), math.sin(angle))
        ]
        return parts[0].plus(parts[1]).interval(level)[1]

    half = [bound(float(angle)) for angle in angles[:10]]
    return angles, np.array([*half, *half[-2::-1]])


def _keepers(task: SimulatedTask) -> Called:
    """One pair in each home, all with one standard error v: so tau2 is max(0, s^2 - v), and the interval closed."""
    variance = task.pair_spread**2
    seen = task.rng.normal(task.effect, math.sqrt(task.spreads.keepers**2 + variance), (task.runs, task.size))
    spread = np.maximum(seen.var(axis=1, ddof=1), variance)  # modified: never narrower than with equal effects
    return np.asarray(np.abs(seen.mean(axis=1)) > _t_quantile(task.size - 1, task.level) * np.sqrt(spread / task.size))


def _mean_called(values: FloatArray, level: float) -> Called:
    """Return by run (runs, k) whether the mean's t interval at `level` leaves out 0."""
    k = values.shape[1]
    error = values.std(axis=1, ddof=1) / math.sqrt(k)
    return np.asarray(np.abs(values.mean(axis=1)) > _t_quantile(k - 1, level) * error)


def _t_quantile(df: int, level: float) -> float:
    from scipy.special import stdtrit

    return float(stdtrit(df, (1 + level) / 2))


CALLS: dict[DesignKind, Callable[[SimulatedTask], Called]] = {
    "one pair": _one_pair,
    "one pair with baseline": _one_pair_with_baseline,
    "pairs": _pairs,
    "pairs with baseline": _pairs_with_baseline,
    "swapped pairs": _swapped_pairs,
    "periods": _periods,
    "keepers": _keepers,
}
