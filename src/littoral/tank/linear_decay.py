"""First-order steps one after the other (a chain of decays), in closed form, whatever the rates.

Bateman's solutions (1910, Proc. Cambridge Philos. Soc. 15:423-427) are sums of exponentials over differences of rates;
they are divided differences of exp(-rate * days), written here so that rates that meet do not divide by zero.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from littoral.tank.events import FloatArray

_TERMS = 18


def decayed_twice(one: ArrayLike, other: ArrayLike, days: ArrayLike) -> FloatArray:
    """Return the integral of exp(-one s) exp(-other (days - s)) over s from 0 to days.

    Rates 1/day and days of shapes that broadcast, zero or more; the result is in days. With rates 0 and k it is what
    a decay at k takes of a unit, over k.
    """
    first, second, time = (np.asarray(value, dtype=np.float64) for value in (one, other, days))
    slow, x = np.minimum(first, second), np.abs(second - first) * time
    safe = np.where(x > 0, x, 1.0)
    share = np.where(x > 0, -np.expm1(-safe) / safe, 1.0)
    lasting: FloatArray = np.exp(-slow * time) * time * share
    return lasting


def decayed_thrice(one: ArrayLike, other: ArrayLike, third: ArrayLike, days: ArrayLike) -> FloatArray:
    """Return the same over three rates: what a unit has become two steps on, over both steps' rates; in days²."""
    *rates, time = np.broadcast_arrays(*(np.asarray(value, dtype=np.float64) for value in (one, other, third, days)))
    low, middle, high = np.sort(np.stack(rates), axis=0)
    wide = (high - low) * time >= 1.0
    gap = np.where(wide, high - low, 1.0)
    far = (decayed_twice(low, middle, time) - decayed_twice(middle, high, time)) / gap
    # rates close to each other: about the lowest, sum over n of (-days)^n h_n(differences) * 2 / (n + 2)!
    a, b = np.where(wide, 0.0, (middle - low) * time), np.where(wide, 0.0, (high - low) * time)
    total, complete, power, factorial = np.ones_like(a), np.ones_like(a), np.ones_like(a), 2.0
    for n in range(1, _TERMS):
        power = power * a
        complete = complete * b + power  # h_n(a, b) = b h_(n-1)(a, b) + a^n
        factorial *= n + 2
        total += (-1) ** n * complete * (2.0 / factorial)
    near = np.exp(-low * time) * time**2 / 2 * total
    return np.where(wide, far, near)
