"""A straight-line model whose errors may be white, autocorrelated or a random walk, averaged over all three.

Daily photos of one tank are not independent observations. For each error structure on a grid, the coefficients and the
variance are integrated out exactly (restricted likelihood, Patterson & Thompson 1971, Biometrika 58:545-554; Harville
1974, Biometrika 61:383-385: it is the marginal likelihood under flat priors on coefficients and log variance). The
structures are then weighted by that likelihood, so an interval carries the doubt about the correlation too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from littoral.errors import LittoralError
from littoral.stats.estimate import Estimate
from littoral.stats.series import FloatArray

Structure = Literal["white", "autocorrelated", "random walk"]

FEWEST_POINTS = 4

# Grids: correlation of neighbours (at the median spacing), share of white noise on top of it; for the random walk,
# variance of one step over that of the white noise. The prior is 1/3 for each structure, even within it.
CORRELATIONS = (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.87, 0.93, 0.97)
WHITE_SHARES = (0.01, 0.2, 0.4, 0.6, 0.8)
WALK_STEPS = (0.01, 0.03, 0.1, 0.3, 1.0, 3.0, 30.0)


class TooFewPointsError(LittoralError):
    """There are not enough values to estimate anything; `points` were given, `needed` would be the least."""

    def __init__(self, *, points: int, needed: int, what: str) -> None:
        self.points, self.needed, self.what = points, needed, what
        few = "1 value is" if points == 1 else f"{points} values are"
        super().__init__(f"{what}: {few} too few to estimate it, at least {needed} are needed")


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """A fitted model: for each of g error structures the p coefficients, and the weight of the structure.

    `coefficient` (g, p), `covariance` (g, p, p) not yet scaled, `variance` (g,), `weight` (g,), residual degrees of
    freedom `df`, and the weight that each kind of structure got.
    """

    coefficient: FloatArray
    covariance: FloatArray
    variance: FloatArray
    weight: FloatArray
    df: int
    weight_of: dict[str, float]

    def contrast(self, of: Sequence[float] | FloatArray) -> Estimate:
        """Return the estimate of the weighted sum of coefficients with weights `of`, shape (p,)."""
        c = np.asarray(of, dtype=float)
        spread = np.einsum("i,gij,j->g", c, self.covariance, c) * self.variance
        g = self.weight.size
        return Estimate(self.coefficient @ c, np.sqrt(np.maximum(spread, 0.0)), np.full(g, float(self.df)), self.weight)


def spacing_of(day: FloatArray) -> float:
    """Return the median spacing (days) of ascending days (n,), where the grid of correlations is laid; else 1."""
    gaps = np.diff(day)
    return float(np.median(gaps[gaps > 0])) if np.any(gaps > 0) else 1.0


def error_shapes(
    day: FloatArray, which: Sequence[Structure], *, spacing_days: float | None = None
) -> tuple[FloatArray, FloatArray, list[str]]:
    """Return error covariances up to a factor, shape (g, n, n), their prior weights (g,), and their kinds."""
    n = day.size
    spacing = spacing_of(day) if spacing_days is None else spacing_days
    apart = np.abs(day[:, None] - day[None, :]) / spacing
    since = (np.minimum(day[:, None], day[None, :]) - day.min()) / spacing
    white = np.eye(n)
    stack: list[FloatArray] = []
    prior: list[float] = []
    kinds: list[str] = []
    for structure in which:
        if structure == "white":
            members = [white]
        elif structure == "autocorrelated":
            members = [(1 - nu) * rho**apart + nu * white for rho in CORRELATIONS for nu in WHITE_SHARES]
        else:
            members = [step * since + white for step in WALK_STEPS]
        stack += members
        prior += [1 / len(members) / len(which)] * len(members)
        kinds += [structure] * len(members)
    return np.stack(stack), np.array(prior), kinds


def fit(
    day: FloatArray,
    value: FloatArray,
    design: FloatArray,
    *,
    structures: Sequence[Structure] = ("white", "autocorrelated", "random walk"),
    what: str = "the series",
    spacing_days: float | None = None,
) -> Fit:
    """Fit value = design · coefficients + error, averaged over error structures.

    `day` and `value` have shape (n,), days ascending (irregular days are fine), `design` (n, p) of full rank.
    `spacing_days` is that of the grid of correlations: the median of the days' own unless given. Raises
    TooFewPointsError where fewer than 4 values, or fewer than p + 2, are given; `what` names the series in it.
    """
    n, p = design.shape
    needed = max(FEWEST_POINTS, p + 2)
    if n < needed:
        raise TooFewPointsError(points=n, needed=needed, what=what)
    shape, prior, kinds = error_shapes(day, structures, spacing_days=spacing_days)
    root = np.linalg.cholesky(shape)
    whitened = np.linalg.solve(root, np.broadcast_to(np.column_stack([design, value]), (shape.shape[0], n, p + 1)))
    q, r = np.linalg.qr(whitened[:, :, :p])
    y = whitened[:, :, p]
    projected = np.einsum("gnp,gn->gp", q, y)
    coefficient = np.linalg.solve(r, projected[:, :, None])[:, :, 0]
    inverse = np.linalg.inv(r)
    df = n - p
    # a perfect fit would give every structure an infinite likelihood: rounding is the least error there is
    least = (np.finfo(float).eps * (1.0 + float(np.abs(value).max()))) ** 2 * n
    rest = np.maximum(np.sum(y**2, axis=1) - np.sum(projected**2, axis=1), least)
    log_det_shape = 2 * np.sum(np.log(np.diagonal(root, axis1=1, axis2=2)), axis=1)
    log_det_design = 2 * np.sum(np.log(np.abs(np.diagonal(r, axis1=1, axis2=2))), axis=1)
    log_weight = np.log(prior) - 0.5 * (log_det_shape + log_det_design + df * np.log(rest))
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    weight_of: dict[str, float] = dict.fromkeys(structures, 0.0)
    for kind, share in zip(kinds, weight, strict=True):
        weight_of[kind] += float(share)
    return Fit(coefficient, inverse @ np.swapaxes(inverse, 1, 2), rest / df, weight, df, weight_of)
