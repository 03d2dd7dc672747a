"""What stands on the jar: its hydrate, its purity, its label; and the limits of a dose, derived."""

from __future__ import annotations

import csv
from dataclasses import replace
from datetime import date

import pytest

from littoral.acts.mix_and_feed.exports import bottle_csv, weigh_out_csv
from littoral.acts.mix_and_feed.figures import Refused
from littoral.acts.mix_and_feed.mix_bottle import mix_bottle
from littoral.acts.mix_and_feed.mix_form import Mixed, MixForm, OwnForm
from littoral.chemistry.recipes import recipes

DAY = date(2026, 3, 2)
MAGNESIUM = MixForm(
    how="target", target=(("magnesium", "1 mg/L"),), salts=(("MgSO4·7H2O", ""),), dose="5 mL", net_volume="50 L"
)
BAG = OwnForm("bag", label=(("NO3-N", "6 %"),), grade="6-0-20")


def mixed(form: MixForm) -> Mixed:
    found = mix_bottle(form, today=DAY)
    assert isinstance(found, Mixed), found
    return found


def held(found: Mixed, nutrient: str) -> float:
    return next(line.in_bottle.value or 0.0 for line in found.nutrients if line.nutrient == nutrient)


def test_each_other_hydrate_says_what_it_would_take() -> None:
    found = mixed(MAGNESIUM)
    line = found.weigh_out[0]
    other = line.other_forms[0]
    assert [one.salt for one in line.other_forms] == ["MgSO4 anhydrous"]
    # formula weights, CRC Handbook: MgSO4 120.368, MgSO4·7H2O 246.474 g/mol
    assert other.grams.value == pytest.approx((line.exact.value or 0) * 120.368 / 246.474, abs=0.0051)
    assert any("246.4" in step.formula and "120.3" in step.formula for step in other.grams.steps)
    assert other.grams.steps[-1].what == "to the scale"
    # what is said is true: the other jar gives the same bottle
    swapped = mixed(replace(MAGNESIUM, salts=((other.salt, ""),)))
    assert swapped.weigh_out[0].grams.value == pytest.approx(other.grams.value, abs=0.0101)


def test_a_salt_of_one_form_and_a_substance_of_ones_own_have_no_other() -> None:
    assert all(line.other_forms == () for line in mixed(MixForm()).weigh_out)
    own = replace(MixForm(), salts=(("salt", "5 g"),), own=(OwnForm("salt", "MgSO4·7H2O"),))
    assert mixed(own).weigh_out[0].other_forms == ()


@pytest.mark.parametrize("salt", ["CaCl2·2H2O", "NaH2PO4·H2O", "CuSO4·5H2O"])
def test_all_other_forms_bring_as_much(salt: str) -> None:
    form = replace(MixForm(), salts=((salt, "0.5 g"),), anyway="arithmetic")
    first = mixed(form)
    assert first.weigh_out[0].other_forms
    for other in first.weigh_out[0].other_forms:
        again = mixed(replace(form, salts=((other.salt, f"{other.grams.value:.9f} g"),)))
        for line in first.nutrients:
            assert held(again, line.nutrient) == pytest.approx(line.in_bottle.value, rel=1e-6)


def test_an_impure_jar_takes_more_and_the_derivation_says_so() -> None:
    whole, jar = mixed(MAGNESIUM), mixed(replace(MAGNESIUM, purity=(("MgSO4·7H2O", "98 %"),)))
    pure_g, jar_g = whole.weigh_out[0].exact.value or 0, jar.weigh_out[0].exact.value or 0
    assert jar_g == pytest.approx(pure_g / 0.98, rel=1e-9)
    assert any("/ 0.98" in step.formula for step in jar.weigh_out[0].exact.steps)
    assert jar.weigh_out[0].purity is not None
    assert jar.weigh_out[0].purity.text == "98 %"
    assert held(jar, "magnesium") == pytest.approx(held(whole, "magnesium"), rel=1e-3)
    # another hydrate stands in for what is pure in this jar
    assert jar.weigh_out[0].other_forms[0].grams.value == whole.weigh_out[0].other_forms[0].grams.value
    assert jar.label is not None
    assert "98 % pure" in dict(jar.label.composition)["MgSO4·7H2O"]


def test_grams_that_one_weighs_stay_and_bring_less() -> None:
    form = replace(MixForm(), salts=(("KNO3", "33 g"),))
    whole, jar = mixed(form), mixed(replace(form, purity=(("KNO3", "98 %"),)))
    assert jar.weigh_out[0].grams.text == "33 g"
    assert held(jar, "nitrate") == pytest.approx(0.98 * held(whole, "nitrate"), rel=1e-12)
    steps = next(line.in_bottle.steps for line in jar.nutrients if line.nutrient == "nitrate")
    assert any("0.98 (purity)" in step.formula for step in steps)


def test_a_purity_of_a_substance_by_formula_of_ones_own() -> None:
    form = replace(MixForm(), salts=(("mine", "10 g"),), own=(OwnForm("mine", "Mg(NO3)2·6H2O"),))
    beside = replace(form, own=(OwnForm("mine", "Mg(NO3)2·6H2O", "98 %"),))
    apart = replace(form, purity=(("mine", "98 %"),))
    assert held(mixed(apart), "magnesium") == pytest.approx(held(mixed(beside), "magnesium"), rel=1e-12)


