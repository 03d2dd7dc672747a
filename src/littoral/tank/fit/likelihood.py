"""How probable a reading is at a level: ranges, blurred borders, misread steps, gross errors. Rows are draws.

With x = level * bias of the kit, a colour is seen as x * exp(judgement * N(0, 1)) and named by the step it falls in;
now and then the step beside it is named; and rarely the reading has nothing to do with the water. A number is
x + N(0, (relative * x)^2 + absolute^2), shown as zero where it lies below. So every probability has a floor, and no
reading can rule out all levels.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from littoral.tank.events import FloatArray
from littoral.tank.fit.methods import Method, Reading

LOWEST_MG_PER_L = 1e-9
OFF_SCALE_WIDENING = 2.0
"""Steps of kits lie about a factor of two apart (0, 5, 10, 20, 40, 80): the reach of a misread range off the scale."""
OFF_SCALE_STEPS = 6
"""Over how many steps a gross error is spread where the kit's scale is not known."""


def share_below(
    method: Method, level_mg_per_l: FloatArray, log_bias: FloatArray, border: FloatArray | float
) -> FloatArray:
    """Return the probability that a look or a measurement gives less than `border` (mg/L), without misreading.

    All arguments broadcast; the result has their common shape.
    """
    x = np.maximum(level_mg_per_l, LOWEST_MG_PER_L) * np.exp(log_bias)
    if method.kind == "steps":
        with np.errstate(divide="ignore"):
            far: FloatArray = (np.log(border) - np.log(x)) / method.judgement_log_sd
    else:
        far = (border - x) / np.hypot(method.relative_sd * x, method.absolute_sd_mg_per_l)
    below: FloatArray = ndtr(far)
    return below


def share_from(method: Method, level_mg_per_l: FloatArray, log_bias: FloatArray, border: float) -> FloatArray:
    """Return the probability of `border` or more (mg/L), without misreading; shapes as in `share_below`.

    From zero it is one: a meter shows as zero what lies below.
    """
    if border <= 0:
        return np.ones(np.broadcast_shapes(np.shape(level_mg_per_l), np.shape(log_bias)))
    return 1.0 - share_below(method, level_mg_per_l, log_bias, border)


def step_shares(method: Method, level_mg_per_l: FloatArray, log_bias: FloatArray) -> FloatArray:
    """Return the probability of each step of a scale with known borders, shape (n_steps, ...); they sum to one."""
    level = np.asarray(level_mg_per_l)
    borders = np.array(method.borders_mg_per_l).reshape((-1,) + (1,) * max(level.ndim, np.ndim(log_bias)))
    below = share_below(method, level, log_bias, borders)
    seen = np.diff(below, axis=0)
    n = len(seen)
    beside = method.misread_share if n > 1 else 0.0
    named = (1.0 - beside) * seen
    if n > 1:
        # the end steps have one neighbour, which takes all that is misread
        up, down = np.full(n, 0.5), np.full(n, 0.5)
        up[0], down[0], up[-1], down[-1] = 1.0, 0.0, 0.0, 1.0
        shape = (-1,) + (1,) * (seen.ndim - 1)
        named[1:] += beside * up[:-1].reshape(shape) * seen[:-1]
        named[:-1] += beside * down[1:].reshape(shape) * seen[1:]
    shares: FloatArray = (1.0 - method.gross_share) * named + method.gross_share / n
    return shares


def reading_likelihood(
    method: Method, reading: Reading, level_mg_per_l: FloatArray, log_bias: FloatArray
) -> FloatArray:
    """Return the probability (of a range) or density per mg/L (of a number) of a reading; shape of the levels."""
    low, high = reading.low_mg_per_l, reading.high_mg_per_l
    if method.kind == "number":
        return _number(method, low, high, level_mg_per_l, log_bias)
    span = _steps_of(method, low, high)
    if span is not None:
        summed: FloatArray = step_shares(method, level_mg_per_l, log_bias)[span].sum(axis=0)
        return summed
    inside = _inside(method, low, high, level_mg_per_l, log_bias)
    wide = _inside(method, low / OFF_SCALE_WIDENING, high * OFF_SCALE_WIDENING, level_mg_per_l, log_bias)
    named = (1.0 - method.misread_share) * inside + method.misread_share / 2.0 * (wide - inside)
    return (1.0 - method.gross_share) * named + method.gross_share / OFF_SCALE_STEPS


def log_likelihood(
    method: Method, readings: list[Reading], weight: FloatArray, level_mg_per_l: FloatArray, log_bias: FloatArray
) -> FloatArray:
    """Return the summed log likelihood of one method's readings, shape (draws,).

    `level_mg_per_l` (draws, n_readings), `log_bias` (draws,), `weight` (n_readings,): a reading noted k times has 1/k.
    """
    total = np.zeros(len(level_mg_per_l))
    spans = [_steps_of(method, one.low_mg_per_l, one.high_mg_per_l) for one in readings]
    on_scale = [i for i, span in enumerate(spans) if span is not None]
    if on_scale:  # all at once: one step each, or a few
        shares = step_shares(method, level_mg_per_l[:, on_scale].T, log_bias)
        for row, i in enumerate(on_scale):
            total += weight[i] * np.log(shares[spans[i], row].sum(axis=0))
    for i, reading in enumerate(readings):
        if spans[i] is None:
            total += weight[i] * np.log(reading_likelihood(method, reading, level_mg_per_l[:, i], log_bias))
    return total


def _steps_of(method: Method, low: float, high: float) -> slice | None:
    borders = method.borders_mg_per_l
    if method.kind == "steps" and low in borders and high in borders and low < high:
        return slice(borders.index(low), borders.index(high))
    return None


def _inside(method: Method, low: float, high: float, level: FloatArray, log_bias: FloatArray) -> FloatArray:
    inside: FloatArray = share_from(method, level, log_bias, low) - (1.0 - share_below(method, level, log_bias, high))
    return np.maximum(inside, 0.0)  # rounding


def _number(method: Method, low: float, high: float, level: FloatArray, log_bias: FloatArray) -> FloatArray:
    gross, top = method.gross_share, method.top_mg_per_l
    if low < high or high == 0:
        spread = min(max((min(high, top) - min(low, top)) / top, 0.01), 1.0)
        return (1.0 - gross) * _inside(method, low, high, level, log_bias) + gross * spread
    x = np.maximum(level, LOWEST_MG_PER_L) * np.exp(log_bias)
    sd = np.hypot(method.relative_sd * x, method.absolute_sd_mg_per_l)
    density: NDArray[np.float64] = np.exp(-0.5 * ((low - x) / sd) ** 2) / (sd * np.sqrt(2.0 * np.pi))
    return (1.0 - gross) * density + gross / top
