"""Writing a label: from mg of each nutrient back to the percentages that an EU or a US label declares."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from littoral.chemistry.label_names import DECLARED, MICRONUTRIENTS, LabelError
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.weights import element_share

Convention = Literal["EU oxides", "EU elements", "US"]
_NITROGEN = {"nitrate": "NO3-N", "ammonium": "NH4-N", "urea": "urea-N"}
_OXIDES = {
    "phosphate": "P2O5",
    "potassium": "K2O",
    "calcium": "CaO",
    "magnesium": "MgO",
    "sodium": "Na2O",
    "sulphate": "SO3",
}


def declared_of_content(
    content_mg_per_ml: Mapping[str, float],
    *,
    convention: Convention,
    by: Literal["mass", "volume"],
    density_kg_per_l: float | None = None,
) -> dict[str, float]:
    """Return the percentages that a label of this content declares, in a label's order; not rounded.

    "EU oxides" and "EU elements": N with its forms, P, K, Ca, Mg, Na, S, micronutrients. "US": phosphate and potash as
    oxides, the rest as elements. Nitrite and bicarbonate are not declared. By mass needs the density in kg/L.
    Raises LabelError without it.
    """
    if by == "mass" and density_kg_per_l is None:
        right = "Weigh 100 mL: grams divided by 100 is kg/L."
        raise LabelError(entry="density", reason="mg per mL cannot become percent by mass without it", right=right)
    per_percent = 10.0 * (density_kg_per_l or 1.0) if by == "mass" else 10.0
    element = {key: mg / per_percent * NUTRIENTS[key].element_share for key, mg in content_mg_per_ml.items() if mg > 0}
    forms = {name: element[key] for key, name in _NITROGEN.items() if key in element}
    declared: dict[str, float] = {"N": sum(forms.values())} | forms if forms else {}
    for key, oxide in _OXIDES.items():
        if key in element:
            as_oxide = convention == "EU oxides" or (convention == "US" and key in ("phosphate", "potassium"))
            name = oxide if as_oxide else NUTRIENTS[key].element
            declared[name] = element[key] / element_share(DECLARED[name].formula, DECLARED[name].element)
    for key in ("chloride", "silicate", *MICRONUTRIENTS):
        if key in element:
            name = "SiO2" if key == "silicate" and convention == "EU oxides" else NUTRIENTS[key].element
            declared[name] = element[key] / element_share(DECLARED[name].formula, DECLARED[name].element)
    return declared
