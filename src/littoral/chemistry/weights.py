"""Formula weights and element shares, from molmass (standard atomic weights of IUPAC/CIAAW)."""

from __future__ import annotations

import re
from functools import cache
from typing import Any

from littoral.errors import LittoralError

LONGEST_FORMULA = 80  # characters; nothing a keeper weighs out needs more, and it bounds the parser's work
_DOTS = re.compile(r"\s*[·•∙⋅*.]\s*|\s+(?=\d*H2O$)")
_PLAIN = re.compile(r"[A-Z(][A-Za-z0-9()]*(·[0-9]*[A-Z(][A-Za-z0-9()]*)*", re.ASCII)
_SMALL_DIGITS = str.maketrans("₀₁₂₃₄₅₆₇₈₉", "0123456789")


class FormulaError(LittoralError):
    """A text is not a chemical formula."""

    def __init__(self, formula: str, reason: str) -> None:
        self.formula = formula
        self.reason = reason
        super().__init__(f'"{formula[:LONGEST_FORMULA]}" is not a formula: {reason}. Write it like KNO3 or MgSO4·7H2O.')


def normal_formula(text: str) -> str:
    """Return a formula as Littoral writes it: plain digits, and "·" before water of crystallisation.

    "MgSO4.7H2O", "MgSO4*7H2O", "MgSO4 7H2O" and "MgSO₄•7H₂O" all become "MgSO4·7H2O". No unit. Raises nothing.
    """
    return _DOTS.sub("·", text.strip().translate(_SMALL_DIGITS))


@cache
def composition(formula: str) -> dict[str, int]:
    """Return how many atoms (count) of each element one formula unit holds. Raises FormulaError."""
    return {symbol: item.count for symbol, item in _read(formula).composition().items()}


@cache
def formula_weight(formula: str) -> float:
    """Return the formula weight in g/mol. The mass of missing electrons in an ion is neglected (below 3e-5 of it).

    Raises FormulaError where the text is not a formula.
    """
    return float(_read(formula).mass)


@cache
def element_share(formula: str, element: str) -> float:
    """Return the mass fraction (0 to 1) of an element, by its symbol, in a formula; 0 where it is absent.

    Raises FormulaError where either is not a formula.
    """
    atoms = composition(formula).get(element, 0)
    return atoms * formula_weight(element) / formula_weight(formula)


def _read(formula: str) -> Any:  # molmass ships no types
    from molmass import Formula  # late: 40 ms
    from molmass import FormulaError as Refused

    normal = normal_formula(formula)
    if len(formula) > LONGEST_FORMULA:
        raise FormulaError(formula, f"it is longer than {LONGEST_FORMULA} characters")
    if _PLAIN.fullmatch(normal) is None:  # no charges, isotopes, arithmetic or mass fractions, which molmass reads too
        raise FormulaError(formula, "it holds more or less than elements, numbers, round brackets and water")
    try:
        read = Formula(normal.replace("·", "."), parse_groups=False, parse_oligos=False)
        read.composition()
    except (Refused, ValueError, IndexError, KeyError) as refusal:
        raise FormulaError(formula, str(refusal).splitlines()[0]) from refusal
    return read
