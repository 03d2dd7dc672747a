"""Mixing a bottle as the page and the command ask for it: numbers, stops, and every mistake at once."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from littoral.acts.mix_and_feed.figures import Refused
from littoral.acts.mix_and_feed.mix_bottle import mix_bottle
from littoral.acts.mix_and_feed.mix_form import Mixed, MixForm, OwnForm
from littoral.chemistry.recipes import recipe, recipes

DAY = date(2026, 3, 2)


def mixed(form: MixForm) -> Mixed:
    found = mix_bottle(form, today=DAY)
    assert isinstance(found, Mixed), found
    return found


def refused(form: MixForm) -> Refused:
    found = mix_bottle(form, today=DAY)
    assert isinstance(found, Refused)
    return found


def value(figure: object) -> float:
    found = getattr(figure, "value", None)
    assert isinstance(found, float)
    return found


def test_the_form_as_it_begins_is_a_bottle_with_a_label() -> None:
    found = mixed(MixForm())
    assert [(line.salt, line.grams.text) for line in found.weigh_out] == [
        ("KNO3", "33 g"),
        ("KH2PO4", "2.6 g"),
        ("K2SO4", "8 g"),
    ]
    adds = {line.nutrient: line for line in found.nutrients}
    # 33 g of KNO3 hold 61.33 % nitrate (62.005 / 101.103, IUPAC); 2.2 of 500 mL in 42 L
    assert value(adds["nitrate"].adds) == pytest.approx(33_000 * 62.005 / 101.103 * 2.2 / 500 / 42, rel=1e-5)
    assert value(adds["nitrate"].element) == pytest.approx(value(adds["nitrate"].adds) / 4.4268, rel=1e-4)
    assert "4.4268" in adds["nitrate"].trap
    assert found.stop is None
    assert found.label is not None
    assert (found.label.made_on, found.discard_after) == ("2026-03-02", "2027-03-02")


def test_every_number_answers_why() -> None:
    found = mixed(replace(MixForm(), how="target", target=(("nitrate", "5 mg/L"), ("phosphate", "0.5 mg/L"))))
    for line in found.nutrients:
        assert line.adds.steps, line.nutrient
        assert line.element.steps
    assert all(line.exact.steps for line in found.weigh_out)
    assert found.keeps.steps


def test_a_published_recipe_a_hundredfold() -> None:
    # Hoagland & Arnon 1950, solution 1: KNO3 5 mM, which is 505.5 mg/L; a hundredfold litre takes 50.55 g
    name = next(one for one in recipes() if "Hoagland" in one)
    form = MixForm(how="recipe", recipe=name.upper(), times="100", only=("KNO3",), made_up_to="1 L")
    found = mixed(replace(form, dose="10 mL", net_volume="1000 L"))
    assert [line.salt for line in found.weigh_out] == ["KNO3"]
    assert value(found.weigh_out[0].grams) == pytest.approx(100 * 5 * 101.103 / 1000, abs=0.02)
    assert found.source == recipe(name).source


@settings(max_examples=25, deadline=None)
@given(st.floats(1.0, 20.0), st.floats(0.2, 2.0), st.floats(0.5, 40.0))
def test_what_was_asked_comes_out_of_the_bottle_again(nitrate: float, phosphate: float, dose: float) -> None:
    """Target to grams, and those grams to what a dose adds: the same, within what the scale's step can do."""
    asked = (("nitrate", f"{nitrate:.3f} mg/L"), ("phosphate", f"{phosphate:.3f} mg/L"))
    form = MixForm(
        how="target",
        target=asked,
        salts=(("KNO3", ""), ("KH2PO4", "")),
        scale_step="0.0001 g",
        dose=f"{dose:.2f} mL",
        made_up_to="1 L",
        net_volume="10 L",
        anyway="a property of the arithmetic",
    )
    there = mixed(form)
    back = mixed(
        replace(form, how="salts", salts=tuple((line.salt, line.grams.text) for line in there.weigh_out), target=())
    )
    adds = {line.nutrient: value(line.adds) for line in back.nutrients}
    assert adds["nitrate"] == pytest.approx(float(f"{nitrate:.3f}"), rel=2e-3)
    assert adds["phosphate"] == pytest.approx(float(f"{phosphate:.3f}"), rel=2e-3)


