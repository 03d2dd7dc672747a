"""Hardness and alkalinity of a water from its ions."""

from __future__ import annotations

from collections.abc import Mapping

from littoral.chemistry.nutrients import NUTRIENTS


def hardness_of_ions_mmol_per_l(level_mg_per_l: Mapping[str, float]) -> float:
    """Return the general hardness, mmol/L: calcium plus magnesium, from levels in mg/L by nutrient. Missing is zero."""
    return sum(level_mg_per_l.get(key, 0.0) / NUTRIENTS[key].weight for key in ("calcium", "magnesium"))


def alkalinity_of_ions_meq_per_l(level_mg_per_l: Mapping[str, float]) -> float:
    """Return the carbonate alkalinity, meq/L, from the bicarbonate level in mg/L. Missing is zero.

    Below pH 8.3 bicarbonate is nearly all of it; phosphate, borate and humic acids, which a test also catches, are not
    counted.
    """
    return level_mg_per_l.get("bicarbonate", 0.0) / NUTRIENTS["bicarbonate"].weight
