"""Pooling one effect from each of several keepers: how large it is on average, and what the next keeper may expect.

Random effects: y_i = x_i b + u_i + e_i with var(u) = tau2 between keepers and var(e_i) = v_i known from each keeper's
own trial. Restricted maximum likelihood for tau2, the interval by Hartung & Knapp (2001, Stat Med 20:3875-3889),
modified so that it is never narrower than with equal effects (Roever, Knapp & Friede 2015, BMC Med Res Methodol 15:99).
One effect for each keeper: two trials of one home are not two homes. SciPy is imported inside the functions.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from littoral.errors import LittoralError
from littoral.stats.heterogeneity import Between, between_dersimonian_laird, between_reml, projection, typical_variance
from littoral.stats.series import FloatArray

FEWEST_KEEPERS = 5
"""Below so many keepers no pooled claim is made: intervals are then as wide as what they should tell apart."""

IntervalKind = Literal["modified", "hartung-knapp", "normal"]
BetweenKind = Literal["reml", "dersimonian-laird", "none"]


class PoolingError(LittoralError):
    """Effects that cannot be pooled; the message says which and what would be right."""


@dataclass(frozen=True, slots=True, eq=False)
class Pooled:
    """A pooled fit. Arrays have shape (p,): one number for each column of the moderators, the mean alone without any.

    `coefficient`, `standard_error`, `low` and `high` are in the effects' unit (per unit of the moderator); `p_value` is
    two-sided. `tau2` is the variance between keepers with its standard error, in the effects' unit squared.
    `q` on `q_df` degrees of freedom tests whether the keepers differ by more than their own doubt, `q_p` its p value;
    `i2_percent` is the share of spread that lies between keepers, `h2` total variance over sampling variance.
    `prediction` is the interval for the true effect of one further keeper; None with moderators or below 3 keepers.
    `weight` (k,) are the keepers' shares of the mean, adding to 1. `df` is infinite for the normal interval.
    """

    coefficient: FloatArray
    standard_error: FloatArray
    low: FloatArray
    high: FloatArray
    p_value: FloatArray
    tau2: float
    tau2_error: float
    q: float
    q_df: int
    q_p: float
    i2_percent: float
    h2: float
    prediction: tuple[float, float] | None
    weight: FloatArray
    keepers: int
    df: float
    level: float

    @property
    def value(self) -> float:
        """The first coefficient: the mean effect where there are no moderators, in the effects' unit."""
        return float(self.coefficient[0])

    @property
    def interval(self) -> tuple[float, float]:
        """The interval of the first coefficient, in the effects' unit."""
        return float(self.low[0]), float(self.high[0])

    @property
    def may_claim(self) -> bool:
        """Whether there are keepers enough for a pooled claim at all."""
        return self.keepers >= FEWEST_KEEPERS


def pool(
    effect: FloatArray,
    variance: FloatArray,
    *,
    moderators: FloatArray | None = None,
    between: BetweenKind = "reml",
    interval: IntervalKind = "modified",
    level: float = 0.95,
) -> Pooled:
    """Pool `effect` (k,), one for each keeper in one unit, with sampling `variance` (k,) in that unit squared.

    `moderators` (k, m) are what the effect may depend on; a column of ones goes before them, so the first coefficient
    is the effect where all of them are 0. `between="none"` takes the effects for equal (tau2 = 0). The interval is
    "modified" Hartung-Knapp (the default), plain "hartung-knapp", or "normal"; t has k - p degrees of freedom. The
    prediction interval is the mean's +- t(k - 2) sqrt(tau2 + se^2) (Higgins, Thompson & Spiegelhalter 2009, J R Stat
    Soc A 172:137-159), normal with the normal interval. Raises PoolingError where the numbers cannot be pooled.
    """
    from scipy.special import chdtrc, ndtr, ndtri, stdtr, stdtrit

    y, v, x = _checked(effect, variance, moderators)
    if not 0 < level < 1:
        raise PoolingError(f"An interval's level lies between 0 and 1, such as 0.95; it is {level:g}.")
    k, p = x.shape
    spread = _between(between, y, v, x)
    weight = 1 / (v + spread.tau2)
    inverse = np.linalg.inv(x.T @ (weight[:, None] * x))
    coefficient = inverse @ (x.T @ (weight * y))
    at_zero = projection(v, x)
    q = max(0.0, float(y @ at_zero @ y))
    if interval == "normal":
        df, covariance = math.inf, inverse
    else:
        df = float(k - p)
        rest = y - x @ coefficient
        factor = float(weight @ rest**2) / (k - p)
        covariance = inverse * (max(1.0, factor) if interval == "modified" else factor)
    error = np.sqrt(np.diag(covariance))
    quantile = float(ndtri((1 + level) / 2)) if math.isinf(df) else float(stdtrit(df, (1 + level) / 2))
    with np.errstate(divide="ignore", invalid="ignore"):
        away = np.where(error > 0, np.abs(coefficient) / error, np.where(coefficient == 0, 0.0, np.inf))
    tails = 2 * (ndtr(-away) if math.isinf(df) else stdtr(df, -away))
    typical = typical_variance(v, x)
    return Pooled(
        coefficient=coefficient,
        standard_error=error,
        low=coefficient - quantile * error,
        high=coefficient + quantile * error,
        p_value=np.asarray(tails, dtype=np.float64),
        tau2=spread.tau2,
        tau2_error=spread.error,
        q=q,
        q_df=k - p,
        q_p=float(chdtrc(k - p, q)),
        i2_percent=100 * spread.tau2 / (spread.tau2 + typical),
        h2=(spread.tau2 + typical) / typical,
        prediction=_prediction(coefficient[0], error[0], spread.tau2, k=k, normal=math.isinf(df), level=level)
        if p == 1
        else None,
        weight=weight / weight.sum(),
        keepers=k,
        df=df,
        level=level,
    )


