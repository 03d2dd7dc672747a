"""What may stand on a fertiliser label, under the names of EU and US labels, and what such a name leaves open.

EU: Regulation (EC) 2003/2003 Art. 19 and (EU) 2019/1009 Annex III: N, P2O5, K2O, then CaO, MgO, Na2O, SO3, each as
oxide or element; nitrogen by its form; micronutrients as elements, "chelated by" an agent. US: total nitrogen,
available phosphate (P2O5), soluble potash (K2O), the rest as elements (AAPFCO Uniform State Fertilizer Bill, from
memory).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.errors import LittoralError


@dataclass(frozen=True, slots=True)
class Declared:
    """One way to declare a nutrient on a label: the percentage is of `formula`, counted by its `element`."""

    nutrient: str
    formula: str
    element: str


class LabelError(LittoralError):
    """A label cannot be true, or does not say enough; `entry` names the declaration, `reason` and `right` the rest."""

    def __init__(self, *, entry: str, reason: str, right: str) -> None:
        self.entry = entry
        self.reason = reason
        self.right = right
        super().__init__(f"label, {entry}: {reason}. {right}")


METALS = ("iron", "manganese", "zinc", "copper", "cobalt", "calcium", "magnesium")
MICRONUTRIENTS = ("iron", "manganese", "boron", "zinc", "copper", "molybdenum", "cobalt", "nickel")
# What may stand on a label. Elements, oxides and ions of one nutrient are the same nutrient.
DECLARED: dict[str, Declared] = {
    name: Declared(nutrient, formula, NUTRIENTS[nutrient].element)
    for nutrient, names in {
        "nitrate": {"NO3-N": "N", "N-NO3": "N", "NO3": "NO3"},
        "ammonium": {"NH4-N": "N", "N-NH4": "N", "NH4": "NH4"},
        "urea": {"urea-N": "N", "N-urea": "N", "urea": "CH4N2O"},
        "phosphate": {"P2O5": "P2O5", "P": "P", "PO4": "PO4"},
        "potassium": {"K2O": "K2O", "K": "K"},
        "calcium": {"CaO": "CaO", "Ca": "Ca"},
        "magnesium": {"MgO": "MgO", "Mg": "Mg"},
        "sulphate": {"SO3": "SO3", "S": "S", "SO4": "SO4"},
        "sodium": {"Na2O": "Na2O", "Na": "Na"},
        "chloride": {"Cl": "Cl"},
        "silicate": {"SiO2": "SiO2", "Si": "Si"},
        **{key: {NUTRIENTS[key].formula: NUTRIENTS[key].formula} for key in MICRONUTRIENTS},
    }.items()
    for name, formula in names.items()
}
NITROGEN_FORMS = ("nitrate", "ammonium", "urea")
TOTAL_NITROGEN = "N"

# Words of labels for the same, in lower case; "total", "available", "soluble" and a symbol in brackets are taken off.
_WORDS: dict[str, str] = {
    "nitrogen": "N",
    "nitrate nitrogen": "NO3-N",
    "nitric nitrogen": "NO3-N",
    "ammoniacal nitrogen": "NH4-N",
    "ammonium nitrogen": "NH4-N",
    "urea nitrogen": "urea-N",
    "ureic nitrogen": "urea-N",
    "available phosphate": "P2O5",
    "available phosphoric acid": "P2O5",
    "phosphorus pentoxide": "P2O5",
    "phosphorus": "P",
    "potash": "K2O",
    "potassium oxide": "K2O",
    "potassium": "K",
    "calcium": "Ca",
    "calcium oxide": "CaO",
    "magnesium": "Mg",
    "magnesium oxide": "MgO",
    "sulphur": "S",
    "sulfur": "S",
    "sulphur trioxide": "SO3",
    "sulfur trioxide": "SO3",
    "sodium": "Na",
    "sodium oxide": "Na2O",
    "chlorine": "Cl",
    "chloride": "Cl",
    "silicon": "Si",
} | {NUTRIENTS[key].name: NUTRIENTS[key].formula for key in MICRONUTRIENTS}
# Names that mean one thing to a chemist and another on a label, a factor of 2 to 4 apart.
_OPEN: dict[str, tuple[str, ...]] = {
    "phosphate": ("P2O5", "PO4", "P"),
    "nitrate": ("NO3-N", "NO3"),
    "ammonium": ("NH4-N", "NH4"),
    "ammonia": ("NH4-N", "NH4"),
    "sulphate": ("SO3", "SO4", "S"),
    "sulfate": ("SO3", "SO4", "S"),
    "silica": ("SiO2", "Si"),
    "npk": ("N", "P2O5", "K2O"),
}
_QUALIFIERS = re.compile(r"^(total|water[- ]soluble|soluble)\s+")
_BRACKET = re.compile(r"\s*\(([A-Za-z0-9-]+)\)$")
_CHELATED = re.compile(r"([A-Z][a-z]?)(?:[\s-]*\(?\s*(?:chelated\s+by\s+)?)([A-Z]{3,6}(?:-?[A-Z]{2,4})?)\)?", re.ASCII)
AGENTS = ("EDTA", "DTPA", "HEDTA", "HEEDTA", "EDDHA", "EDDHMA", "EDDHSA", "HBED", "IDHA", "EDDS")
_KNOWN = {name.casefold(): name for name in (*DECLARED, TOTAL_NITROGEN)}


def declared_name(written: str) -> str:
    """Return the declaration that a name on a label means: a key of DECLARED, or "N".

    "Available Phosphate (P2O5)" is P2O5, "Soluble potash" K2O, "nitric nitrogen" NO3-N. Upper and lower case are alike
    where they can be. Names that leave open what is counted ("phosphate") are refused with the choices.
    Raises LabelError.
    """
    if written in DECLARED or written == TOTAL_NITROGEN:
        return written
    text = " ".join(written.split())
    bracket = _BRACKET.search(text)
    if bracket is not None and bracket[1].casefold() in _KNOWN:
        return _KNOWN[bracket[1].casefold()]
    folded = text.casefold()
    if folded in _KNOWN:
        return _KNOWN[folded]
    for name in (folded, _QUALIFIERS.sub("", folded)):
        if name in _WORDS:
            return _WORDS[name]
        if name in _OPEN:
            right = f"Write what the label counts: {' or '.join(_OPEN[name])}."
            raise LabelError(entry=written[:40], reason="it leaves open what is counted", right=right)
    right = f"Write one of: N, {', '.join(DECLARED)}."
    raise LabelError(entry=written[:40], reason="it is nothing that a label declares", right=right)


def chelated_name(written: str) -> tuple[str, str] | None:
    """Return the metal (a key of DECLARED) and the chelating agent of "Fe-EDTA" or "Fe (chelated by DTPA)", or None."""
    match = _CHELATED.fullmatch(" ".join(written.split()))
    if match is None or match[1] not in DECLARED or DECLARED[match[1]].nutrient not in METALS:
        return None
    agent = match[2].upper()
    return (match[1], agent) if agent in AGENTS else None
