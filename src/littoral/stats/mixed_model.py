"""Linear mixed models: values of several tanks, with the tank as the unit, by restricted maximum likelihood.

What is taken many times from one tank shares that tank's luck. A grouping (tank, block, tank within block) gives each
of its groups an offset of its own, and where asked a slope too; what is left is independent. The covariance is linear
in its components, as `stats.small_sample` needs for honest degrees of freedom. statsmodels' MixedLM has none, and its
components are relative; so this is our own, held to nlme and lme4 (benchmarks/published_rows/mixed_models.py).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from littoral.errors import LittoralError
from littoral.stats.blocks import Blocks, inverses, split, with_rest
from littoral.stats.estimate import NORMAL_DF, Estimate
from littoral.stats.regression import TooFewPointsError
from littoral.stats.series import FloatArray
from littoral.stats.small_sample import FTest, Method, SmallSample, small_sample

STARTS = (1.0, 0.05, 20.0)
"""Variances of the groups over that of the rest, from which the search starts."""


class ConfoundedError(LittoralError):
    """The groups of `grouping` cannot be told apart from what is compared: one tank per arm, for example."""

    def __init__(self, *, grouping: str, groups: int, what: str) -> None:
        self.grouping, self.groups, self.what = grouping, groups, what
        super().__init__(
            f"{what}: the {groups} groups of {grouping} cannot be told apart from what is compared; "
            f"more groups under the same regime are needed, not more values in each"
        )


@dataclass(frozen=True, slots=True, eq=False)
class Grouping:
    """Which group each value belongs to, `group` (n,) of any labels, and for a slope of its own `along` (n,).

    Nested groupings are given with labels that differ between the outer groups (`nested`).
    """

    name: str
    group: NDArray[Any]
    along: FloatArray | None = None

    def parts(self) -> tuple[list[FloatArray], float]:
        """Return the covariance matrices (n, n) of its components, and the scale that `along` was divided by."""
        same = (self.group[:, None] == self.group[None, :]).astype(float)
        if self.along is None:
            return [same], 1.0
        scale = float(np.std(self.along)) or 1.0
        a = np.asarray(self.along / scale, dtype=np.float64)
        return [same, same * (a[:, None] + a[None, :]), same * np.outer(a, a)], scale


@dataclass(frozen=True, slots=True, eq=False)
class MixedFit:
    """A fitted mixed model of n values and p coefficients.

    `coefficient` (p,), `covariance` (p, p) of them, `variances` by name (the value's unit squared; for a slope per
    unit of `along`, and the covariance of offset and slope), `residual_variance`, and `log_likelihood`, restricted.
    `at_zero` tells that a variance was found to be nothing: the groups differ no more than their values scatter.
    """

    coefficient: FloatArray
    covariance: FloatArray
    variances: dict[str, float]
    residual_variance: float
    log_likelihood: float
    at_zero: bool
    _small: SmallSample = field(repr=False)

    def contrast(self, of: Sequence[float] | FloatArray, *, method: Method = "kenward-roger") -> Estimate:
        """Return the estimate of the weighted sum of coefficients with weights `of` (p,), a t on the method's df."""
        c = np.asarray(of, dtype=float)
        one = np.ones(1)
        spread, df = self._small.spread_and_df(c, method=method)
        return Estimate(float(c @ self.coefficient) * one, spread * one, min(df, NORMAL_DF) * one, one)

    def test(self, rows: FloatArray, *, method: Method = "kenward-roger") -> FTest:
        """Return the F test of `rows` (q, p) · coefficients = 0, q independent rows."""
        return self._small.f_test(np.atleast_2d(rows), self.coefficient, method=method)


def nested(*labels: NDArray[Any]) -> NDArray[np.int64]:
    """Return one label (n,) for each combination of the labels (n,), such as tank within block."""
    codes = np.column_stack([np.unique(one, return_inverse=True)[1] for one in labels])
    return np.asarray(np.unique(codes, axis=0, return_inverse=True)[1].ravel(), dtype=np.int64)


