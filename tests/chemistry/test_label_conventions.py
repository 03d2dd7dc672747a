"""Grades, labels written back, and hydrates swapped."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.chemistry.hydrates import HydrateError, hydrate_swap, hydrate_swap_steps, hydrates_of
from littoral.chemistry.label_grades import grade_both_ways, percent_of_grade
from littoral.chemistry.label_written import Convention, declared_of_content
from littoral.chemistry.labels import LabelError, content_of_label
from littoral.chemistry.salts import UnknownSaltError, content_of_salt, salts


def test_a_grade_in_oxides_and_in_elements() -> None:
    assert percent_of_grade("10-5-14", counting="oxides") == {"N": 10.0, "P2O5": 5.0, "K2O": 14.0}
    assert percent_of_grade("0 - 52 - 34", counting="elements") == {"P": 52.0, "K": 34.0}
    assert percent_of_grade("13,5-0-46", counting="oxides") == {"N": 13.5, "K2O": 46.0}
    steps = grade_both_ways("0-52-34", counting="oxides")
    assert [step.result for step in steps] == ["22.7 % P", "28.2 % K"]
    assert [step.result for step in grade_both_ways("8-1.7-10.5", counting="elements")] == ["3.9 % P2O5", "12.6 % K2O"]


@pytest.mark.parametrize(
    ("grade", "reason"), [("ten-five", "is no grade"), ("60-30-20", "= 110 %"), ("", "is no grade")]
)
def test_what_is_no_grade(grade: str, reason: str) -> None:
    with pytest.raises(LabelError, match=reason):
        percent_of_grade(grade, counting="oxides")


def test_a_label_in_three_conventions() -> None:
    content = {"nitrate": 20.0, "potassium": 30.0, "phosphate": 3.0, "magnesium": 2.0, "iron": 0.5, "bicarbonate": 1.0}
    eu = declared_of_content(content, convention="EU oxides", by="volume")
    assert list(eu) == ["N", "NO3-N", "P2O5", "K2O", "MgO", "Fe"]
    us = declared_of_content(content, convention="US", by="mass", density_kg_per_l=1.1)
    assert list(us) == ["N", "NO3-N", "P2O5", "K2O", "Mg", "Fe"]
    assert us["K2O"] == pytest.approx(eu["K2O"] / 1.1)
    assert list(declared_of_content(content, convention="EU elements", by="volume")) == [
        "N",
        "NO3-N",
        "P",
        "K",
        "Mg",
        "Fe",
    ]
    with pytest.raises(LabelError, match="label, density"):
        declared_of_content(content, convention="US", by="mass")


NUTRIENT_AMOUNTS = st.dictionaries(
    st.sampled_from(
        ["nitrate", "ammonium", "urea", "phosphate", "potassium", "magnesium", "sulphate", "silicate", "iron"]
    ),
    st.floats(0.1, 40.0),
    min_size=1,
)


@given(NUTRIENT_AMOUNTS, st.sampled_from(["EU oxides", "EU elements", "US"]), st.floats(1.0, 1.4))
def test_written_and_read_again(content: dict[str, float], convention: Convention, density: float) -> None:
    label = declared_of_content(content, convention=convention, by="mass", density_kg_per_l=density)
    again = content_of_label(label, by="mass", density_kg_per_l=density)
    assert again == {key: pytest.approx(mg, rel=1e-9) for key, mg in content.items()}


def test_hydrate_swap() -> None:
    # equivalents that suppliers print for the basal mix of Murashige & Skoog, and pages on BG-11
    assert round(hydrate_swap(370.0, from_="MgSO4·7H2O", to="MgSO4 anhydrous"), 2) == 180.69
    assert round(hydrate_swap(22.3, from_="MnSO4·4H2O", to="MnSO4·H2O"), 1) == 16.9
    assert round(hydrate_swap(4.0, from_="K2HPO4·3H2O", to="K2HPO4 anhydrous"), 2) == 3.05
    (step,) = hydrate_swap_steps(370.0, from_="MgSO4·7H2O", to="MgSO4 anhydrous")
    assert step.result == "180.7 g MgSO4 anhydrous"
    assert [one.formula for one in hydrates_of("CaCl2·2H2O")] == ["CaCl2·2H2O", "CaCl2", "CaCl2·6H2O"]


def test_swaps_that_cannot_be() -> None:
    with pytest.raises(UnknownSaltError, match="leaves open which form"):
        hydrate_swap(1.0, from_="MgSO4", to="MgSO4·7H2O")
    with pytest.raises(UnknownSaltError, match="no salt in the table"):
        hydrate_swap(1.0, from_="MgSO4·9H2O", to="MgSO4·7H2O")
    with pytest.raises(HydrateError, match="not hydrates of one salt"):
        hydrate_swap(1.0, from_="KCl", to="MgSO4·7H2O")
    for mass in (-1.0, math.nan):
        with pytest.raises(HydrateError, match=f"{mass:g} g"):
            hydrate_swap(mass, from_="MgSO4·7H2O", to="MgSO4 anhydrous")


@given(st.sampled_from(sorted(salts())), st.floats(0.0, 1e4))
def test_a_swap_brings_the_same(formula: str, mass_g: float) -> None:
    key = salts()[formula].key
    for other in hydrates_of(key):
        swapped = hydrate_swap(mass_g, from_=key, to=other.key)
        before = {ion: mg * mass_g for ion, mg in content_of_salt(key).items()}
        after = {ion: mg * swapped for ion, mg in content_of_salt(other.key).items()}
        assert after == {ion: pytest.approx(mg, rel=1e-9) for ion, mg in before.items()}
