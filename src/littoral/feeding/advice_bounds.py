"""Bounds drawn closer round what can still beat a pattern that is known: the step from "good" to "proven cheapest".

A cheapest week has many patterns of nearly its price, and the solver's own bound creeps. With one pattern in hand, each
whole number of the programme is bounded by the lowest and highest value that the relaxed rows allow at no higher price
(optimality-based bound tightening: Gleixner, Berthold, Müller, Weltge, J. Global Optim. 67, 2017, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from littoral.feeding.level_response import FloatArray

CLOSE = 1e-6
"""What a relaxed bound may be off by before it is rounded to a whole number, and a price before it counts as higher."""


@dataclass(frozen=True, slots=True, eq=False)
class Programme:
    """A mixed-integer programme as `scipy.optimize.milp` takes it: `constraints` are its LinearConstraint rows."""

    objective: FloatArray
    constraints: list[Any]
    integrality: FloatArray
    lower: FloatArray
    upper: FloatArray


def within(programme: Programme, *, price: float, totals: slice, steps: slice) -> Programme:
    """Return the programme with bounds drawn closer, keeping every solution whose objective is at most `price`.

    `totals` and `steps` are the whole variables to bound: totals from both sides, steps from above. Deterministic.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp  # late: 0.4 s

    lower, upper = programme.lower.copy(), programme.upper.copy()
    no_dearer = LinearConstraint(programme.objective[None, :], -np.inf, price + CLOSE * max(1.0, abs(price)))
    rows = [*programme.constraints, no_dearer]

    def end_of(variable: int, sign: float) -> float | None:
        aim = np.zeros(lower.size)
        aim[variable] = sign
        found = milp(aim, constraints=rows, bounds=Bounds(lower, upper))
        return float(sign * found.fun) if found.status == 0 else None

    for variable in _numbers(totals):
        if (least := end_of(variable, 1.0)) is not None:
            lower[variable] = max(lower[variable], np.ceil(least - CLOSE))
    for variable in (*_numbers(totals), *_numbers(steps)):
        if (most := end_of(variable, -1.0)) is not None:
            upper[variable] = max(lower[variable], min(upper[variable], np.floor(most + CLOSE)))
    return Programme(programme.objective, rows, programme.integrality, lower, upper)


def _numbers(part: slice) -> Sequence[int]:
    return range(part.start, part.stop)
