"""Hazards and GHS labels: the table's shape, the rules of precedence, and labels that others printed."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.chemistry.ghs import UnknownCodeError, ghs_label
from littoral.chemistry.hazards import hazards, hazards_of
from littoral.chemistry.package_data import table
from littoral.chemistry.salts import salt, salts

CODES = list(table("phrases")["hazard"])


def test_shape_and_sums() -> None:
    rows = hazards().values()
    assert {row.formula for row in rows} == set(salts())
    assert sum(len(row.codes) for row in rows) == 110
    assert sum(row.status == "harmonised" for row in rows) == 25
    assert sum(row.status == "self" for row in rows) == 13
    assert sum(bool(row.entry) for row in rows) == 23
    assert sum(bool(row.precursor) for row in rows) == 7
    assert len(CODES) == 27
    assert len(table("phrases")["precaution"]) == 17


@pytest.mark.parametrize("formula", list(salts()))
def test_a_row_says_where_it_comes_from(formula: str) -> None:
    row = hazards_of(formula)
    assert bool(row.codes) == (row.status in {"harmonised", "self"})
    assert row.basis
    assert set(row.codes) <= set(CODES)
    assert ghs_label(row.codes).h or not row.codes


def test_an_unknown_substance_is_never_called_harmless() -> None:
    assert hazards_of("Xe").status == "not looked up"
    assert "not looked up" in hazards_of("Xe").text
    assert "not the same as harmless" in hazards_of("KCl").text


def test_the_two_legal_entries_of_copper_sulphate_are_not_mixed() -> None:
    assert salt("CuSO4·5H2O").hazards == ("H302", "H318", "H400", "H410")
    assert salt("CuSO4 anhydrous").hazards == ("H302", "H315", "H319", "H400", "H410")
    assert salt("CuSO4·5H2O").hazard.entry != salt("CuSO4 anhydrous").hazard.entry


@pytest.mark.parametrize(
    ("written", "signal", "pictograms", "h"),
    [
        # International Chemical Safety Card 0751 (November 2023), read: exclamation mark and environment, WARNING;
        # harmful if swallowed, skin and eye irritation, very toxic to aquatic life with long lasting effects
        ("CuSO4 anhydrous", "Warning", ("GHS07", "GHS09"), ("H302", "H315", "H319", "H410")),
        # International Chemical Safety Card 0991 (April 2014), read: health hazard, DANGER
        ("H3BO3", "Danger", ("GHS08",), ("H360FD",)),
        # two suppliers' data sheets, read: Ox. Sol. 3, Warning, H272, flame over circle
        ("KNO3", "Warning", ("GHS03",), ("H272",)),
        # Regulation (EC) 1272/2008, Annex VI, labelling columns, from memory
        ("CuSO4·5H2O", "Danger", ("GHS05", "GHS07", "GHS09"), ("H302", "H318", "H410")),
        ("ZnSO4·7H2O", "Danger", ("GHS05", "GHS07", "GHS09"), ("H302", "H318", "H410")),
        ("MnSO4·H2O", "Warning", ("GHS08", "GHS09"), ("H373", "H411")),
        ("FeSO4·7H2O", "Warning", ("GHS07",), ("H302", "H315", "H319")),
        ("ZnCl2", "Danger", ("GHS05", "GHS07", "GHS09"), ("H302", "H314", "H410")),
    ],
)
def test_labels_that_others_printed(written: str, signal: str, pictograms: tuple[str, ...], h: tuple[str, ...]) -> None:
    label = ghs_label(salt(written).hazards)
    assert label.signal == signal
    assert label.pictograms == pictograms
    assert tuple(statement.code for statement in label.h) == h


@pytest.mark.parametrize(
    ("codes", "pictograms"),
    [
        (("H301", "H312"), ("GHS06",)),  # the skull leaves out the exclamation mark for acute toxicity
        (("H301", "H315"), ("GHS06", "GHS07")),  # but not for the skin
        (("H318", "H315"), ("GHS05",)),
        (("H318", "H302"), ("GHS05", "GHS07")),
        (("H290", "H319"), ("GHS05", "GHS07")),  # corrosive to metals says nothing of eyes
        (("H334", "H317"), ("GHS08",)),
        (("H334", "H302", "H317"), ("GHS07", "GHS08")),
        (("H412",), ()),
    ],
)
def test_precedence_of_pictograms(codes: tuple[str, ...], pictograms: tuple[str, ...]) -> None:
    assert ghs_label(codes).pictograms == pictograms


def test_signal_words() -> None:
    assert ghs_label(("H411",)).signal == ""
    assert ghs_label(("H272",)).signal == "Warning"
    assert ghs_label(("H272:2",)).signal == "Danger"
    assert ghs_label(("H272:2",)).h[0].code == "H272"
    assert ghs_label(()).signal == ""
    assert ghs_label(()).p == ()


def test_precautions_of_copper() -> None:
    codes = [statement.code for statement in ghs_label(salt("CuSO4·5H2O").hazards).p]
    assert codes == ["P102", "P273", "P280", "P301+P312", "P305+P351+P338", "P501"]
    assert len(ghs_label(salt("NiSO4·6H2O").hazards, most_p=4).p) == 4


def test_a_code_that_is_none() -> None:
    with pytest.raises(UnknownCodeError, match='"H999" is no hazard code'):
        ghs_label(("H999",))


@given(st.lists(st.sampled_from(CODES), max_size=8), st.lists(st.sampled_from(CODES), max_size=3))
def test_more_hazards_never_show_less_grave(codes: list[str], more: list[str]) -> None:
    grave = {"Danger": 2, "Warning": 1, "": 0}
    fewer, all_of_them = ghs_label(codes), ghs_label([*codes, *more])
    assert grave[all_of_them.signal] >= grave[fewer.signal]
    assert ghs_label(reversed(codes)) == fewer
    assert len(fewer.p) <= 6
