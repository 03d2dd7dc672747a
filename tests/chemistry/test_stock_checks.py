"""Rows on a stock: what dissolves, what falls out, volume, iron, keeping; and a dry dose with a slipped unit."""

from __future__ import annotations

import math

import phreeqpython
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from littoral.chemistry.density import volume_added_to
from littoral.chemistry.solubility import solubility
from littoral.chemistry.stock_checks import (
    check_clashes,
    check_contraction,
    check_dissolves,
    check_dry_dose,
    check_stock,
    free_ions_mg_per_l,
)
from littoral.quantities.check_row import CheckRow


def _row(rows: tuple[CheckRow, ...], what: str) -> CheckRow:
    return next(row for row in rows if row.what.startswith(what))


def test_what_dissolves_at_the_coldest() -> None:
    salts_g = {"K2SO4": 45.0}  # 11.1 g in 100 g of water at 20 °C, 9.3 at 10, 7.4 at 0
    for celsius, verdict in ((30, "holds"), (20, "warns"), (0, "fails")):
        row = _row(check_dissolves(salts_g, made_up_to_ml=500.0, celsius=celsius), "K2SO4 dissolves")
        assert row.verdict == verdict
        assert "compiled" in row.source
        assert "common practice, no source" in row.source
    assert row.value == pytest.approx(45.0 / (7.4 * 4.85), rel=0.02)  # about 485 g of water are in the bottle
    assert "at most" in row.comment


def test_crystals_bring_water_of_their_own() -> None:
    """400 g of calcium nitrate tetrahydrate and 100 g of water are a clear solution at 20 °C (444 g dissolve)."""
    salts_g = {"Ca(NO3)2·4H2O": 400.0}
    volume_ml = volume_added_to(salts_g, water_ml=100.0 / 0.9982).ml
    row = check_dissolves(salts_g, made_up_to_ml=volume_ml, celsius=20)[0]
    # 277.9 g anhydrous in 100 g of water and the 122.1 g that the crystals bring, of 129 g in 100 g
    assert row.value == pytest.approx(277.9 / (1.29 * 222.1), rel=1e-3)


def test_an_unknown_solubility_is_said() -> None:
    rows = check_dissolves({"Fe-HEDTA": 1.0, "KNO3": 10.0}, made_up_to_ml=500.0, celsius=10)
    assert _row(rows, "Fe-HEDTA").verdict == "cannot tell"
    assert "the table has none" in _row(rows, "Fe-HEDTA").comment
    # one known salt alone needs no row for all together
    assert len(rows) == 2
    cold = check_dissolves({"Fe-EDDHA": 1.0}, made_up_to_ml=500.0, celsius=5)
    assert cold[0].verdict == "cannot tell"
    assert "20 °C only" in cold[0].comment


def test_salts_together_only_warn() -> None:
    rows = check_dissolves({"KNO3": 60.0, "K2SO4": 30.0}, made_up_to_ml=500.0, celsius=10)
    together = _row(rows, "the 2 salts")
    assert together.value == pytest.approx(sum(row.value or 0.0 for row in rows[:2]))
    assert together.verdict == "warns"


def test_common_ion_as_phreeqc_says() -> None:
    """The careful rule errs on the careful side: PHREEQC (pitzer.dat) still dissolves what it warns of."""
    water = phreeqpython.PhreeqPython(database="pitzer.dat").add_solution(
        {"units": "mol/kgw", "temp": 25, "K": 1.0 + 2 * 0.35, "Cl": 1.0, "S(6)": 0.35}
    )
    assert water.si("Arcanite") < 0
    share = 1.0 * 74.55 / 10 / 35.7 + 0.35 * 174.26 / 10 / solubility("K2SO4", celsius=25).anhydrous_g
    assert 0.7 < share < 1.0


@pytest.mark.parametrize(("mmol_per_l", "clear"), [(5, True), (19, True), (25, False), (50, False), (100, False)])
def test_gypsum_as_phreeqc_says(mmol_per_l: float, clear: bool) -> None:
    """Equimolar calcium nitrate and magnesium sulphate at 20 °C: our limit and PHREEQC's saturation index agree."""
    salts_g = {"Ca(NO3)2·4H2O": 0.236149 * mmol_per_l, "MgSO4·7H2O": 0.246475 * mmol_per_l}
    row = _row(check_clashes(salts_g, made_up_to_ml=1000.0), "calcium with sulphate")
    water = phreeqpython.PhreeqPython(database="phreeqc.dat").add_solution(
        {"units": "mmol/L", "temp": 20, "Ca": mmol_per_l, "N(5)": 2 * mmol_per_l, "Mg": mmol_per_l, "S(6)": mmol_per_l}
    )
    assert row.value == pytest.approx(mmol_per_l, rel=1e-3)
    assert (row.verdict != "fails") is clear
    assert (water.si("Gypsum") < 0) is clear