def test_a_substance_of_ones_own() -> None:
    form = MixForm(
        salts=(("my nitrate", "10 g"), ("bag", "5 g")),
        own=(
            OwnForm("my nitrate", "Mg(NO3)2·6H2O", "98 %"),
            OwnForm("bag", label=(("K2O", "46 %"), ("NO3-N", "13 %"))),
        ),
    )
    found = mixed(form)
    held = {line.nutrient: value(line.in_bottle) for line in found.nutrients}
    assert held["magnesium"] == pytest.approx(0.98 * 10_000 * 24.305 / 256.41 / 500, rel=1e-3)
    assert any("hazards are not known here" in caution for caution in found.cautions)


def test_salts_that_clash_are_split() -> None:
    found = mixed(replace(MixForm(), salts=(("Ca(NO3)2·4H2O", "20 g"), ("MgSO4·7H2O", "20 g"), ("KH2PO4", "5 g"))))
    assert len(found.split) > 1
    assert any(row.verdict == "fails" for row in found.checks)


def test_a_dose_that_passes_a_limit_is_stopped_until_somebody_says_why() -> None:
    form = replace(MixForm(), dose="400 mL")
    stopped = mixed(form)
    assert stopped.stop is not None
    assert stopped.stop.stands
    assert "32.8 mg N/L" in stopped.stop.explanation
    assert stopped.stop.steps
    assert (stopped.weigh_out, stopped.how_to, stopped.label) == ((), (), None)
    assert stopped.nutrients  # what it would add is shown: it says why

    given = mixed(replace(form, anyway="  a bucket of  plants, no animals "))
    assert given.stop is not None
    assert not given.stop.stands
    assert "a bucket of plants, no animals" in given.stop.words
    assert given.weigh_out
    assert given.label is not None
    assert given.label.anyway == "a bucket of plants, no animals"


def test_a_limit_that_the_water_passes_already_stops_nothing() -> None:
    found = mixed(replace(MixForm(), in_water=(("nitrate", "20 mg/L"),)))
    assert found.stop is None


def test_a_kilogram_into_twenty_litres_is_stopped() -> None:
    form = replace(MixForm(), salts=(("KNO3", "1 kg"),), made_up_to="5 L", dose="5 L", net_volume="20 L")
    found = mixed(form)
    assert found.stop is not None
    assert found.stop.stands
    assert "50000 mg of salts to each litre" in found.stop.explanation
    assert "units" in found.stop.explanation


def test_limits_that_cannot_be_told_are_named() -> None:
    found = mixed(replace(MixForm(), salts=(("CuSO4·5H2O", "1 g"),), hardness="", dose="0.1 mL"))
    assert any("copper" in caution for caution in found.cautions if caution.startswith("Not held against"))


