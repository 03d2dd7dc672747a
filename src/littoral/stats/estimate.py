"""An estimate: one number and the doubt about it, as a weighted mixture of Student t distributions.

Averaging over error structures that we cannot tell apart gives such a mixture; its quantiles are the interval. SciPy
is imported inside the functions, so that importing this module stays cheap.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from littoral.stats.series import FloatArray

NORMAL_DF = 1e9
"""Degrees of freedom at which Student's t is the normal distribution to double precision."""

_BINS = 4096


@dataclass(frozen=True, slots=True, eq=False)
class Estimate:
    """A mixture of shifted and scaled t distributions; all arrays have shape (k,), `weight` adds to 1.

    A scale of 0 is a number known exactly.
    """

    location: FloatArray
    scale: FloatArray
    df: FloatArray
    weight: FloatArray

    @staticmethod
    def exact(value: float) -> Estimate:
        """Return `value` (any unit) without doubt."""
        return Estimate.normal(value, spread=0.0)

    @staticmethod
    def normal(value: float, *, spread: float) -> Estimate:
        """Return `value` with a normal doubt of standard deviation `spread`, both in one unit."""
        one = np.ones(1)
        return Estimate(value * one, spread * one, NORMAL_DF * one, one)

    @property
    def value(self) -> float:
        """The mean of the mixture, in the unit of the number."""
        return float(self.weight @ self.location)

    def cdf(self, at: FloatArray) -> FloatArray:
        """Return the probability, 0 to 1, that the number is at most each of `at` (shape (m,))."""
        at = np.atleast_1d(np.asarray(at, dtype=float))
        scale = np.where(self.scale > 0, self.scale, 1.0)
        total = np.zeros(at.shape, dtype=np.float64)
        # one component block at a time keeps memory small for differences with thousands of components
        for block in np.array_split(np.arange(self.location.size), max(1, self.location.size // 4000)):
            away = at[:, None] - self.location[None, block]
            sure = np.where(away > 0, 1.0, np.where(away < 0, 0.0, 0.5))
            below: FloatArray = np.where(self.scale[block] > 0, _below(away / scale[block], self.df[block]), sure)
            total += below @ self.weight[block]
        return np.asarray(total, dtype=np.float64)

    def quantile(self, share: FloatArray) -> FloatArray:
        """Return the values below which each share (0 to 1, shape (m,)) of the doubt lies, by bisection."""
        from scipy.special import stdtrit

        share = np.atleast_1d(np.asarray(share, dtype=float))
        extreme = min(float(share.min()), 1 - float(share.max())) / 2
        reach = np.abs(stdtrit(self.df, extreme)) * self.scale
        low = np.full(share.shape, float((self.location - reach).min()))
        high = np.full(share.shape, float((self.location + reach).max()))
        for _ in range(200):
            middle = (low + high) / 2
            below = self.cdf(middle) < share
            low, high = np.where(below, middle, low), np.where(below, high, middle)
            if np.all(high - low <= 1e-9 * (reach.max() + np.abs(low))):
                break
        return np.asarray((low + high) / 2, dtype=np.float64)

    def interval(self, level: float = 0.95) -> tuple[float, float]:
        """Return the central interval (low, high) that holds the number with probability `level` (0 to 1)."""
        low, high = self.quantile(np.array([(1 - level) / 2, (1 + level) / 2]))
        return float(low), float(high)

    def p_zero(self) -> float:
        """Return the two-sided p value of "the number is 0": twice the smaller tail beyond 0."""
        below = float(self.cdf(np.zeros(1))[0])
        return min(1.0, 2 * min(below, 1 - below))

    def _reach(self) -> tuple[float, float]:
        """Return ends that leave out 1 in 10 million on each side, or 60 interquartile ranges where tails are heavy."""
        low, first, third, high = self.quantile(np.array([1e-7, 0.25, 0.75, 1 - 1e-7]))
        most = 60 * (third - first)
        return float(max(low, first - most)), float(min(high, third + most))

    def _masses(self, low: float, step: float, bins: int) -> FloatArray:
        """Return the probability of each of `bins` bins of width `step` from `low` on; the ends hold their tails."""
        edges = self.cdf(np.asarray(low + step * np.arange(1, bins), dtype=np.float64))
        return np.diff(np.concatenate([[0.0], edges, [1.0]]))

    def times(self, factor: float) -> Estimate:
        """Return the estimate of `factor` times the number."""
        return Estimate(factor * self.location, abs(factor) * self.scale, self.df, self.weight)

    def plus(self, other: Estimate) -> Estimate:
        """Return the estimate of the sum with an *independent* number, in the same unit.

        Both distributions are laid on one grid of 4096 bins and convolved; the sum comes back as a mixture of narrow
        normals, one a bin. An exact number only shifts the other.
        """
        for one, exact in ((self, other), (other, self)):
            if not exact.scale.any() and np.ptp(exact.location) == 0:  # also of a fit to values that never change
                return Estimate(one.location + exact.location[0], one.scale, one.df, one.weight)
        reaches = [self._reach(), other._reach()]
        step = sum(high - low for low, high in reaches) / _BINS
        mine, theirs = (
            one._masses(low, step, int(np.ceil((high - low) / step)) + 1)
            for one, (low, high) in zip((self, other), reaches, strict=True)
        )
        weight = np.convolve(mine, theirs)
        location = reaches[0][0] + reaches[1][0] + step * (np.arange(weight.size) + 1.0)
        keep = weight > 0
        shape = np.full(int(keep.sum()), NORMAL_DF)
        spread = np.full(shape.size, step / 2)  # just wide enough that the sum has no steps
        return Estimate(np.asarray(location[keep], dtype=np.float64), spread, shape, weight[keep] / weight[keep].sum())

    def minus(self, other: Estimate) -> Estimate:
        """Return the estimate of the difference from an *independent* number, in the same unit."""
        return self.plus(other.times(-1.0))


def _below(away: FloatArray, df: FloatArray) -> FloatArray:
    """Return Student's distribution function at `away` (m, k) standard units, normal where `df` (k,) is `NORMAL_DF`."""
    from scipy.special import ndtr, stdtr

    if np.all(df >= NORMAL_DF):
        return np.asarray(ndtr(away), dtype=np.float64)
    return np.asarray(stdtr(df, away), dtype=np.float64)
