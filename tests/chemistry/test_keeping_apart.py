"""What must stand apart, iron at a pH, how long a stock keeps; and density and saturation against PHREEQC."""

from __future__ import annotations

import math
import sys
from itertools import combinations

import phreeqpython
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from littoral.chemistry import saturation as saturation_module
from littoral.chemistry.clashes import clashes, split_bottles
from littoral.chemistry.density import made_up_to, volume_added_to
from littoral.chemistry.iron_chelates import check_iron, iron_chelates
from littoral.chemistry.keeping import keeping_of
from littoral.chemistry.package_data import table
from littoral.chemistry.salts import salts
from littoral.chemistry.saturation import NoPhreeqcError, saturation, saturation_rows
from littoral.chemistry.stock import StockError

SALTS = ["KNO3", "KH2PO4", "K2CO3", "Ca(NO3)2·4H2O", "MgSO4·7H2O", "Na2Fe-DTPA", "ZnSO4·7H2O", "H3BO3", "NH4Cl"]


def test_split_into_the_fewest_bottles() -> None:
    assert [group.salts for group in split_bottles(["KNO3", "KH2PO4", "K2SO4"])] == [("KNO3", "KH2PO4", "K2SO4")]
    groups = split_bottles(["KNO3", "KH2PO4", "Ca(NO3)2·4H2O", "MgSO4·7H2O", "Na2Fe-DTPA"])
    assert [group.salts for group in groups] == [
        ("KNO3", "KH2PO4", "MgSO4·7H2O", "Na2Fe-DTPA"),
        ("Ca(NO3)2·4H2O",),
    ]
    assert {clash.other for clash in groups[1].apart_because} | {clash.one for clash in groups[1].apart_because} == {
        "Ca(NO3)2·4H2O",
        "KH2PO4",
        "MgSO4·7H2O",
    }
    assert split_bottles([]) == ()


@settings(max_examples=60, deadline=None)
@given(st.lists(st.sampled_from(SALTS), min_size=1, max_size=7, unique=True))
def test_nothing_clashes_within_a_bottle_and_nothing_is_lost(names: list[str]) -> None:
    groups = split_bottles(names)
    assert sorted(name for group in groups for name in group.salts) == sorted(names)
    for group in groups:
        assert clashes(group.salts) == ()
    # brute force: no split into one bottle fewer
    if len(groups) > 1:
        apart = {frozenset((clash.one, clash.other)) for clash in clashes(names)}
        assert not _can_be_split(names, apart, len(groups) - 1)


