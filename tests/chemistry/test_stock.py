"""Stock solutions: what a millilitre holds, and whether it dissolves and stays clear."""

from __future__ import annotations

import phreeqpython
import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.chemistry.salts import UnknownSaltError, content_of_salt
from littoral.chemistry.stock import StockCheck, StockError, check_stock, content_of_stock


def test_salts_add_up() -> None:
    content = content_of_stock({"KNO3": 33.0, "KH2PO4": 2.6, "K2SO4": 8.0}, made_up_to_ml=500.0)
    assert content.keys() == {"potassium", "nitrate", "phosphate", "sulphate"}
    by_hand = (33.0 * 0.38672 + 2.6 * 0.28731 + 8.0 * 0.44875) * 1000 / 500
    assert content["potassium"] == pytest.approx(by_hand, rel=1e-4)


@given(st.floats(1.0, 100.0), st.floats(100.0, 2000.0))
def test_mass_is_kept(grams: float, volume_ml: float) -> None:
    content = content_of_stock({"MgSO4·7H2O": grams}, made_up_to_ml=volume_ml)
    per_g = content_of_salt("MgSO4·7H2O")
    assert {key: value * volume_ml for key, value in content.items()} == {
        key: pytest.approx(value * grams, rel=1e-12) for key, value in per_g.items()
    }


@pytest.mark.parametrize(
    ("salts_g", "volume_ml", "what"),
    [
        ({}, 500.0, "no salt is weighed in"),
        ({"KNO3": 10.0}, 0.0, "made up to 0 mL"),
        ({"KNO3": -1.0}, 500.0, "-1 g of KNO3"),
        ({"KNO3": float("nan")}, 500.0, "nan g of KNO3"),
        ({"KNO3": 33000.0}, 500.0, "33000 g of salts in 500 mL"),
    ],
)
def test_stocks_that_cannot_be(salts_g: dict[str, float], volume_ml: float, what: str) -> None:
    for act in (content_of_stock, check_stock):
        with pytest.raises(StockError) as refusal:
            act(salts_g, made_up_to_ml=volume_ml)
        assert what in str(refusal.value)


def test_an_open_hydrate_is_asked_about() -> None:
    with pytest.raises(UnknownSaltError):
        content_of_stock({"MgSO4": 10.0}, made_up_to_ml=500.0)


def _row(rows: tuple[StockCheck, ...], name: str) -> StockCheck:
    return next(row for row in rows if row.name == name)


def test_what_dissolves() -> None:
    # K2SO4: 11.1 g in 100 g of water at 20 °C
    good = _row(check_stock({"K2SO4": 35.0}, made_up_to_ml=500.0), "K2SO4 dissolves")
    bad = _row(check_stock({"K2SO4": 60.0}, made_up_to_ml=500.0), "K2SO4 dissolves")
    assert good.holds
    assert not bad.holds
    assert bad.value == pytest.approx(60 / (11.1 * 0.998 * 5), rel=1e-12)
    assert "common practice, no source" in bad.source


@pytest.mark.parametrize(("mmol_per_l", "clear"), [(5, True), (19, True), (25, False), (50, False), (100, False)])
def test_gypsum_as_phreeqc_says(mmol_per_l: float, clear: bool) -> None:
    """Equimolar calcium nitrate and magnesium sulphate at 20 °C: our limit and PHREEQC's saturation index agree."""
    salts_g = {"Ca(NO3)2·4H2O": 0.236149 * mmol_per_l, "MgSO4·7H2O": 0.246475 * mmol_per_l}
    row = _row(check_stock(salts_g, made_up_to_ml=1000.0), "calcium with sulphate")
    water = phreeqpython.PhreeqPython().add_solution(
        {"units": "mmol/L", "temp": 20, "Ca": mmol_per_l, "N(5)": 2 * mmol_per_l, "Mg": mmol_per_l, "S(6)": mmol_per_l}
    )
    assert row.holds is clear
    assert (water.si("Gypsum") < 0) is clear


def test_what_falls_out_together() -> None:
    rows = check_stock({"CaCl2·2H2O": 10.0, "KH2PO4": 5.0}, made_up_to_ml=500.0)
    assert not _row(rows, "calcium with phosphate").holds
    rows = check_stock({"FeSO4·7H2O": 1.0, "KH2PO4": 5.0}, made_up_to_ml=500.0)
    assert not _row(rows, "iron with phosphate").holds
    # chelated iron stays apart from phosphate
    rows = check_stock({"Na2Fe-DTPA": 1.0, "KH2PO4": 5.0}, made_up_to_ml=500.0)
    assert all(row.holds for row in rows)
    rows = check_stock({"CuSO4·5H2O": 0.1, "K2CO3": 5.0}, made_up_to_ml=500.0)
    assert not _row(rows, "copper with bicarbonate").holds
    assert all(row.holds for row in check_stock({"KNO3": 33.0, "KH2PO4": 2.6, "K2SO4": 8.0}, made_up_to_ml=500.0))