@pytest.mark.parametrize(
    ("salts_g", "word"),
    [
        ({"CaCl2·2H2O": 10.0, "KH2PO4": 5.0}, "Calcium phosphates"),
        ({"FeSO4·7H2O": 1.0, "KH2PO4": 5.0}, "Phosphates of iron"),
        ({"CuSO4·5H2O": 0.1, "K2CO3": 5.0}, "Carbonates and hydroxides of copper"),
        ({"CaCl2·2H2O": 10.0, "NaHCO3": 5.0}, "Calcium carbonate"),
        ({"NH4Cl": 1.0, "K2CO3": 5.0}, "ammonia gas"),
        ({"C6H8O7·H2O": 1.0, "KHCO3": 5.0}, "carbon dioxide: a closed bottle may burst"),
        ({"MgSO4·7H2O": 1.0, "K2CO3": 5.0}, "Magnesium carbonates"),
        ({"Na2Fe-DTPA": 1.0, "K2CO3": 5.0}, "Iron chelates fall apart"),
    ],
)
def test_what_falls_out_together(salts_g: dict[str, float], word: str) -> None:
    failing = [row for row in check_clashes(salts_g, made_up_to_ml=500.0) if row.verdict == "fails"]
    assert len(failing) == 1
    assert word in failing[0].comment
    assert failing[0].source == "common practice, no source"


def test_what_may_stand_together() -> None:
    assert check_clashes({"Na2Fe-DTPA": 1.0, "KH2PO4": 5.0}, made_up_to_ml=500.0) == ()
    assert check_clashes({"KNO3": 33.0, "KH2PO4": 2.6, "K2SO4": 8.0}, made_up_to_ml=500.0) == ()
    assert check_clashes({"H3BO3": 1.0, "NaHCO3": 1.0}, made_up_to_ml=500.0) == ()


def test_chelated_metals_are_not_free() -> None:
    free = free_ions_mg_per_l({"Na2Fe-DTPA": 1.0, "FeSO4·7H2O": 1.0}, made_up_to_ml=1000.0)
    assert free["iron"] == pytest.approx(200.88, abs=0.02)  # of the sulphate alone: 20.088 %
    assert free["sodium"] > 0


def test_added_to_is_not_made_up_to() -> None:
    row = check_contraction({"KNO3": 100.0}, made_up_to_ml=1000.0)
    assert row.verdict == "warns"
    assert row.value == pytest.approx(0.039, abs=0.001)
    assert "1039 mL, 3.8 % weaker" in row.comment
    assert check_contraction({"KNO3": 10.0}, made_up_to_ml=1000.0).verdict == "holds"
    unknown = check_contraction({"Fe-HEDTA": 5.0}, made_up_to_ml=100.0)
    assert "Fe-HEDTA" in unknown.comment or "C10H15FeN2O7" in unknown.comment
    assert unknown.verdict == "warns"


def test_the_whole_list_of_a_macro_stock() -> None:
    rows = check_stock({"KNO3": 33.0, "KH2PO4": 2.6, "K2SO4": 8.0, "KCl": 0.0}, made_up_to_ml=500.0, stock_ph=5.0)
    assert {row.verdict for row in rows} == {"holds", "warns"}
    assert not any("KCl" in row.what for row in rows)
    assert check_stock({"KNO3": 0.0}, made_up_to_ml=500.0) == ()


def test_a_micro_stock_with_iron() -> None:
    rows = check_stock({"NaFe-EDTA trihydrate": 5.0, "MnSO4·H2O": 1.0}, made_up_to_ml=500.0, tank_ph=6.8)
    assert _row(rows, "iron of NaFe-EDTA").verdict == "fails"
    assert any("Light takes iron chelates apart" in row.comment for row in rows)


def test_a_kilogram_into_a_small_tank() -> None:
    rows = check_dry_dose("K2SO4", 1000.0, net_volume_l=20.0)
    assert _row(rows, "K2SO4 dissolves").verdict == "holds"  # it does dissolve: 111 g/L
    slip = _row(rows, "1000 g of K2SO4 in 20 L")
    assert (slip.value, slip.verdict) == (50000.0, "fails")
    assert "units" in slip.comment
    assert _row(check_dry_dose("K2SO4", 5000.0, net_volume_l=20.0), "K2SO4").verdict == "fails"
    assert check_dry_dose("K2SO4", 1.0, net_volume_l=20.0)[-1].verdict == "holds"


@settings(max_examples=40, deadline=None)
@given(st.floats(0.1, 60.0), st.floats(0.1, 60.0), st.floats(0.0, 40.0))
def test_more_salt_never_holds_better(first: float, second: float, celsius: float) -> None:
    less, more = sorted((first, second))
    rows = [check_dissolves({"K2SO4": grams}, made_up_to_ml=500.0, celsius=celsius)[0].value for grams in (less, more)]
    assert rows[0] is not None
    assert rows[1] is not None
    assert rows[0] <= rows[1] * (1 + 1e-9)
    assert math.isfinite(rows[1])
