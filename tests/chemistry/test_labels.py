"""Labels: oxides, elements and ions; by mass and by volume; and labels that cannot be true."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.chemistry.labels import DECLARED, LabelError, content_of_label
from littoral.chemistry.nutrients import NUTRIENTS, element_view


def test_by_mass_and_by_volume() -> None:
    by_mass = content_of_label({"K": 3.0, "Fe": 0.1}, by="mass", density_kg_per_l=1.2)
    assert by_mass == {"potassium": pytest.approx(36.0), "iron": pytest.approx(1.2)}
    by_volume = content_of_label({"K": 3.0, "Fe": 0.1}, by="volume")
    assert by_volume == {"potassium": pytest.approx(30.0), "iron": pytest.approx(1.0)}
    assert content_of_label({"K": 3.0}, by="volume") == {"potassium": pytest.approx(30.0)}


def test_oxide_ion_and_element_are_one_nutrient() -> None:
    as_oxide = content_of_label({"P2O5": 2.2914}, by="volume")
    as_element = content_of_label({"P": 1.0}, by="volume")
    as_ion = content_of_label({"PO4": 3.0662}, by="volume")
    assert as_oxide == {"phosphate": pytest.approx(as_element["phosphate"], rel=2e-5)}
    assert as_ion == {"phosphate": pytest.approx(as_element["phosphate"], rel=2e-5)}


def test_nitrogen_by_its_forms() -> None:
    content = content_of_label({"N": 5.0, "NO3-N": 3.0, "NH4-N": 1.5, "urea-N": 0.5}, by="volume")
    assert element_view(content) == {"N": pytest.approx(50.0)}
    assert content["nitrate"] == pytest.approx(30.0 * 4.4268, rel=1e-5)


def test_spelling() -> None:
    assert content_of_label({"k2o": 1.0, "no3-n": 1.0}, by="volume").keys() == {"potassium", "nitrate"}


def test_two_ways_that_agree_within_their_printed_digits() -> None:
    # 4.0 % P2O5 is 1.7 % P in the Norwegian Food Safety Authority's example; the finer counts (a float has no 4.0)
    content = content_of_label({"P2O5": 4.0, "P": 1.7}, by="volume")
    assert element_view(content)["P"] == pytest.approx(17.0)
    assert content_of_label({"P": 1.7, "P2O5": 4.0}, by="volume") == content
    assert content_of_label({"P2O5": 100 * 0.04, "P": 100 * 0.017}, by="volume") == {
        "phosphate": pytest.approx(content["phosphate"])
    }


@pytest.mark.parametrize(
    ("entries", "entry", "reason"),
    [
        ({}, "contents", "nothing is declared"),
        ({"Kx": 1.0}, "Kx", "nothing that a label declares"),
        ({"K": -1.0}, "K", "-1 % cannot be"),
        ({"K": math.nan}, "K", "nan % cannot be"),
        ({"K": 1.0, "k": 1.0}, "K", "it is given twice"),
        ({"N": 5.0}, "N", "does not say in which form"),
        ({"N": 5.0, "NO3-N": 3.0}, "N", "5 % in all, but NO3-N add up to 3 %"),
        ({"K2O": 6.0, "K": 6.0}, "K2O and K", "6 % K2O is 4.98 % K, but 6 % K is 6 %"),
        ({"K2O": 60.0, "SO3": 50.0}, "sum", "60 K2O + 50 SO3 = 110 %, which is over 100 %"),
    ],
)
def test_labels_that_cannot_be_true(entries: dict[str, float], entry: str, reason: str) -> None:
    with pytest.raises(LabelError) as refusal:
        content_of_label(entries, by="volume")
    assert refusal.value.entry == entry
    assert reason in str(refusal.value)
    assert refusal.value.right
    with pytest.raises(LabelError):
        content_of_label(entries, by="volume")


def test_both_forms_count_once_in_the_sum() -> None:
    # 60 % K2O beside its 49.8 % K is one declaration, not 109.8 %
    assert content_of_label({"K2O": 60.0, "K": 49.8}, by="volume")


def test_by_volume_the_sum_may_reach_the_density() -> None:
    assert content_of_label({"CaO": 110.0}, by="volume", density_kg_per_l=1.4)
    with pytest.raises(LabelError, match="over 140 %"):
        content_of_label({"CaO": 141.0}, by="volume", density_kg_per_l=1.4)


@pytest.mark.parametrize("density", [None, 0.0, 1060.0, math.nan])
def test_density_is_needed_and_plausible(density: float | None) -> None:
    with pytest.raises(LabelError, match="label, density"):
        content_of_label({"K": 1.0}, by="mass", density_kg_per_l=density)


@given(st.sampled_from(sorted(DECLARED)), st.just(0.0) | st.floats(1e-6, 100.0), st.floats(0.5, 3.0))
def test_what_a_nutrients_element_weighs_is_what_was_declared(name: str, percent: float, density: float) -> None:
    content = content_of_label({name: percent}, by="mass", density_kg_per_l=density)
    declared = DECLARED[name]
    nutrient = NUTRIENTS[declared.nutrient]
    element_mg_per_ml = content[declared.nutrient] * nutrient.element_share
    # no more than the declared mass, and all of it where the element itself was declared
    assert element_mg_per_ml <= percent * 10 * density * (1 + 1e-12)
    if declared.formula == declared.element:
        assert element_mg_per_ml == pytest.approx(percent * 10 * density, rel=1e-12)
