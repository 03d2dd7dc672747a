"""Formulas: normalising, weights against a second library, and what is refused."""

from __future__ import annotations

import periodictable
import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.chemistry.weights import FormulaError, composition, element_share, formula_weight, normal_formula


@pytest.mark.parametrize(
    "written", ["MgSO4·7H2O", "MgSO4.7H2O", "MgSO4*7H2O", "MgSO4 7H2O", "MgSO₄•7H₂O", " MgSO4 · 7H2O "]
)
def test_every_way_to_write_a_hydrate(written: str) -> None:
    assert normal_formula(written) == "MgSO4·7H2O"
    # 246.466 in CHECKS; the libraries' sulphur differs by 0.01. Reading it as MgSO4.7 + H2O would give 149.58.
    assert formula_weight(written) == pytest.approx(246.47, abs=0.01)


@pytest.mark.parametrize("formula", ["KNO3", "(NH4)2SO4", "C10H12FeN2NaO8", "CH4N2O", "CaCO3", "H3BO3", "NH4", "P2O5"])
def test_weights_against_periodictable(formula: str) -> None:
    assert formula_weight(formula) == pytest.approx(periodictable.formula(formula).mass, rel=2e-4)


def test_composition_counts_atoms() -> None:
    assert composition("Ca(NO3)2·4H2O") == {"Ca": 1, "N": 2, "O": 10, "H": 8}


def test_shares_add_up_to_one() -> None:
    assert sum(element_share("KH2PO4", symbol) for symbol in "KHPO") == pytest.approx(1.0, rel=1e-12)
    assert element_share("KNO3", "P") == 0.0


@pytest.mark.parametrize("text", ["", "  ", "Xx2", "K-NO3", "(KNO3", "H" * 81, "9**9", "KNO3;", "Q"])
def test_what_is_no_formula(text: str) -> None:
    with pytest.raises(FormulaError, match="Write it like KNO3"):
        formula_weight(text)


@given(st.text(alphabet="KNO3()·.*HC[]{}+-^123 aeg", max_size=14))
def test_any_text_weighs_something_or_is_refused(text: str) -> None:
    try:
        weight = formula_weight(text)
    except FormulaError:
        return
    assert weight > 0
