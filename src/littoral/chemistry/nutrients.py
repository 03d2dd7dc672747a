"""The nutrients and ions that Littoral keeps account of, and their names.

Inside, every content or level is a mapping from a nutrient key to a mass *of the ion named here* (nitrate as NO3,
phosphate as PO4, potassium as K). This is the only vocabulary; elements are a view of it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from littoral.chemistry.weights import element_share, formula_weight
from littoral.speech.say import later


@dataclass(frozen=True, slots=True)
class Nutrient:
    """One ion or nutrient: `symbol` is what a reader sees, `formula` what is weighed, `element` what a plant takes."""

    key: str
    name: str
    symbol: str
    formula: str
    element: str

    @property
    def weight(self) -> float:
        """Formula weight, g/mol."""
        return formula_weight(self.formula)

    @property
    def element_share(self) -> float:
        """Mass fraction (0 to 1) of the element in the ion: 0.2259 for N in NO3."""
        return element_share(self.formula, self.element)


NUTRIENTS: dict[str, Nutrient] = {
    nutrient.key: nutrient
    for nutrient in (
        Nutrient("nitrate", later("nitrate"), "NO₃⁻", "NO3", "N"),
        Nutrient("nitrite", later("nitrite"), "NO₂⁻", "NO2", "N"),
        Nutrient("ammonium", later("ammonium"), "NH₄⁺", "NH4", "N"),
        Nutrient("urea", later("urea"), "CO(NH₂)₂", "CH4N2O", "N"),
        Nutrient("phosphate", later("phosphate"), "PO₄³⁻", "PO4", "P"),
        Nutrient("potassium", later("potassium"), "K⁺", "K", "K"),
        Nutrient("calcium", later("calcium"), "Ca²⁺", "Ca", "Ca"),
        Nutrient("magnesium", later("magnesium"), "Mg²⁺", "Mg", "Mg"),
        Nutrient("sulphate", later("sulphate"), "SO₄²⁻", "SO4", "S"),
        Nutrient("chloride", later("chloride"), "Cl⁻", "Cl", "Cl"),
        Nutrient("sodium", later("sodium"), "Na⁺", "Na", "Na"),
        # Alkalinity: carbonate counts as two of these, since it takes up CO2 in the water.
        Nutrient("bicarbonate", later("bicarbonate"), "HCO₃⁻", "HCO3", "C"),
        Nutrient("iron", later("iron"), "Fe", "Fe", "Fe"),
        Nutrient("manganese", later("manganese"), "Mn", "Mn", "Mn"),
        Nutrient("boron", later("boron"), "B", "B", "B"),
        Nutrient("zinc", later("zinc"), "Zn", "Zn", "Zn"),
        Nutrient("copper", later("copper"), "Cu", "Cu", "Cu"),
        Nutrient("molybdenum", later("molybdenum"), "Mo", "Mo", "Mo"),
        Nutrient("cobalt", later("cobalt"), "Co", "Co", "Co"),
        Nutrient("nickel", later("nickel"), "Ni", "Ni", "Ni"),
        Nutrient("silicate", later("silicate"), "SiO₂", "SiO2", "Si"),
    )
}


def element_view(content: Mapping[str, float]) -> dict[str, float]:
    """Return the mass of each element in a content, by symbol, in the content's own unit (mg, mg/L, mg/mL...).

    Nitrogen is the sum of nitrate, nitrite, ammonium and urea. Bicarbonate is left out: it stands for alkalinity, and
    half of its carbon may come from the air. KeyError for a key that is not in NUTRIENTS.
    """
    elements: dict[str, float] = {}
    for key, amount in content.items():
        nutrient = NUTRIENTS[key]
        if key != "bicarbonate":
            elements[nutrient.element] = elements.get(nutrient.element, 0.0) + amount * nutrient.element_share
    return elements
