"""Alkalinity that is not carbonate: what phosphate, boron, silicate and ammonia add to a KH test.

A test titrates to about pH 4.5, so each counts by the protons it takes up between the water's pH and there. Constants
at 25 °C, no activities (Stumm & Morgan 1996, from memory): good to about a tenth of these small amounts. Humic and
other organic acids (peat, wood, active soils) are alkalinity too, but cannot be computed from a test.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.water_errors import require_levels, require_ph
from littoral.quantities.derivation import Step

END_PH = 4.5
_CONSTANTS: dict[str, tuple[tuple[float, ...], str]] = {
    "phosphate": ((2.148, 7.199, 12.35), "H3PO4, H2PO4-, HPO4-2"),
    "boron": ((9.24,), "B(OH)3"),
    "silicate": ((9.83,), "H4SiO4"),
    "ammonium": ((9.245,), "NH4+"),
}
SOURCE = "pKa at 25 °C, Stumm & Morgan 1996 (from memory)"


@dataclass(frozen=True, slots=True)
class OtherAlkalinity:
    """The alkalinity in meq/L that is not carbonate, by nutrient, and how it came about."""

    meq_per_l: Mapping[str, float]
    steps: tuple[Step, ...]

    @property
    def total_meq_per_l(self) -> float:
        """Sum, meq/L."""
        return sum(self.meq_per_l.values())


def other_alkalinity(level_mg_per_l: Mapping[str, float], *, ph: float) -> OtherAlkalinity:
    """Return the alkalinity that phosphate, boron, silicate and ammonia add at a pH, from levels in mg/L by nutrient.

    Source and accuracy: module docstring. Raises WaterError.
    """
    require_levels(level_mg_per_l)
    require_ph(ph)
    meq, steps = {}, []
    for key, (pkas, acid) in _CONSTANTS.items():
        level = level_mg_per_l.get(key, 0.0)
        if level == 0.0:
            continue
        mmol = level / NUTRIENTS[key].weight
        taken_up = _protons_lost(ph, pkas) - _protons_lost(min(ph, END_PH), pkas)
        meq[key] = mmol * taken_up
        formula = (
            f"{level:g} mg/L / {NUTRIENTS[key].weight:.3f} g/mol x {taken_up:.3f} protons from {acid} down to pH 4.5"
        )
        steps.append(Step(f"alkalinity of {key}", formula, f"{meq[key]:.4f} meq/L", SOURCE))
    return OtherAlkalinity(meq, tuple(steps))


def _protons_lost(ph: float, pkas: tuple[float, ...]) -> float:
    """Mean protons that the fullest acid has given off at a pH."""
    weights, running = [1.0], 0.0
    for pka in pkas:
        running += ph - pka
        weights.append(10.0**running)
    return sum(lost * weight for lost, weight in enumerate(weights)) / sum(weights)
