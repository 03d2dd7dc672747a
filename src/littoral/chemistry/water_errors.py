"""The one error of the water computations, and the check that raises it."""

from __future__ import annotations

import math
from collections.abc import Mapping

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.errors import LittoralError


class WaterError(LittoralError):
    """A water cannot be as described, or lies outside what a formula holds for; `right` says what would do."""

    def __init__(self, *, what: str, right: str) -> None:
        self.what = what
        self.right = right
        super().__init__(f"water: {what}. {right}")


def require(value: float, *, what: str, low: float, high: float, unit: str = "", why: str = "") -> float:
    """Return the value, in its own unit, where it lies from `low` to `high`; otherwise raise WaterError saying so.

    NaN and infinity are never in range. `why` names the reason for the range, such as the formula's validity.
    """
    if math.isfinite(value) and low <= value <= high:
        return value
    space = f" {unit}" if unit else ""
    given = f"{what} is {value:g}{space}" if math.isfinite(value) else f"{what} is no number"
    if math.isinf(high):
        right = f"Give {low:g}{space} or more."
    else:
        right = f"Give {low:g} to {high:g}{space}{f': {why}' if why else ''}."
    raise WaterError(what=given, right=right)


def require_ph(ph: float) -> float:
    """Return the pH (no unit) where it lies in 0 to 14; otherwise raise WaterError."""
    return require(ph, what="the pH", low=0.0, high=14.0)


def require_levels(level_mg_per_l: Mapping[str, float]) -> None:
    """Check that levels, mg/L by nutrient, are of known nutrients and zero or more. Raises WaterError."""
    for key, level in level_mg_per_l.items():
        if key not in NUTRIENTS:
            known = ", ".join(NUTRIENTS)
            raise WaterError(what=f'"{key[:40]}" is nothing Littoral keeps account of', right=f"Use one of: {known}.")
        require(level, what=f"the level of {key}", low=0.0, high=math.inf, unit="mg/L")