def _can_be_split(names: list[str], apart: set[frozenset[str]], bottles: int) -> bool:
    """The slow twin: try every assignment of names to bottles."""
    for code in range(bottles ** len(names)):
        of = [(code // bottles**i) % bottles for i in range(len(names))]
        if all(
            of[i] != of[j] or frozenset((names[i], names[j])) not in apart
            for i, j in combinations(range(len(names)), 2)
        ):
            return True
    return False


@pytest.mark.parametrize(
    ("iron", "ph", "verdict"),
    [
        ("FeSO4·7H2O", 5.5, "holds"),
        ("FeSO4·7H2O", 7.0, "fails"),
        ("NaFe-EDTA trihydrate", 6.3, "warns"),
        ("NaFe-EDTA trihydrate", 6.8, "fails"),
        ("Na2Fe-DTPA", 6.4, "holds"),
        ("Na2Fe-DTPA", 7.2, "warns"),
        ("Fe-EDDHA", 8.0, "holds"),
        ("Fe-EDDHA", 8.8, "warns"),
    ],
)
def test_iron_at_a_ph(iron: str, ph: float, verdict: str) -> None:
    row = check_iron(iron, ph=ph)
    assert row.verdict == verdict
    assert row.source
    if verdict == "warns":
        assert "Sources disagree" in row.comment


def test_iron_that_the_table_does_not_know() -> None:
    assert check_iron("KNO3", ph=7).verdict == "cannot tell"
    assert "no chelate in the table" in check_iron("Fe-EDDHA", ph=9.5).comment
    for ph in (-1.0, 15.0, math.nan):
        with pytest.raises(StockError, match=r"a pH of .* Give a pH from 0 to 14"):
            check_iron("Fe-EDDHA", ph=ph)


def test_shape_of_the_small_tables() -> None:
    assert [chelate.agent for chelate in iron_chelates()] == [
        *("EDTA", "HEDTA", "DTPA", "EDDHA", "gluconate", "citrate", "none")
    ]
    assert sum(len(chelate.claims) for chelate in iron_chelates()) == 12
    assert sum(chelate.lowest_upper_ph for chelate in iron_chelates()) == pytest.approx(47.0)
    iron = {salt.formula for salt in salts().values() if "iron" in salt.ions}
    assert {formula for chelate in iron_chelates() for formula in chelate.formulas} == iron
    assert [row["days"] for row in table("keeping")["keeps"]] == [365, 60, 180, 14, 60, 90]
    of_keeping = {formula for row in table("keeping")["keeps"] for formula in row.get("formulas", ())}
    assert of_keeping <= set(salts())


def test_how_long_it_keeps() -> None:
    macro = keeping_of(["KNO3", "KH2PO4"])
    assert (macro.days, macro.needs, macro.rows[0].verdict) == (365, (), "holds")
    gluconate = keeping_of(["iron gluconate", "MnSO4·H2O"])
    assert gluconate.days == 60
    assert "cold" in gluconate.needs
    assert any("Moulds" in row.comment and "small bottles" in row.comment for row in gluconate.rows)
    preserved = keeping_of(["iron gluconate", "potassium sorbate"])
    assert not any("small bottles" in row.comment for row in preserved.rows)
    assert keeping_of(["FeSO4·7H2O", "Na2Fe-DTPA"]).days == 14


def test_full_strength_hoagland_as_phreeqc_was_quoted() -> None:
    """Gypsum -1.11 and hydroxyapatite +0.81 at pH 6, 20 °C, computed elsewhere: no visible precipitate."""
    ions = {
        "potassium": 234.6,
        "nitrate": 930.0,
        "calcium": 200.4,
        "phosphate": 94.97,
        "magnesium": 48.6,
        "sulphate": 192.1,
    }
    found = saturation(ions, ph=6.0, celsius=20.0)
    assert round(found.index["Gypsum"], 2) == -1.11
    assert round(found.index["Hydroxyapatite"], 2) == 0.81
    rows = {row.what: row.verdict for row in saturation_rows(ions, ph=6.0)}
    assert rows["saturation index of Hydroxyapatite"] == "holds"
    assert rows["saturation index of Gypsum"] == "holds"


def test_saturation_rows_of_a_stock_too_strong() -> None:
    ions = {"calcium": 20000.0, "nitrate": 62000.0, "sulphate": 50000.0, "magnesium": 12000.0}
    rows = {row.what: row for row in saturation_rows(ions, ph=6.0)}
    gypsum = rows["saturation index of Gypsum"]
    assert gypsum.verdict == "fails"
    assert "stronger than the model" in gypsum.comment
    warm = saturation_rows({"calcium": 100.0, "bicarbonate": 300.0}, ph=8.3)
    assert next(row for row in warm if "Calcite" in row.what).verdict == "fails"
    for wrong in ({"ph": 20.0}, {"ph": 7.0, "celsius": 90.0}):
        with pytest.raises(StockError, match="from 0 to"):
            saturation({"calcium": 1.0}, **wrong)


def test_without_phreeqc(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "phreeqpython", None)
    saturation_module._phreeqc.cache_clear()
    assert not saturation_module.phreeqc_is_there()
    with pytest.raises(NoPhreeqcError, match="Install the package phreeqpython"):
        saturation({"calcium": 1.0}, ph=7.0)
    monkeypatch.undo()
    saturation_module._phreeqc.cache_clear()
    assert saturation_module.phreeqc_is_there()


@pytest.mark.parametrize(
    ("key", "ions", "percent"),
    [
        ("KNO3", {"K": 1, "N(5)": 1}, 8.0),
        ("KCl", {"K": 1, "Cl": 1}, 8.0),
        ("K2SO4", {"K": 2, "S(6)": 1}, 8.0),
        ("MgSO4 anhydrous", {"Mg": 1, "S(6)": 1}, 8.0),
        ("CaCl2 anhydrous", {"Ca": 1, "Cl": 2}, 8.0),
    ],
)
def test_density_against_phreeqc(key: str, ions: dict[str, int], percent: float) -> None:
    """An independent model (PHREEQC's molar volumes): 8 % solutions at 20 °C agree within 0.12 %."""
    from littoral.chemistry.salts import salt

    molal = 10.0 * percent / (100.0 - percent) * 100.0 / salt(key).weight
    water = phreeqpython.PhreeqPython(database="phreeqc.dat").add_solution(
        {"units": "mol/kgw", "temp": 20} | {ion: molal * count for ion, count in ions.items()}
    )
    ml = volume_added_to({key: percent}, water_ml=(100.0 - percent) / 0.9982).ml
    assert 100.0 / ml == pytest.approx(water.density, rel=1.2e-3)


@settings(max_examples=50, deadline=None)
@given(
    st.dictionaries(
        st.sampled_from(["KNO3", "MgSO4·7H2O", "CaCl2·2H2O", "NaCl", "urea"]), st.floats(0.1, 80.0), min_size=1
    ),
    st.floats(300.0, 3000.0),
)
def test_water_poured_on_and_volume_made_up_agree(grams: dict[str, float], volume_ml: float) -> None:
    made = made_up_to(grams, made_up_to_ml=volume_ml)
    assert made.low_water_ml <= made.water_ml <= made.high_water_ml <= volume_ml
    assert volume_added_to(grams, water_ml=made.water_ml).ml == pytest.approx(volume_ml, rel=1e-6)
    assert bool(made.unknown) == bool({"NaCl", "urea"} & set(grams))


def test_shape_of_the_densities() -> None:
    rows = table("density")["kg_per_m3"]
    assert len(rows) == 11
    assert round(sum(sum(row) for row in rows.values()), 1) == 35013.1
    assert sum(len(row) for row in rows.values()) == 32
