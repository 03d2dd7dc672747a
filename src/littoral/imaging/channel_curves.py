"""A tone curve for each channel, for views without a known card: there it is only asked what lies nearest the target.

The fit is in log linear light, log target = gain_c + γ_c·log photo + κ·log² photo, with robust weights (Tukey's
bisquare). It knows nothing of cameras, so that it also follows a lamp whose light is strongly coloured.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from littoral.imaging.colour import srgb_to_linear

FloatArray = NDArray[np.float64]

SLOPES = (0.7, 1.5)
"""Where blocks do not agree a curve goes flat: between these slopes it could be a camera's."""


def fit_curves(value: FloatArray, goal: FloatArray, weight: FloatArray) -> tuple[FloatArray | None, FloatArray]:
    """Fit 8-bit values (n, 3) to linear light (n, 3) with weights (n,).

    Returns the linear light of each 8-bit value (256, 3), None where no camera is like that, and the final weights.
    """
    x, y = np.log(np.maximum(srgb_to_linear(value / 255), 1e-5)), np.log(np.maximum(goal, 1e-5))
    # An error of d in log light shows as about d·light^(1/2.4) to the eye: weigh by its square.
    seen = np.exp(y.mean(axis=1)) ** (1 / 2.4)
    weight = weight * seen**2
    zero = np.zeros_like(x)
    columns = [np.where(np.arange(3) == c, one, zero) for one in (np.ones_like(x), x) for c in range(3)] + [x * x]
    flat = np.stack(columns, axis=-1).reshape(3 * len(x), -1)
    trust, found = weight.copy(), np.zeros(7)
    for _ in range(8):
        weighed = flat.T * np.repeat(trust, 3)
        normal = weighed @ flat
        found = np.linalg.solve(normal + 1e-9 * np.trace(normal) * np.eye(7), weighed @ y.ravel())
        off = np.linalg.norm(_curve(x, found) - y, axis=1) * seen
        reach = 4.685 * 1.4826 * max(float(np.median(off)), 2e-3)
        trust = weight * np.maximum(0.0, 1 - (off / reach) ** 2) ** 2
    slopes = found[3:6] + 2 * found[6] * np.quantile(x, [0.02, 0.98])[:, None]
    if slopes.min() <= SLOPES[0] or slopes.max() >= SLOPES[1]:
        return None, trust
    return _table(found, np.quantile(x, [0.01, 0.99])), trust


def _curve(x: FloatArray, found: FloatArray) -> FloatArray:
    return np.asarray(found[:3] + found[3:6] * x + found[6] * x * x, dtype=np.float64)


def _table(found: FloatArray, seen: FloatArray) -> FloatArray:
    """The fit as a table; outside the light seen (log, low and high) the curve goes on straight, and never falls."""
    x = np.log(np.maximum(srgb_to_linear(np.arange(256) / 255), 1e-5))[:, None] * np.ones(3)
    inner = np.clip(x, seen[0], seen[1])
    slope = np.maximum(found[3:6] + 2 * found[6] * inner, 0.2)
    light = np.exp(np.minimum(_curve(inner, found) + slope * (x - inner), 1.0))
    light[0] = 0.0
    return np.asarray(np.maximum.accumulate(light, axis=0), dtype=np.float64)