def fit_mixed(
    value: FloatArray, design: FloatArray, groupings: Sequence[Grouping], *, what: str = "the values"
) -> MixedFit:
    """Fit value (n,) = design (n, p) · coefficients + groups' offsets (and slopes) + rest.

    `design` has full rank. Raises TooFewPointsError where n is not above p + 1, ConfoundedError where a grouping's
    groups are all explained by the design: then nothing is known about how groups differ by themselves.
    """
    from scipy.optimize import minimize

    n, p = design.shape
    if n < p + 2:
        raise TooFewPointsError(points=n, needed=p + 2, what=what)
    matrices: list[FloatArray] = []
    scales: list[float] = []
    for grouping in groupings:
        _not_confounded(grouping, design, what=what)
        parts, scale = grouping.parts()
        matrices += parts
        scales.append(scale)
    # what ordinary least squares leaves is fitted: a large level would cost digits
    ordinary = np.linalg.lstsq(design, value)[0]
    left = value - design @ ordinary
    if float(np.abs(left).max()) <= 100 * np.finfo(float).eps * float(np.abs(value).max()):
        left = np.zeros(n)
    blocks = with_rest(split(left, design, np.stack(matrices)))
    start: list[float] = []
    bounds: list[tuple[float | None, float | None]] = []
    for grouping in groupings:
        start += [1.0] if grouping.along is None else [1.0, 0.0, 1.0]
        bounds += [(0.0, None)] if grouping.along is None else [(0.0, None), (None, None), (0.0, None)]

    def profiled(root: FloatArray) -> tuple[float, FloatArray]:
        relative, slope = _relative(root, groupings)
        deviance, gradient, _ = _deviance(relative, blocks)
        return deviance, slope.T @ gradient

    found = [
        minimize(
            profiled,
            np.array(start) * by,
            jac=True,
            bounds=bounds,
            method="L-BFGS-B",
            options={"ftol": 1e-13, "gtol": 1e-9},
        )
        for by in STARTS
    ]
    best = min(found, key=lambda one: float(one.fun))
    relative, _ = _relative(best.x, groupings)
    edge = [i for i, (low, _) in enumerate(bounds) if low == 0.0 and best.x[i] < 1e-5]
    if not edge:
        relative = _polished(relative, blocks)
    deviance, _, rest = _deviance(relative, blocks)
    theta = np.append(relative, 1.0) * rest
    small = small_sample(theta, blocks, at_edge=bool(edge))
    return MixedFit(
        coefficient=ordinary + small.coefficient,
        covariance=small.covariance,
        variances=_named(theta, groupings, scales),
        residual_variance=rest,
        log_likelihood=-0.5 * (deviance + (n - p) * (1 + np.log(2 * np.pi) - np.log(n - p))),
        at_zero=bool(edge),
        _small=small,
    )


def arm_effect(
    value: FloatArray, *, tank: NDArray[Any], second_arm: NDArray[np.bool_], block: NDArray[Any] | None = None
) -> Estimate:
    """Return second arm minus first, in the value's unit, from many values (n,) of tanks that each have one regime.

    `second_arm` (n,) says whose tank has the second regime, `block` (n,) which pair or shelf it stands in. However
    many values a tank gives, the degrees of freedom count tanks (Kenward & Roger). With one value of each tank, tanks
    are the rest: least squares is that model, with tanks - blocks - 1 degrees of freedom. Raises as `fit_mixed`.
    """
    columns = [np.ones(value.size), second_arm.astype(float)]
    if block is not None:
        labels = np.unique(block)
        columns += [(block == label).astype(float) for label in labels[1:]]
    design, what = np.column_stack(columns), "difference of the arms"
    tanks = tank if block is None else nested(block, tank)
    if np.unique(tanks).size == value.size:
        return _of_single_values(value, design, what=what)
    fitted = fit_mixed(value, design, [Grouping("tank", tanks)], what=what)
    return fitted.contrast(np.eye(len(columns))[1])


def _of_single_values(value: FloatArray, design: FloatArray, *, what: str) -> Estimate:
    n, p = design.shape
    if n <= p or np.linalg.matrix_rank(design) < p:
        raise TooFewPointsError(points=n, needed=p + 1, what=what)
    coefficient = np.linalg.lstsq(design, value)[0]
    rest = value - design @ coefficient
    spread = np.sqrt(np.linalg.inv(design.T @ design)[1, 1] * float(rest @ rest) / (n - p))
    one = np.ones(1)
    return Estimate(float(coefficient[1]) * one, spread * one, (n - p) * one, one)


