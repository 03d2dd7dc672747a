"""Which nutrients a formula brings, read from its groups: nitrate, ammonium, phosphate, sulphate, carbonate, metals."""

from __future__ import annotations

import re

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.weights import FormulaError, composition, normal_formula

# Longest first, so that HCO3 is not read as CO3. Carbonate counts twice: it takes up carbon dioxide in the water.
_GROUPS: dict[str, tuple[str, int]] = {
    "H2PO4": ("phosphate", 1),
    "HPO4": ("phosphate", 1),
    "HCO3": ("bicarbonate", 1),
    "NO3": ("nitrate", 1),
    "NO2": ("nitrite", 1),
    "NH4": ("ammonium", 1),
    "PO4": ("phosphate", 1),
    "SO4": ("sulphate", 1),
    "CO3": ("bicarbonate", 2),
    "SiO3": ("silicate", 1),
}
_GROUP = re.compile(rf"\(({'|'.join(_GROUPS)})\)([0-9]*)|({'|'.join(_GROUPS)})(?![0-9])")
_ATOM = re.compile(r"([A-Z][a-z]?)([0-9]*)")
_UREA = {"CH4N2O", "CO(NH2)2", "(NH2)2CO"}
_OF_ELEMENT = {n.element: key for key, n in NUTRIENTS.items() if n.formula == n.element} | {"Si": "silicate"}


def ions_of_formula(formula: str) -> dict[str, int]:
    """Return how many of each nutrient (a count) one formula unit brings, read from an inorganic formula's groups.

    "Fe(NO3)3·9H2O" is one iron and three nitrate. Hydrogen, oxygen and water bring nothing. What cannot be told from
    the formula (carbon or nitrogen outside the groups, an element that is no nutrient here) is refused: give the ions
    yourself then. Raises FormulaError.
    """
    whole = normal_formula(formula)
    composition(whole)  # refuses what is no formula
    ions: dict[str, int] = {}
    for part in whole.split("·"):
        times = re.match(r"[0-9]*", part)
        assert times is not None
        count, bare = int(times[0] or 1), part[times.end() :]
        if bare in _UREA:
            ions["urea"] = ions.get("urea", 0) + count
            continue
        left = bare
        for group in _GROUP.finditer(bare):
            key, per_group = _GROUPS[group[1] or group[3]]
            ions[key] = ions.get(key, 0) + count * per_group * int(group[2] or 1)
            left = left.replace(group[0], " ", 1)
        for symbol, number in _ATOM.findall(left):
            if symbol in ("H", "O"):
                continue
            if symbol not in _OF_ELEMENT or "(" in left:
                right = "say yourself which nutrients it brings, or enter it by its label"
                raise FormulaError(formula, f"what its {symbol} is cannot be told from the formula; {right}")
            key = _OF_ELEMENT[symbol]
            ions[key] = ions.get(key, 0) + count * int(number or 1)
    return ions
