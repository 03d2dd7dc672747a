"""Saturation indices of a stock or a water from PHREEQC, where it is installed (phreeqpython, optional).

The index is log10 of the ion product over the solubility product: above 0 a mineral may fall out. Database phreeqc.dat,
whose activities are good to an ionic strength of about 1 mol/kg; stronger stocks are computed but said to be beyond.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.stock import StockError, check_ph
from littoral.errors import LittoralError
from littoral.quantities.check_row import CheckRow, Verdict

VALID_TO_MOL_PER_KG = 1.0
# What PHREEQC calls each nutrient; chelated metals must be left out by the caller, since a chelate holds them.
_MASTER = {
    "nitrate": "N(5)",
    "ammonium": "N(-3)",
    "phosphate": "P",
    "potassium": "K",
    "calcium": "Ca",
    "magnesium": "Mg",
    "sulphate": "S(6)",
    "chloride": "Cl",
    "sodium": "Na",
    "bicarbonate": "C(4)",
    "iron": "Fe",
    "manganese": "Mn",
    "boron": "B",
    "zinc": "Zn",
    "copper": "Cu",
    "silicate": "Si",
}
# Minerals that fall out by themselves and can be seen, with the words for them. Brushite is added to the database:
# log K -6.59 at 25 °C (Gregory, Moreno & Brown 1970, from memory).
VISIBLE = {
    "Gypsum": "gypsum, calcium sulphate",
    "Calcite": "calcite, calcium carbonate",
    "Brushite": "calcium hydrogen phosphate",
    "Vivianite": "vivianite, iron(II) phosphate",
    "Siderite": "iron(II) carbonate",
    "Rhodochrosite": "manganese carbonate",
    "Smithsonite": "zinc carbonate",
}
APATITE = "Hydroxyapatite"
_BRUSHITE = """PHASES
Brushite
    CaHPO4:2H2O = Ca+2 + HPO4-2 + 2H2O
    log_k -6.59
END
"""


class NoPhreeqcError(LittoralError):
    """PHREEQC is not installed."""

    def __init__(self) -> None:
        super().__init__(
            "Saturation indices need PHREEQC. Install the package phreeqpython; without it the rules of thumb stand."
        )


@dataclass(frozen=True, slots=True)
class Saturation:
    """`index` by mineral (log10, no unit), and the ionic strength in mol/kg."""

    index: Mapping[str, float]
    ionic_strength_mol_per_kg: float
    ph: float
    celsius: float


def phreeqc_is_there() -> bool:
    """Whether saturation indices can be computed here."""
    try:
        _phreeqc()
    except NoPhreeqcError:
        return False
    return True


def saturation(mg_per_l: Mapping[str, float], *, ph: float, celsius: float = 20.0) -> Saturation:
    """Return saturation indices of a solution from its free ions in mg/L by nutrient, at a pH and a temperature in °C.

    Charge is not balanced: what a chelate or a buffer brings is not known here. Iron counts as iron(II) at pe 4.
    Urea, molybdenum, cobalt and nickel are left out: the database has no mineral of them.
    Raises NoPhreeqcError; StockError for a pH outside 0 to 14 or a temperature outside 0 to 60 °C.
    """
    check_ph(ph)
    if not (math.isfinite(celsius) and 0 <= celsius <= 60):
        raise StockError(what=f"{celsius:g} °C", right="Give a temperature from 0 to 60 °C.")
    given = {
        _MASTER[key]: value / NUTRIENTS[key].weight for key, value in mg_per_l.items() if key in _MASTER and value > 0
    }
    solution = _phreeqc().add_solution({"units": "mmol/L", "temp": celsius, "pH": ph, "pe": 4} | given)
    try:
        index = {name: float(solution.si(name)) for name in (*VISIBLE, APATITE)}
        strength = float(solution.I)
    finally:
        solution.forget()
    # -999 is PHREEQC's word for "its elements are not in here"
    there = {name: value for name, value in index.items() if value > -99}
    return Saturation(there, strength, ph, celsius)


def saturation_rows(mg_per_l: Mapping[str, float], *, ph: float, celsius: float = 20.0) -> tuple[CheckRow, ...]:
    """Return a row for each mineral whose elements are in a solution: index against 0. Raises as `saturation`.

    Above 0 it fails, within 0.3 below it warns (the spread of databases; common practice, no source).
    Hydroxyapatite alone never fails: water is supersaturated with it for months without a visible precipitate.
    """
    found = saturation(mg_per_l, ph=ph, celsius=celsius)
    source = f"PHREEQC, phreeqc.dat, {celsius:g} °C, pH {ph:g}, ionic strength {found.ionic_strength_mol_per_kg:.2g}"
    beyond = ""
    if found.ionic_strength_mol_per_kg > VALID_TO_MOL_PER_KG:
        beyond = " The solution is stronger than the model is made for (about 1 mol/kg): take it as a hint."
    rows = []
    for name, value in found.index.items():
        verdict: Verdict
        if name == APATITE:
            verdict = "holds"
            comment = (
                "Hydroxyapatite alone is no precipitation: it hardly forms by itself. See the row of its sour kin."
            )
            if value <= 0:
                comment = "Not even hydroxyapatite is supersaturated."
        elif value > 0:
            verdict, comment = "fails", f"May fall out as {VISIBLE[name]}: make two bottles, or a weaker one."
        else:
            verdict = "warns" if value > -0.3 else "holds"
            comment = (
                "Close to falling out; cold or a change of pH may do it." if verdict == "warns" else "Stays clear."
            )
        rows.append(CheckRow(f"saturation index of {name}", value, "<=", 0.0, "", verdict, comment + beyond, source))
    return tuple(rows)


@cache
def _phreeqc() -> Any:  # phreeqpython ships no types
    try:
        from phreeqpython import PhreeqPython  # type: ignore[import-untyped]  # late and optional: 0.3 s
    except ImportError:
        raise NoPhreeqcError from None
    engine = PhreeqPython(database="phreeqc.dat")
    engine.ip.run_string(_BRUSHITE)
    return engine
