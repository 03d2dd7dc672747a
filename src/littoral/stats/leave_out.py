"""A fit of `stats.regression` again and again, each time without some of its values, from one factorisation.

Leaving values out of a model is the same as giving each a column of its own. With P the inverse of an error covariance
and M = P - P X (X'P X)^-1 X'P, the coefficients without the values I change by -(X'P X)^-1 X'P_I M_II^-1 (M y)_I, the
rest by -(M y)_I' M_II^-1 (M y)_I, and the restricted likelihood gains log det M_II (Cook & Weisberg 1982, Residuals and
Influence in Regression, chapter 2, from memory; checked in tests against fitting what is left).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from littoral.stats.estimate import Estimate
from littoral.stats.line_model import LineModel
from littoral.stats.regression import FEWEST_POINTS, Fit, Structure, error_shapes
from littoral.stats.series import FloatArray

ALONE = 1e-8
"""A value that keeps less than this share of its precision beside the model is fitted by a coefficient of its own."""


@dataclass(frozen=True, slots=True, eq=False)
class Without:
    """A model's numbers without the values of one label: after the change, and its change (None: no baseline)."""

    label: int
    after: Estimate
    change: Estimate | None


def fits_without(
    day: FloatArray,
    value: FloatArray,
    design: FloatArray,
    labels: NDArray[np.int_],
    *,
    structures: Sequence[Structure] = ("white", "autocorrelated", "random walk"),
) -> dict[int, Fit | None]:
    """Return for each label (labels: shape (n,)) the fit without its values, as `regression.fit` would give it.

    `day`, `value` (n,) and `design` (n, p) are those of `fit`. The error structures stay those of all days: their grid
    is laid at the median spacing of all. None where what is left would be too little, or a column has no values in it.
    """
    n, p = design.shape
    shape, prior, kinds = error_shapes(day, structures)
    precision = np.linalg.inv(shape)
    weighted = precision @ design
    inner = np.linalg.inv(np.swapaxes(weighted, 1, 2) @ design)
    hat = inner @ np.swapaxes(weighted, 1, 2)
    beside = precision - weighted @ hat
    coefficient, left = hat @ value, beside @ value
    rest = np.einsum("gn,n->g", left, value)
    log_det = np.linalg.slogdet(shape)[1] - np.linalg.slogdet(inner)[1]
    found: dict[int, Fit | None] = {}
    for label in np.unique(labels):
        out = np.flatnonzero(labels == label)
        own = beside[:, out[:, None], out[None, :]]
        whole = precision[:, out[:, None], out[None, :]]
        df = n - out.size - p
        alone = np.linalg.eigvalsh(own)[:, 0] < ALONE * np.linalg.eigvalsh(whole)[:, 0]
        if n - out.size < max(FEWEST_POINTS, p + 2) or bool(np.any(alone)):
            found[int(label)] = None
            continue
        step = np.linalg.solve(own, left[:, out, None])[:, :, 0]
        least = (np.finfo(float).eps * (1.0 + float(np.abs(np.delete(value, out)).max()))) ** 2 * (n - out.size)
        rest_without = np.maximum(rest - np.einsum("gk,gk->g", left[:, out], step), least)
        covariance = inner + hat[:, :, out] @ np.linalg.solve(own, np.swapaxes(hat[:, :, out], 1, 2))
        # log det of the covariance without I, plus that of the design's: the part M_II of both is shared
        log_weight = np.log(prior) - 0.5 * (log_det + np.linalg.slogdet(own)[1] + df * np.log(rest_without))
        weight = np.exp(log_weight - log_weight.max())
        weight /= weight.sum()
        weight_of: dict[str, float] = dict.fromkeys(structures, 0.0)
        for kind, share in zip(kinds, weight, strict=True):
            weight_of[kind] += float(share)
        less = np.einsum("gpk,gk->gp", hat[:, :, out], step)
        variance = np.asarray(rest_without / df, dtype=np.float64)
        inside = np.asarray(covariance, dtype=np.float64)
        found[int(label)] = Fit(coefficient - less, inside, variance, weight, df, weight_of)
    return found


def models_without(
    model: LineModel, labels: NDArray[np.int_], *, structures: Sequence[Structure]
) -> dict[int, Without | None]:
    """Return a model's numbers without the values of each label (labels: shape (n,)).

    A mean with a trend is taken in the middle of the days that are left. None where the model itself would be another
    with what is left: too few values before or after the change, or a column that no value speaks of.
    """
    fits = fits_without(model.day, model.response, model.design, labels, structures=structures)
    found: dict[int, Without | None] = {}
    for label, fitted in fits.items():
        keep = labels != label
        if fitted is None or any(int((part.values & keep).sum()) < part.fewest for part in model.parts):
            found[label] = None
            continue
        moved = np.zeros(model.design.shape[1])
        middles = []
        for part in model.parts:
            middle = moved.copy()
            if part.trend is not None:
                days = model.day[part.values]
                middle[part.trend] = model.day[part.values & keep].mean() - days.mean()
            middles.append(middle)
        change = None
        if model.change is not None:
            change = fitted.contrast(model.change + middles[-1] - middles[0])
        found[label] = Without(label, fitted.contrast(model.after + middles[-1]), change)
    return found