def test_a_recipe_from_an_impure_jar() -> None:
    form = MixForm(
        how="recipe", recipe=next(one for one in recipes() if "Hoagland" in one), only=("KNO3",), made_up_to="1 L",
        dose="10 mL", net_volume="1000 L",
    )  # fmt: skip
    whole, jar = mixed(form), mixed(replace(form, purity=(("KNO3", "95 %"),)))
    assert (jar.weigh_out[0].exact.value or 0) == pytest.approx((whole.weigh_out[0].exact.value or 0) / 0.95)


def test_a_label_is_read_both_ways_side_by_side() -> None:
    form = replace(MixForm(), salts=(("bag", "10 g"),), own=(BAG,))
    found = mixed(form)
    (reading,) = found.labels
    (line,) = reading.lines
    # Regulation (EC) 2003/2003, Art. 6: K = K2O x 0.830
    assert line.as_oxide.value == pytest.approx(20 * 0.830, abs=0.02)
    assert line.as_element.value == 20.0
    assert line.as_oxide.steps
    assert line.as_element.steps
    assert line.taken == "% K2O"
    assert "2.29" in reading.trap
    assert held(found, "potassium") == pytest.approx(10 * 20 * 0.830 * 10 / 500, rel=1e-3)

    as_elements = mixed(replace(form, own=(replace(BAG, counting="elements"),)))
    assert held(as_elements, "potassium") == pytest.approx(10 * 20 * 10 / 500, rel=1e-9)
    assert as_elements.labels[0].lines[0].taken == "% K"


def test_a_label_that_is_not_clear_warns_and_says_what_was_taken() -> None:
    form = replace(MixForm(), salts=(("bag", "10 g"),), own=(replace(BAG, counting="not clear"),))
    found = mixed(form)
    row = next(row for row in found.checks if "as oxides, or as elements" in row.what)
    assert row.verdict == "warns"
    assert "Reckoned as oxides" in row.comment
    assert held(found, "potassium") == held(mixed(replace(form, own=(BAG,))), "potassium")
    assert not any("as oxides" in row.what for row in mixed(replace(form, own=(BAG,))).checks)


def test_a_counting_that_weighs_more_than_the_whole_is_ruled_out() -> None:
    """Potassium nitrate is sold as 13-0-46; as elements 13 % N of nitrate and 46 % K would be 103.5 g in 100 g."""
    nitre = OwnForm("bag", label=(("NO3-N", "13 %"),), grade="13-0-46", counting="not clear")
    form = replace(MixForm(), salts=(("bag", "10 g"),), own=(nitre,))
    found = mixed(form)
    assert "103.5 %" in found.labels[0].settled
    assert not any("as oxides" in row.what for row in found.checks)
    refused = mix_bottle(replace(form, own=(replace(nitre, counting="elements"),)), today=DAY)
    assert isinstance(refused, Refused)
    assert [(fault.where, "103.5 %" in fault.what) for fault in refused.faults] == [("own", True)]


def test_phosphorus_of_a_plain_label_in_both_countings() -> None:
    own = OwnForm("powder", label=(("P", "22 %"), ("Fe (chelated by EDTA)", "1 %")))
    (reading,) = mixed(replace(MixForm(), salts=(("powder", "1 g"),), own=(own,))).labels
    # Regulation (EC) 2003/2003, Art. 6: P = P2O5 x 0.436
    assert reading.lines[0].as_oxide.value == pytest.approx(22 * 0.436, abs=0.01)
    assert (reading.lines[0].taken, reading.counting) == ("% P", "")


def test_every_limit_of_a_dose_is_derived() -> None:
    found = mixed(replace(MixForm(), dose="400 mL"))
    assert {step.what for step in found.limit_steps} == {row.what for row in found.limits}
    warned = [row for row in found.limits if row.verdict in ("warns", "fails")]
    assert warned
    derived = {step.what: step for step in found.limit_steps}
    assert all(f"{row.limit:.4g}" in derived[row.what].result for row in warned if row.limit is not None)


def test_the_table_of_a_forced_bottle_says_why_and_over_what() -> None:
    form = replace(MixForm(), dose="400 mL")
    assert len(bottle_csv(mixed(form)).splitlines()) == 1  # stopped: nothing to weigh
    rows = list(csv.DictReader(bottle_csv(mixed(replace(form, anyway="=a bucket of plants"))).splitlines()))
    assert {row["given all the same because"] for row in rows} == {"'=a bucket of plants"}
    assert all("nitrate" in row["one dose passes"] for row in rows)
    quiet = list(csv.DictReader(bottle_csv(mixed(MixForm())).splitlines()))
    assert {row["given all the same because"] for row in quiet} == {""}


def test_the_table_holds_purity_and_other_forms() -> None:
    found = mixed(replace(MAGNESIUM, purity=(("MgSO4·7H2O", "98 %"),)))
    (row,) = csv.DictReader(weigh_out_csv(found.weigh_out).splitlines())
    assert row["purity (%)"] == "98"
    assert row["or of another form"].endswith(" g MgSO4 anhydrous")
