"""Hazards of a diluted bottle by the generic limits for mixtures: each limit from both sides."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from littoral.chemistry.bottle_hazards import bottle_hazards
from littoral.chemistry.ghs import ghs_label
from littoral.chemistry.own_substances import own_by_label
from littoral.chemistry.salts import salts


@pytest.mark.parametrize(
    ("salts_g", "codes"),
    [
        # grams in 1 kg of a thin solution: about tenths of a percent
        ({"H3BO3": 2.9}, ()),
        ({"H3BO3": 3.1}, ("H360FD",)),  # 0.3 %: toxic for reproduction
        ({"CuSO4·5H2O": 0.2}, ()),
        ({"CuSO4·5H2O": 0.3}, ("H412",)),  # 100 × factor 10 × 0.03 % = 30
        ({"CuSO4·5H2O": 3.0}, ("H411",)),  # 10 × 10 × 0.3 %
        ({"CuSO4·5H2O": 12.0}, ("H319", "H411")),  # 1 to 3 % of what damages eyes
        ({"CuSO4·5H2O": 40.0}, ("H318", "H400", "H410")),
        ({"ZnSO4·7H2O": 2.0}, ()),
        ({"ZnSO4·7H2O": 3.0}, ("H412",)),
        ({"FeSO4·7H2O": 150.0}, ("H315", "H319")),
        ({"FeSO4·7H2O": 300.0}, ("H302", "H315", "H319")),  # a fourth: 500 / 0.25 = 2000 mg/kg
        ({"NiSO4·6H2O": 0.9}, ("H317", "H334", "H350i")),
        # its entry's own limits are stricter than the generic 1 and 10 %: H373 from 0.1 %, H372 from 1 %
        ({"NiSO4·6H2O": 1.1}, ("H317", "H334", "H350i", "H373")),
        ({"NiSO4·6H2O": 9.9}, ("H317", "H334", "H350i", "H360D", "H373", "H412")),
        ({"NiSO4·6H2O": 11.0}, ("H317", "H334", "H341", "H350i", "H360D", "H372", "H412")),
    ],
)
def test_limits_from_both_sides(salts_g: dict[str, float], codes: tuple[str, ...]) -> None:
    found = bottle_hazards(salts_g, made_up_to_ml=1000.0)
    assert found.codes == codes
    assert all(row.source.endswith("from memory") for row in found.rows)
    assert set(found.undiluted) == {code for key in salts_g for code in salts()[key].hazards}


def test_what_sums_cannot_tell() -> None:
    found = bottle_hazards({"KNO3": 100.0}, made_up_to_ml=1000.0)
    assert found.codes == ()
    assert found.undiluted == ("H272",)
    assert found.not_told == ("whether the solution is oxidising (KNO3 is, undiluted)",)
    own = own_by_label("sack", {"K2O": 10.0})
    assert bottle_hazards({"sack": 1.0}, made_up_to_ml=100.0, own=[own]).not_told == (
        "sack: its hazards are not known here",
    )


def test_acid_errs_on_the_careful_side() -> None:
    assert "H314" in bottle_hazards({"H3PO4": 60.0}, made_up_to_ml=1000.0).codes
    assert bottle_hazards({"H3PO4": 20.0}, made_up_to_ml=1000.0).codes == ("H315", "H319")


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(["CuSO4·5H2O", "H3BO3", "ZnSO4·7H2O", "MnSO4·H2O", "FeSO4·7H2O"]), st.floats(0.1, 100.0))
def test_thinner_is_never_graver(key: str, grams: float) -> None:
    grave = {"Danger": 2, "Warning": 1, "": 0}
    thick = ghs_label(bottle_hazards({key: grams}, made_up_to_ml=1000.0).codes)
    thin = ghs_label(bottle_hazards({key: grams / 3}, made_up_to_ml=1000.0).codes)
    assert grave[thin.signal] <= grave[thick.signal]
    assert len(thin.pictograms) <= len(thick.pictograms)
