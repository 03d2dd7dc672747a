"""Stock solutions: what a millilitre holds, from pure salts, impure ones, and a person's own."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.chemistry.own_substances import own_by_label
from littoral.chemistry.salts import UnknownSaltError, content_of_salt
from littoral.chemistry.stock import StockError, content_of_stock, content_of_stock_steps
from littoral.chemistry.stock_checks import check_stock


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
    for act in (content_of_stock, content_of_stock_steps, check_stock):
        with pytest.raises(StockError) as refusal:
            act(salts_g, made_up_to_ml=volume_ml)
        assert what in str(refusal.value)


def test_an_open_hydrate_is_asked_about() -> None:
    with pytest.raises(UnknownSaltError):
        content_of_stock({"MgSO4": 10.0}, made_up_to_ml=500.0)


def test_own_substances_and_purity() -> None:
    sack = own_by_label("sack of magnesium nitrate", {"N": 11.0, "NO3-N": 11.0, "MgO": 15.0})
    technical = {"KNO3": 10.0, "sack of magnesium nitrate": 5.0}
    content = content_of_stock(technical, made_up_to_ml=100.0, own=[sack], purity={"KNO3": 0.98})
    assert content["magnesium"] == pytest.approx(5.0 * 150 * 0.60304 / 100, rel=1e-4)
    assert content["potassium"] == pytest.approx(0.98 * 38.672, rel=1e-4)


@pytest.mark.parametrize(
    ("purity", "what"),
    [({"KNO3": 1.2}, "a purity of 1.2"), ({"KCl": 0.9}, "a purity for KCl, which is not weighed in")],
)
def test_purities_that_cannot_be(purity: dict[str, float], what: str) -> None:
    with pytest.raises(StockError, match=what):
        content_of_stock({"KNO3": 1.0}, made_up_to_ml=100.0, purity=purity)


def test_the_derivation_adds_up() -> None:
    salts_g = {"KNO3": 33.0, "KH2PO4": 2.6}
    steps = content_of_stock_steps(salts_g, made_up_to_ml=500.0)
    potassium = sum(float(step.result.split()[0]) for step in steps if step.what.startswith("K⁺"))
    assert potassium == pytest.approx(content_of_stock(salts_g, made_up_to_ml=500.0)["potassium"], rel=1e-4)
    assert all("standard atomic weights" in step.source for step in steps)
