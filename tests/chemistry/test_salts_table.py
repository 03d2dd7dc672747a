"""The table of salts: its shape, its sums, and that each row says what its formula says."""

from __future__ import annotations

import re

import pytest

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.salts import Salt, content_of_salt, salt, salts
from littoral.chemistry.weights import composition

ROWS = list(salts().values())
NOT_COUNTED = {"C", "H", "O", "I"}  # carbonate is alkalinity; water; iodine is no nutrient here


def test_shape_and_sums() -> None:
    """A changed cell cannot hide: change these numbers only together with a row, and say why."""
    assert len(ROWS) == 47
    assert sum(sum(row.ions.values()) for row in ROWS) == 111
    assert round(sum(row.weight for row in ROWS), 1) == 9519.6
    known = [row.solubility_g_per_100_g_water for row in ROWS if row.solubility_g_per_100_g_water is not None]
    assert (len(known), round(sum(known), 1)) == (30, 2532.2)
    assert sum(len(row.hazards) for row in ROWS) == 33
    assert sum(row.chelate for row in ROWS) == 6


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.formula)
def test_the_ions_hold_the_elements_of_the_formula(row: Salt) -> None:
    of_ions: dict[str, int] = {}
    for key, count in row.ions.items():
        for symbol, atoms in composition(NUTRIENTS[key].formula).items():
            of_ions[symbol] = of_ions.get(symbol, 0) + atoms * count
    not_counted = NOT_COUNTED | ({"N"} if row.chelate else set())
    of_formula = {symbol: atoms for symbol, atoms in composition(row.formula).items() if symbol not in not_counted}
    assert {symbol: atoms for symbol, atoms in of_ions.items() if symbol not in not_counted} == of_formula


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.formula)
def test_every_row_is_found_by_its_key_and_fit_to_print(row: Salt) -> None:
    assert salt(row.key) is row
    assert row.name[0].islower() or row.name[0].isupper()
    assert "see the supplier's safety data sheet" in row.hazard_text
    assert all(f"({code})" in row.hazard_text for code in row.hazards)
    assert all(re.fullmatch(r"H[2-4][0-9]{2}[A-Za-z]{0,2}", code) for code in row.hazards)
    assert row.hazard_status in {"harmonised", "self", "not classified", "not looked up"}
    assert bool(row.hazards) == (row.hazard_status in {"harmonised", "self"})
    assert (row.solubility_g_per_100_g_water is None) == (row.solubility_from == "")


@pytest.mark.parametrize("row", [r for r in ROWS if not r.chelate], ids=lambda row: row.formula)
def test_a_gram_holds_no_more_than_a_gram(row: Salt) -> None:
    # alkalinity may exceed it: carbonate takes up carbon dioxide; hydrogen phosphates hold hydrogen besides
    mg = sum(value for key, value in content_of_salt(row.key).items() if key != "bicarbonate")
    assert 0 < mg <= 1000.0 * (1 + 1e-12)


@pytest.mark.parametrize(
    ("formula", "g_per_100_g_water"),
    # recomputed from CRC molalities: g of hydrate per 100 g of ADDED water at 20 °C (a trap: tables mix the bases)
    [("Ca(NO3)2·4H2O", 444), ("CuSO4·5H2O", 35.5), ("FeSO4·7H2O", 61.5), ("ZnSO4·7H2O", 166), ("MgSO4·7H2O", 106.7)],
)
def test_solubility_of_hydrates_in_added_water(formula: str, g_per_100_g_water: float) -> None:
    assert salts()[formula].solubility_g_per_100_g_water == pytest.approx(g_per_100_g_water, rel=2e-3)


def test_the_two_legal_entries_of_copper_sulphate_are_not_mixed() -> None:
    assert salt("CuSO4·5H2O").hazards == ("H302", "H318", "H400", "H410")
    assert salt("CuSO4 anhydrous").hazards == ("H302", "H315", "H319", "H400", "H410")
