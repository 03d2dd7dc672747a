"""Whether what a label declares can be in the bag at all: its parts must not weigh more than the whole.

Percentages of oxides do not simply add up (potassium chloride is 63 % K2O and 48 % Cl), so each declaration is counted
at the least that it must weigh: nitrate nitrogen as nitrate, oxides of metals as the metal.
"""

from __future__ import annotations

from collections.abc import Mapping

from littoral.chemistry.label_names import DECLARED, LabelError
from littoral.chemistry.weights import element_share

# The lightest form that a declared nutrient comes in: phosphorus as phosphite, ammonium as ammonia, sulphur that is
# declared as SO3 or SO4 as sulphate, declared as S as the element.
_LIGHTEST = {"nitrate": "NO3", "ammonium": "NH3", "urea": "CH4N2O", "phosphate": "PO3"}
_SULPHATE = ("SO3", "SO4")


def least_mass(name: str, percent: float) -> tuple[str, float]:
    """Return the form that a declaration is counted as, and the least percent of the whole that it weighs."""
    declared = DECLARED[name]
    form = _LIGHTEST.get(declared.nutrient, declared.element)
    if name in _SULPHATE:
        form = "SO4"
    element = percent * element_share(declared.formula, declared.element)
    return form, element / element_share(form, declared.element)


def check_mass(used: Mapping[str, tuple[float, float]], *, most_percent: float) -> None:
    """Refuse a label whose parts must weigh more than `most_percent`, beyond the rounding of its digits.

    `used` maps each declaration to its percent and half a unit of its last digit. Raises LabelError with the sum.
    """
    for name, (percent, _) in used.items():
        if percent > most_percent * (1 + 1e-9):
            reason = f"{percent:g} % {name} is over {most_percent:g} %"
            raise LabelError(entry=name, reason=reason, right="Look for a slipped decimal point, or give the density.")
    parts = [least_mass(name, percent) for name, (percent, _) in used.items()]
    slack = sum(least_mass(name, half)[1] for name, (_, half) in used.items())
    total = sum(mass for _, mass in parts)
    # a slack beyond the digits must not hide a slip: whole numbers count as exact where many stand side by side
    if total > most_percent + min(slack, 1.0) + 1e-9:
        told = " + ".join(f"{mass:.4g} {form}" for form, mass in parts)
        reason = f"what is declared weighs at least {told} = {total:.4g} %, which is over {most_percent:g} %"
        right = "Look for a slipped decimal point, for mg/L taken as percent, or for NO3 taken as NO3-N."
        raise LabelError(entry="sum", reason=reason, right=right)