def leave_one_out(
    effect: FloatArray,
    variance: FloatArray,
    *,
    between: BetweenKind = "reml",
    interval: IntervalKind = "modified",
    level: float = 0.95,
) -> tuple[Pooled, ...]:
    """Return the pooled mean without each keeper in turn, k fits in the keepers' order; at least 3 keepers.

    Arguments as for `pool`. Where one home carries the result, it is seen here.
    """
    y, v, _ = _checked(effect, variance, None)
    if y.size < 3:
        raise PoolingError(f"Leaving one of {y.size} keepers out leaves nothing to pool; at least 3 are needed.")
    kept = ~np.eye(y.size, dtype=bool)
    return tuple(pool(y[row], v[row], between=between, interval=interval, level=level) for row in kept)


def _between(kind: BetweenKind, y: FloatArray, v: FloatArray, x: FloatArray) -> Between:
    match kind:
        case "reml":
            return between_reml(y, v, x)
        case "dersimonian-laird":
            return between_dersimonian_laird(y, v, x)
        case "none":
            return Between(0.0, 0.0)


def _prediction(
    mean: float, error: float, tau2: float, *, k: int, normal: bool, level: float
) -> tuple[float, float] | None:
    from scipy.special import ndtri, stdtrit

    if k < 3:
        return None
    quantile = float(ndtri((1 + level) / 2) if normal else stdtrit(k - 2, (1 + level) / 2))
    reach = quantile * math.sqrt(tau2 + error**2)
    return float(mean - reach), float(mean + reach)


def _checked(
    effect: FloatArray, variance: FloatArray, moderators: FloatArray | None
) -> tuple[FloatArray, FloatArray, FloatArray]:
    y, v = (np.asarray(one, dtype=np.float64) for one in (effect, variance))
    if y.ndim != 1 or y.shape != v.shape:
        raise PoolingError(f"Each effect needs one variance: there are {y.size} effects and {v.size} variances.")
    if not (np.all(np.isfinite(y)) and np.all(np.isfinite(v)) and np.all(v > 0)):
        which = [str(i + 1) for i in np.flatnonzero(~(np.isfinite(y) & np.isfinite(v) & (v > 0)))]
        raise PoolingError(f"Effects must be numbers and variances above 0; not so in number {', '.join(which)}.")
    columns = [np.ones((y.size, 1))]
    if moderators is not None:
        given = np.asarray(moderators, dtype=np.float64).reshape(y.size, -1)
        if not np.all(np.isfinite(given)):
            raise PoolingError("A moderator is missing for a keeper: leave that keeper out, or find the number.")
        columns.append(given)
    x = np.hstack(columns)
    if y.size <= x.shape[1]:
        raise PoolingError(f"{y.size} effects are too few for {x.shape[1]} numbers; at least one more is needed.")
    if np.linalg.matrix_rank(x) < x.shape[1]:
        raise PoolingError("A moderator is the same for all keepers, or follows from the others: leave it out.")
    return y, v, x
