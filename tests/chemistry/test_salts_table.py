"""The table of salts: its shape, its sums, and that each row says what its formula says."""

from __future__ import annotations

import pytest

from littoral.chemistry.formula_ions import ions_of_formula
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.salts import Salt, salt, salts
from littoral.chemistry.weights import FormulaError, composition

ROWS = list(salts().values())
NOT_COUNTED = {"C", "H", "O", "I"}  # carbonate is alkalinity; water; iodine is no nutrient here
ORGANIC = {row.formula for row in ROWS if "C" in composition(row.formula) and "bicarbonate" not in row.ions}


def test_shape_and_sums() -> None:
    """A changed cell cannot hide: change these numbers only together with a row, and say why."""
    assert len(ROWS) == 73
    assert sum(sum(row.ions.values()) for row in ROWS) == 189
    assert round(sum(row.weight for row in ROWS), 1) == 17482.6
    assert sum(row.chelate for row in ROWS) == 13
    graded = [row.grade_at_least for row in ROWS if row.grade_at_least is not None]
    assert (len(graded), round(sum(graded), 3)) == (24, 23.62)
    assert sum(len(row.storage) for row in ROWS) == 110
    assert {row.kind for row in ROWS} == {"salt", "acid", "organic", "chelate", "chelating agent", "preservative"}


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.formula)
def test_the_ions_hold_the_elements_of_the_formula(row: Salt) -> None:
    of_ions: dict[str, int] = {}
    for key, count in row.ions.items():
        for symbol, atoms in composition(NUTRIENTS[key].formula).items():
            of_ions[symbol] = of_ions.get(symbol, 0) + atoms * count
    not_counted = NOT_COUNTED | ({"N"} if row.chelate else set())
    of_formula = {symbol: atoms for symbol, atoms in composition(row.formula).items() if symbol not in not_counted}
    assert {symbol: atoms for symbol, atoms in of_ions.items() if symbol not in not_counted} == of_formula


@pytest.mark.parametrize("row", [r for r in ROWS if r.formula not in ORGANIC - {"CH4N2O"}], ids=lambda r: r.formula)
def test_an_inorganic_formula_is_read_as_the_table_says(row: Salt) -> None:
    """Two ways to the ions of a salt: the table's column, and the groups of its formula."""
    if row.formula == "KI":
        with pytest.raises(FormulaError, match="what its I is cannot be told"):
            ions_of_formula(row.formula)
        return
    assert ions_of_formula(row.formula) == dict(row.ions)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.formula)
def test_every_row_is_found_by_its_key_and_fit_to_print(row: Salt) -> None:
    assert salt(row.key) is row
    assert salt(row.short) is row
    assert row.name[0].islower() or row.name[0].isupper()
    assert "see the supplier's safety data sheet" in row.hazard_text
    assert row.storage
    assert (row.grade_at_least is None) == (row.grade == "")


@pytest.mark.parametrize("row", [r for r in ROWS if not r.chelate], ids=lambda row: row.formula)
def test_a_gram_holds_no_more_than_a_gram(row: Salt) -> None:
    # alkalinity may exceed it: carbonate takes up carbon dioxide; hydrogen phosphates hold hydrogen besides
    mg = sum(value for key, value in row.content_mg_per_g.items() if key != "bicarbonate")
    assert (0 < mg <= 1000.0 * (1 + 1e-12)) or not row.ions


def test_horticultural_calcium_nitrate_is_another_salt() -> None:
    """What the sack calls calcium nitrate brings ammonium; labels say 14.4 % nitrate N, 1.1 % ammonium N, 19 % Ca."""
    sack = salt("horticultural calcium nitrate").content_mg_per_g
    pure = salt("Ca(NO3)2·4H2O").content_mg_per_g
    assert "ammonium" in sack
    assert "ammonium" not in pure
    assert sack["nitrate"] * NUTRIENTS["nitrate"].element_share == pytest.approx(144, abs=2)
    assert sack["calcium"] == pytest.approx(185.4, abs=0.1)
