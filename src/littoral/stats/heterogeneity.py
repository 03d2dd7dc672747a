"""How much true effects differ from keeper to keeper: the variance tau2 between them, by two estimators.

Arrays throughout: effects `y` (k,), sampling variances `v` (k,), columns `x` (k, p). Imports SciPy inside functions.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from littoral.stats.series import FloatArray


@dataclass(frozen=True, slots=True)
class Between:
    """The variance between keepers and its standard error, both in the effects' unit squared."""

    tau2: float
    error: float


def projection(variance: FloatArray, x: FloatArray) -> FloatArray:
    """Return P = W - W X (X'WX)^-1 X'W (k, k) for weights 1/`variance` (k,), in the effects' unit to the power -2."""
    w = 1 / variance
    wx = w[:, None] * x
    return np.asarray(np.diag(w) - wx @ np.linalg.solve(x.T @ wx, wx.T), dtype=np.float64)


def typical_variance(v: FloatArray, x: FloatArray) -> float:
    """Return the typical sampling variance, the effects' unit squared (Higgins & Thompson 2002, Stat Med 21:1539)."""
    k, p = x.shape
    return float((k - p) / np.trace(projection(v, x)))


def restricted_log_likelihood(tau2: float, y: FloatArray, v: FloatArray, x: FloatArray) -> float:
    """Return the restricted log likelihood of `tau2` (effects' unit squared), without its constant."""
    total = v + tau2
    information = x.T @ (x / total[:, None])
    p = projection(total, x)
    return float(-0.5 * (np.log(total).sum() + np.linalg.slogdet(information)[1] + y @ p @ y))


def between_reml(y: FloatArray, v: FloatArray, x: FloatArray) -> Between:
    """Return tau2 of the largest restricted likelihood (Patterson & Thompson 1971, Biometrika 58:545-554).

    Every change of sign of the score over a fine grid is solved for and the best of them, or 0, is taken: Fisher's
    scoring, which is usual, may stay at a lesser peak. The error is from the expected information at that place.
    """
    from scipy.optimize import brentq

    def score(tau2: float) -> float:
        p = projection(v + tau2, x)
        return float(y @ p @ p @ y - np.trace(p))

    widest = float(np.var(y) * y.size + v.max())
    grid = np.concatenate([[0.0], np.geomspace(1e-6 * float(v.min()), 4 * widest, 61)])
    scores = [score(float(at)) for at in grid]
    found = [0.0] + [
        float(brentq(score, grid[i], grid[i + 1], xtol=1e-14 * widest, rtol=1e-13))
        for i in range(grid.size - 1)
        if scores[i] > 0 >= scores[i + 1]
    ]
    tau2 = max(found, key=lambda at: restricted_log_likelihood(at, y, v, x))
    p = projection(v + tau2, x)
    return Between(tau2, float(np.sqrt(2 / np.sum(p * p))))


def between_dersimonian_laird(y: FloatArray, v: FloatArray, x: FloatArray) -> Between:
    """Return tau2 by moments (DerSimonian & Laird 1986, Control Clin Trials 7:177-188), for reference.

    The error is that of the restricted likelihood's information at the same place.
    """
    k, columns = x.shape
    p = projection(v, x)
    tau2 = max(0.0, float((y @ p @ y - (k - columns)) / np.trace(p)))
    p = projection(v + tau2, x)
    return Between(tau2, float(np.sqrt(2 / np.sum(p * p))))
