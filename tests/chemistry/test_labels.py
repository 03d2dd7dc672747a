"""Labels: oxides, elements and ions; by mass and by volume; and labels that cannot be true."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.chemistry.label_names import DECLARED, chelated_name, declared_name
from littoral.chemistry.label_sums import least_mass
from littoral.chemistry.labels import LabelError, content_of_dry_label, content_of_label, read_dry_label, read_label
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
        ({"K2O": 60.0, "SO3": 50.0}, "sum", "at least 49.81 K + 59.99 SO4 = 109.8 %, which is over 100 %"),
        ({"NO3-N": 40.0}, "sum", "at least 177.1 NO3 = 177.1 %"),
        ({"K2O": 101.0}, "K2O", "101 % K2O is over 100 %"),
        ({"phosphate": 5.0}, "phosphate", "it leaves open what is counted"),
        ({"Nitrate": 5.0}, "Nitrate", "it leaves open what is counted"),
        ({"Fe": 1.1, "Fe-EDTA": 0.9, "Fe-DTPA": 0.4}, "Fe", "0.9 by EDTA + 0.4 by DTPA = 1.3 % chelated, of 1.1 %"),
        ({"Fe-EDTA": 0.8, "Fe (EDTA)": 0.8}, "Fe (EDTA)", "it is given twice"),
        ({"Fe-ABCD": 0.8}, "Fe-ABCD", "nothing that a label declares"),
        ({"Fe-EDTA": -0.1}, "Fe-EDTA", "-0.1 % cannot be"),
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
    with pytest.raises(LabelError, match="141 % CaO is over 140 %"):
        content_of_label({"CaO": 141.0}, by="volume", density_kg_per_l=1.4)


@pytest.mark.parametrize("density", [None, 0.0, 1060.0, math.nan])
def test_density_is_needed_and_plausible(density: float | None) -> None:
    with pytest.raises(LabelError, match="label, density"):
        content_of_label({"K": 1.0}, by="mass", density_kg_per_l=density)


def test_potassium_chloride_may_say_what_it_is() -> None:
    """63 % K2O and 47.6 % Cl are more than 100 together, and true: the oxygen of the oxide is not in the bag."""
    content = content_of_dry_label({"K2O": 63.0, "Cl": 47.6})
    assert content["potassium"] == pytest.approx(523.0, abs=0.1)


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("Available Phosphate (P2O5)", "P2O5"),
        ("available phosphate", "P2O5"),
        ("Soluble Potash (K2O)", "K2O"),
        ("soluble potash", "K2O"),
        ("Total Nitrogen (N)", "N"),
        ("Nitrate Nitrogen", "NO3-N"),
        ("nitric nitrogen", "NO3-N"),
        ("Ammoniacal  nitrogen", "NH4-N"),
        ("Ureic nitrogen", "urea-N"),
        ("Water soluble Magnesium (Mg)", "Mg"),
        ("water-soluble magnesium oxide", "MgO"),
        ("Sulfur (S)", "S"),
        ("Iron (Fe)", "Fe"),
        ("boron", "B"),
    ],
)
def test_words_of_labels(written: str, name: str) -> None:
    assert declared_name(written) == name


@pytest.mark.parametrize(
    ("written", "found"),
    [
        ("Fe-EDTA", ("Fe", "EDTA")),
        ("Fe DTPA", ("Fe", "DTPA")),
        ("Fe (chelated by EDDHA)", ("Fe", "EDDHA")),
        ("Mn (EDTA)", ("Mn", "EDTA")),
        ("NH4-N", None),
        ("Fe", None),
        ("B-EDTA", None),
        ("Iron chelate", None),
    ],
)
def test_chelated_by(written: str, found: tuple[str, str] | None) -> None:
    assert chelated_name(written) == found


def test_chelated_metals_are_a_part_of_the_whole() -> None:
    label = read_dry_label({"Fe": 6.0, "Fe-EDDHA": 4.8})
    assert label.content == {"iron": pytest.approx(60.0)}
    assert label.chelated == {"iron": {"EDDHA": pytest.approx(48.0)}}
    alone = read_label({"Fe-EDTA": 0.7, "Mn-EDTA": 0.2}, by="mass", density_kg_per_l=1.1)
    assert alone.content == {"iron": pytest.approx(7.7), "manganese": pytest.approx(2.2)}
    assert alone.unit == "mg/mL"


def test_the_derivation_shows_the_factor() -> None:
    steps = read_label({"P2O5": 2.0, "Fe": 0.1}, by="mass", density_kg_per_l=1.2).steps
    assert steps[0].formula == "2 % × 10 × 1.2 kg/L × 0.4364 g P/g P2O5 / 0.3261"
    assert steps[0].result == "32.12 mg/mL"
    assert steps[1].result == "1.2 mg/mL"


@given(st.sampled_from(sorted(DECLARED)), st.just(0.0) | st.floats(1e-6, 100.0), st.floats(0.5, 3.0))
def test_what_a_nutrients_element_weighs_is_what_was_declared(name: str, percent: float, density: float) -> None:
    declared = DECLARED[name]
    form, least = least_mass(name, percent)
    assert least >= 0
    if least > 101.0:
        with pytest.raises(LabelError, match=f"{form} = "):
            content_of_label({name: percent}, by="mass", density_kg_per_l=density)
        return
    if least > 100.0:
        return  # within the slack of printed digits
    content = content_of_label({name: percent}, by="mass", density_kg_per_l=density)
    nutrient = NUTRIENTS[declared.nutrient]
    element_mg_per_ml = content[declared.nutrient] * nutrient.element_share
    # no more than the declared mass, and all of it where the element itself was declared
    assert element_mg_per_ml <= percent * 10 * density * (1 + 1e-12)
    if declared.formula == declared.element:
        assert element_mg_per_ml == pytest.approx(percent * 10 * density, rel=1e-12)


def test_no_nitrogen_at_all_is_no_form_of_it_either() -> None:
    with pytest.raises(LabelError, match="0 % in all, but NO3-N add up to 5 %"):
        content_of_label({"N": 0.0, "NO3-N": 5.0}, by="volume")
    assert content_of_label({"N": 0.0, "K2O": 5.0}, by="volume").keys() == {"potassium"}
