"""Mixing two waters: what a mixture holds, and the share of tap water that reaches a hardness or alkalinity.

Levels, hardness and alkalinity mix in proportion; pH and CO2 do not, and must be computed anew from the mixture.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from littoral.chemistry.water_errors import WaterError, require, require_levels
from littoral.quantities.derivation import Step


@dataclass(frozen=True, slots=True)
class Mixing:
    """How much of each water makes a volume, L, so that a target is reached; `share` (0 to 1) is that of the first."""

    share: float
    first_l: float
    second_l: float
    steps: tuple[Step, ...]


def mix_water(
    first_mg_per_l: Mapping[str, float], second_mg_per_l: Mapping[str, float], *, share_of_first: float
) -> dict[str, float]:
    """Return the levels of a mixture, mg/L by nutrient; `share_of_first` is 0 to 1. What one lacks counts as zero.

    Raises WaterError.
    """
    require_levels(first_mg_per_l)
    require_levels(second_mg_per_l)
    share = require(share_of_first, what="the share", low=0.0, high=1.0)
    keys = dict.fromkeys((*first_mg_per_l, *second_mg_per_l))
    return {key: share * first_mg_per_l.get(key, 0.0) + (1.0 - share) * second_mg_per_l.get(key, 0.0) for key in keys}


def mixing_for(target: float, *, first: float, second: float, volume_l: float, what: str = "hardness") -> Mixing:
    """Return how much of two waters makes `volume_l` litres with a target of anything that mixes in proportion.

    `target`, `first` and `second` in one unit, whichever (dGH, dKH, mg/L); `what` names the quantity in messages.
    Raises WaterError where no mixture reaches the target, or where any would.
    """
    for name, value in (("target", target), ("first water", first), ("second water", second)):
        require(value, what=f"the {what} of the {name}" if name != "target" else what, low=0.0, high=math.inf)
    if not (math.isfinite(volume_l) and volume_l > 0):
        raise WaterError(what=f"a volume of {volume_l:g} L", right="Give the litres to mix, above zero.")
    low, high = sorted((first, second))
    if not low <= target <= high:
        what_is = (
            f"{'an' if what[:1] in 'aeiou' else 'a'} {what} of {target:g} cannot be mixed from {first:g} and {second:g}"
        )
        right = "Salts raise it; purer water lowers it." if target > high else "Take purer water for one of them."
        raise WaterError(what=what_is, right=right)
    if first == second:
        what_is = f"both waters have the same {what}, {first:g}"
        raise WaterError(what=what_is, right="Any mixture has it too; mix for another target.")
    share = (target - second) / (first - second)
    formula = f"({target:g} - {second:g}) / ({first:g} - {second:g})"
    steps = (
        Step(f"share of the first water for {what}", formula, f"{100 * share:.1f} %", f"{what} mixes in proportion"),
        Step("litres of each", f"{volume_l:g} L x {share:.4f}", f"{share * volume_l:.4g} L and the rest", ""),
    )
    return Mixing(share, share * volume_l, (1.0 - share) * volume_l, steps)
