"""Substances of a person's own: by formula, by label, and what is refused."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.chemistry.formula_ions import ions_of_formula
from littoral.chemistry.labels import LabelError
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.own_substances import (
    OwnSubstanceError,
    is_formula,
    own_by_formula,
    own_by_label,
    substance,
)
from littoral.chemistry.salts import UnknownSaltError, salt, salts
from littoral.chemistry.weights import FormulaError


def test_by_formula() -> None:
    own = own_by_formula("Fe(NO3)3.9H2O", name="iron nitrate", aliases=["ferric nitrate"], purity=0.98)
    assert own.formula == "Fe(NO3)3·9H2O"
    assert own.content_mg_per_g["iron"] == pytest.approx(0.98 * 138.23, rel=1e-4)  # 13.823 % Fe
    assert set(own.content_mg_per_g) == {"iron", "nitrate"}
    for text in ("iron nitrate", "Iron  Nitrate", "ferric nitrate", "Fe(NO3)3·9H2O", "fe(no3)3 9H2O"):
        assert substance(text, [own]) is own
    assert substance("KNO3", [own]) is salt("KNO3")
    assert "not known here" in own.hazard_text


def test_by_formula_is_as_the_table_has_it() -> None:
    for formula in ("KNO3", "MgSO4·7H2O", "(NH4)6Mo7O24·4H2O", "Ca(H2PO4)2·H2O", "K2CO3"):
        assert dict(own_by_formula(formula).content_mg_per_g) == pytest.approx(salts()[formula].content_mg_per_g)


def test_by_label() -> None:
    own = own_by_label("potash", {"K2O": 50.0, "SO3": 45.0}, aliases=["SOP"])
    assert own.content_mg_per_g["potassium"] == pytest.approx(415.1, abs=0.1)
    assert substance("sop", [own]) is own
    with pytest.raises(LabelError):
        own_by_label("potash", {"K2O": 130.0})
    with pytest.raises(OwnSubstanceError, match="it has no name"):
        own_by_label(" ", {"K2O": 50.0})


@pytest.mark.parametrize(
    ("formula", "ions", "purity", "message"),
    [
        ("KNO3", None, 0.0, "a purity of 0"),
        ("KNO3", None, math.nan, "a purity of nan"),
        ("KNO3", {"calcium": 1}, 1.0, "1 calcium in KNO3, which holds 0 Ca"),
        ("KNO3", {"kryptonite": 1}, 1.0, '"kryptonite" is no nutrient'),
        ("KNO3", {"potassium": -1}, 1.0, "-1 potassium"),
    ],
)
def test_what_cannot_be(formula: str, ions: dict[str, int] | None, purity: float, message: str) -> None:
    with pytest.raises(OwnSubstanceError) as refusal:
        own_by_formula(formula, purity=purity, ions=ions)
    assert message in str(refusal.value)


@pytest.mark.parametrize("formula", ["KAl(SO4)2·12H2O", "C6H12O6", "KI", "N2H4", "Ca(OH)2"])
def test_what_a_formula_does_not_show(formula: str) -> None:
    with pytest.raises(FormulaError, match="cannot be told from the formula"):
        ions_of_formula(formula)


def test_a_chelate_with_its_ions_said() -> None:
    own = own_by_formula("C10H12MgN2Na2O8", name="Mg-EDTA", ions={"magnesium": 1, "sodium": 2}, chelate=True)
    assert own.content_mg_per_g["magnesium"] * NUTRIENTS["magnesium"].element_share == pytest.approx(67.8, abs=0.1)


def test_an_unknown_name_may_be_a_formula() -> None:
    with pytest.raises(UnknownSaltError):
        substance("Fe(NO3)3·9H2O")
    assert is_formula("Fe(NO3)3·9H2O")
    assert not is_formula("green powder")


@given(st.text(alphabet="KNO3()·HCaSP4gF2e1M", max_size=12))
def test_any_formula_is_read_or_refused(text: str) -> None:
    try:
        own = own_by_formula(text)
    except (FormulaError, OwnSubstanceError):
        return
    assert all(mg > 0 for mg in own.content_mg_per_g.values())