WRONG = {
    "negative mass": (replace(MixForm(), salts=(("KNO3", "-1 g"),)), "salts", "below zero"),
    "NaN": (replace(MixForm(), salts=(("KNO3", "nan g"),)), "salts", "does not begin with a number"),
    "infinite": (replace(MixForm(), salts=(("KNO3", "1e999 g"),)), "salts", "too large"),
    "hydrate": (replace(MixForm(), salts=(("MgSO4", "1 g"),)), "salts", "MgSO4·7H2O"),
    "unknown": (replace(MixForm(), salts=(("unobtainium", "1 g"),)), "salts", "no salt in the table"),
    "twice": (replace(MixForm(), salts=(("KNO3", "1 g"), ("nitre", "2 g"))), "salts", ""),
    "no unit": (replace(MixForm(), salts=(("KNO3", "33"),)), "salts", "unit is missing"),
    "no salt": (replace(MixForm(), salts=()), "salts", "is empty"),
    "zero bottle": (replace(MixForm(), made_up_to="0 mL"), "made_up_to", "above zero"),
    "too dense": (replace(MixForm(), made_up_to="5 mL"), "salts", ""),
    "negative water": (replace(MixForm(), net_volume="-42 L"), "net_volume", "below zero"),
    "a lake": (replace(MixForm(), net_volume="1e9 L"), "net_volume", "cannot be meant"),
    "pH": (replace(MixForm(), tank_ph="15"), "tank_ph", "15"),
    "day": (replace(MixForm(), made_on="yesterday"), "made_on", "no date"),
    "recipe": (replace(MixForm(), how="recipe", recipe="nobody's"), "recipe", "no recipe here"),
    "nutrient": (replace(MixForm(), how="target", target=(("gold", "1 mg/L"),)), "target", "gold"),
    "no source": (
        replace(MixForm(), how="target", target=(("magnesium", "1 mg/L"),)), "target", "none of the salts brings"
    ),
    "purity": (replace(MixForm(), own=(OwnForm("x", "KNO3", "150 %"),)), "own", "above 100 %"),
    "purity of zero": (replace(MixForm(), purity=(("KNO3", "0 %"),)), "purity", "above zero"),
    "purity above all": (replace(MixForm(), purity=(("KNO3", "101 %"),)), "purity", "above 100 %"),
    "purity of no number": (replace(MixForm(), purity=(("KNO3", "nan %"),)), "purity", "does not begin with a number"),
    "purity below zero": (replace(MixForm(), purity=(("KNO3", "-98 %"),)), "purity", "below zero"),
    "purity of nothing here": (replace(MixForm(), purity=(("KCl", "98 %"),)), "purity", "not in use here"),
    "purity twice": (replace(MixForm(), purity=(("KNO3", "98 %"), ("potassium nitrate", "99 %"))), "purity", "twice"),
    "purity and label": (
        replace(MixForm(), salts=(("bag", "1 g"),), own=(OwnForm("bag", label=(("K2O", "46 %"),)),),
                purity=(("bag", "98 %"),)), "purity", "said already",
    ),
    "no grade": (replace(MixForm(), own=(OwnForm("bag", grade="13-46"),)), "own", "is no grade"),
    "nitrogen of no form": (replace(MixForm(), own=(OwnForm("bag", grade="13-0-46"),)), "own", "in which form"),
    "grade twice": (
        replace(MixForm(), own=(OwnForm("bag", grade="0-0-46", label=(("K2O", "46 %"),)),)), "own", "says it already"
    ),
    "counting": (replace(MixForm(), own=(OwnForm("bag", grade="0-0-46", counting="grams"),)), "own", "grams"),
    "how": (replace(MixForm(), how="magic"), "how", "magic"),
    "boiling": (replace(MixForm(), coldest="120 °C"), "coldest", "no stock is kept"),
}  # fmt: skip


@pytest.mark.parametrize("case", WRONG)
def test_each_mistake_is_one_message_at_its_field(case: str) -> None:
    form, field, said = WRONG[case]
    faults = refused(form).faults
    assert {fault.where for fault in faults} == {field}
    assert len(faults) == 1
    assert said in str(faults[0])
    assert faults[0].right or "Write" in faults[0].what or "such as" in faults[0].what or "There are" in faults[0].what


def test_mistakes_are_shown_together_with_their_rows() -> None:
    form = replace(MixForm(), salts=(("KNO3", "1 g"), ("MgSO4", "1 g"), ("KCl", "-1 g")), dose="0 mL", net_volume="x")
    found = {(fault.where, fault.line) for fault in refused(form).faults}
    assert found == {("salts", 2), ("salts", 3), ("dose", None), ("net_volume", None)}


def test_a_decimal_comma_anywhere_makes_three_digits_after_a_point_unclear() -> None:
    assert mixed(replace(MixForm(), dose="1.500 mL")).stop is None
    faults = refused(replace(MixForm(), dose="1.500 mL", salts=(("KNO3", "3,5 g"),))).faults
    assert [(fault.where, "1.5 or 1500" in fault.what) for fault in faults] == [("dose", True)]
