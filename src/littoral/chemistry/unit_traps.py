"""Sentences to show at a field where a unit bites: the same water, two figures, and a factor between them."""

from __future__ import annotations

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.weights import element_share, formula_weight


def unit_trap(nutrient: str) -> str | None:
    """Return what to beware of when a level or content of this nutrient (a key of NUTRIENTS) is typed; None if nothing.

    Factors are computed from formula weights (IUPAC/CIAAW). Raises KeyError for what is no nutrient.
    """
    of = NUTRIENTS[nutrient]
    if nutrient in ("nitrate", "nitrite", "ammonium"):
        plain = of.formula
        return (
            f"Here as {plain}. Laboratories and some tests give nitrogen, {plain}-N: 1 mg/L {plain}-N is "
            f"{1 / of.element_share:.4f} mg/L {plain}. Taking one for the other is wrong by that factor."
        )
    if nutrient == "urea":
        return f"Here as urea, CO(NH2)2. 1 mg of urea nitrogen is {1 / of.element_share:.4f} mg of urea."
    if nutrient == "phosphate":
        p_in_p2o5 = element_share("P2O5", "P")
        return (
            f"Here as PO4. 1 mg/L of phosphorus (P, PO4-P) is {1 / of.element_share:.4f} mg/L PO4. Labels give P2O5: "
            f"1 mg P2O5 is {p_in_p2o5:.4f} mg P and {p_in_p2o5 / of.element_share:.4f} mg PO4."
        )
    if nutrient == "sulphate":
        return f"Here as SO4. 1 mg/L of sulphur (S, SO4-S) is {1 / of.element_share:.4f} mg/L SO4. " + (
            f"Labels may give SO3: 1 mg SO3 is {formula_weight('SO4') / formula_weight('SO3'):.4f} mg SO4."
        )
    if nutrient == "silicate":
        return f"Here as SiO2. 1 mg/L of silicon (Si) is {1 / of.element_share:.4f} mg/L SiO2."
    oxides = {"potassium": "K2O", "calcium": "CaO", "magnesium": "MgO", "sodium": "Na2O"}
    if nutrient in oxides:
        oxide = oxides[nutrient]
        text = f"Here as {of.formula}. Labels may give {oxide}: 1 mg {oxide} is "
        text += f"{element_share(oxide, of.element):.4f} mg {of.formula}."
        if nutrient in ("calcium", "magnesium"):
            per_mg = formula_weight("CaCO3") / of.weight
            text += f" Water reports may give it as CaCO3: 1 mg/L {of.formula} is {per_mg:.4f} mg/L as CaCO3."
        return text
    if nutrient == "bicarbonate":
        as_caco3 = formula_weight("CaCO3") / 2 / of.weight
        return (
            f"Here as HCO3. Alkalinity is often given as CaCO3: 1 mg/L as CaCO3 is {1 / as_caco3:.4f} mg/L HCO3. "
            "A KH test measures all alkalinity, not only bicarbonate."
        )
    if nutrient == "boron":
        share = element_share("H3BO3", "B")
        return f"Here as B, in mg/L; reports often give µg/L. 1 mg of boric acid, H3BO3, is {share:.4f} mg B."
    if nutrient in ("copper", "zinc", "manganese", "iron", "cobalt", "nickel", "molybdenum"):
        return "Here in mg/L. Limits and laboratory reports for metals are often in µg/L: 1 mg/L is 1000 µg/L."
    return None