def _not_confounded(grouping: Grouping, design: FloatArray, *, what: str) -> None:
    labels, code = np.unique(grouping.group, return_inverse=True)
    offsets = np.eye(labels.size)[code.ravel()]
    for columns in (offsets, None if grouping.along is None else offsets * grouping.along[:, None]):
        if columns is None:
            continue
        both = np.linalg.matrix_rank(np.column_stack([design, columns]))
        if both <= np.linalg.matrix_rank(design):
            raise ConfoundedError(grouping=grouping.name, groups=labels.size, what=what)
        if both >= design.shape[0]:
            raise TooFewPointsError(points=design.shape[0], needed=int(both) + 1, what=what)


def _relative(root: FloatArray, groupings: Sequence[Grouping]) -> tuple[FloatArray, FloatArray]:
    """Return the relative components and their derivative by the searched numbers (variances, or Cholesky factors)."""
    relative: list[float] = []
    slope = np.zeros((root.size, root.size))
    at = 0
    for grouping in groupings:
        if grouping.along is None:
            relative.append(float(root[at]))
            slope[at, at] = 1.0
            at += 1
            continue
        a, b, c = root[at : at + 3]
        relative += [float(a * a), float(a * b), float(b * b + c * c)]
        slope[at : at + 3, at : at + 3] = [[2 * a, 0, 0], [b, a, 0], [0, 2 * b, 2 * c]]
        at += 3
    return np.array(relative), slope


def _deviance(relative: FloatArray, blocks: tuple[Blocks, ...]) -> tuple[float, FloatArray, float]:
    """Return -2 restricted log likelihood up to a constant, its gradient by `relative`, and the rest's variance."""
    n = sum(one.value.size for one in blocks)
    p = blocks[0].design.shape[2]
    inverse, log_det = inverses(np.append(relative, 1.0), blocks)
    weighted = [inv @ one.design for inv, one in zip(inverse, blocks, strict=True)]
    information = sum(np.einsum("mip,miq->pq", one.design, w) for one, w in zip(blocks, weighted, strict=True))
    score = sum(np.einsum("mip,mi->p", w, one.value) for one, w in zip(blocks, weighted, strict=True))
    covariance = np.linalg.inv(information)
    coefficient = covariance @ score
    squares = 0.0
    gradient = np.zeros(relative.size + 1)
    off = np.zeros(relative.size + 1)
    for one, inv, w in zip(blocks, inverse, weighted, strict=True):
        error = np.einsum("mij,mj->mi", inv, one.value - one.design @ coefficient)
        squares += float(np.sum(error * one.value))
        gradient += np.einsum("mkij,mij->k", one.parts, inv)
        gradient -= np.einsum("mip,pq,mjq,mkij->k", w, covariance, w, one.parts, optimize=True)
        off += np.einsum("mi,mkij,mj->k", error, one.parts, error)
    # a perfect fit would have an infinite likelihood: rounding is the least error there is
    rest = max(squares / (n - p), np.finfo(float).eps ** 4)
    deviance = (n - p) * np.log(rest * (n - p)) + log_det + np.linalg.slogdet(information)[1]
    return float(deviance), (gradient - off / rest)[:-1], rest


def _polished(relative: FloatArray, blocks: tuple[Blocks, ...]) -> FloatArray:
    """Return the components after a few Newton steps: degrees of freedom depend on them to many digits."""
    deviance, gradient, _ = _deviance(relative, blocks)
    step = 1e-6
    for _ in range(4):
        curvature = np.empty((relative.size, relative.size))
        for i in range(relative.size):
            moved = relative.copy()
            moved[i] += step * (1 + abs(relative[i]))
            curvature[i] = (_deviance(moved, blocks)[1] - gradient) / (moved[i] - relative[i])
        try:
            better = relative - np.linalg.solve((curvature + curvature.T) / 2, gradient)
            trial = _deviance(better, blocks)
        except np.linalg.LinAlgError:
            break
        if trial[0] > deviance + 1e-9:
            break
        relative, (deviance, gradient, _) = better, trial
    return relative


def _named(theta: FloatArray, groupings: Sequence[Grouping], scales: Sequence[float]) -> dict[str, float]:
    named: dict[str, float] = {}
    at = 0
    for grouping, scale in zip(groupings, scales, strict=True):
        named[grouping.name] = float(theta[at])
        if grouping.along is not None:
            named[f"{grouping.name}, offset and slope"] = float(theta[at + 1] / scale)
            named[f"{grouping.name}, slope"] = float(theta[at + 2] / scale**2)
        at += 1 if grouping.along is None else 3
    return named
