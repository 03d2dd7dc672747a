"""Building water as the page and the command ask for it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from littoral.acts.mix_and_feed.build_water import build_water
from littoral.acts.mix_and_feed.figures import Refused
from littoral.acts.mix_and_feed.water_form import BuiltWater, WaterForm


def built(form: WaterForm) -> BuiltWater:
    found = build_water(form)
    assert isinstance(found, BuiltWater), found
    return found


def test_a_report_in_every_unit_with_why() -> None:
    found = built(WaterForm()).source
    by_unit = {line.unit: line.figure for line in found.hardness}
    # 60 mg/L Ca and 8 mg/L Mg: 60 / 40.078 + 8 / 24.305 mmol/L; a German degree is 10 mg CaO (56.077 g/mol)
    mmol = 60 / 40.078 + 8 / 24.305
    assert by_unit["mmol/L"].value == pytest.approx(mmol, rel=1e-6)
    assert by_unit["dGH"].value == pytest.approx(mmol * 5.6077, rel=1e-4)
    assert by_unit["°fH"].value == pytest.approx(mmol * 10.0087, rel=1e-4)
    assert {line.unit: round(line.figure.value or 0, 2) for line in found.alkalinity}["meq/L"] == 2.5
    assert all(line.figure.steps for line in (*found.hardness, *found.alkalinity))
    assert all(line.level.steps for line in found.ions)
    gases = {gas.key: gas for gas in found.gases}
    assert gases.keys() == {"co2", "air ph", "oxygen"}
    assert "rule of thumb" in gases["co2"].beside
    assert gases["co2"].interval.startswith("7.29 to 11.6")
    # Standard Methods 4500-O, table of oxygen solubility: 8.418 mg/L at 24 °C
    assert gases["oxygen"].figure.value == pytest.approx(8.418, abs=0.002)


def test_ammonia_and_altitude() -> None:
    found = built(
        replace(WaterForm(), levels=(("ammonium", "1 mg/L"),), ph="8", temperature="25 °C", altitude="1000 m")
    )
    gases = {gas.key: gas for gas in found.source.gases}
    # Emerson et al. 1975: 5.38 % un-ionised at 25 °C and pH 8, of 1 mg/L NH4 = 0.7765 mg N/L
    assert gases["ammonia"].figure.value == pytest.approx(0.0538 * 0.7765 * 17.031 / 14.007, rel=5e-3)
    assert "0.887 atm" in gases["oxygen"].beside


def test_pure_water_is_built_to_the_target() -> None:
    made = built(WaterForm()).built
    assert made is not None
    assert made.mixing is None
    assert [line.salt for line in made.weigh_out] == ["CaSO4·2H2O", "MgSO4·7H2O", "KHCO3"]
    assert all(row.verdict == "holds" for row in made.checks)
    degrees = {line.unit: line.figure.value for line in made.water.hardness}
    assert degrees["dGH"] == pytest.approx(6.0, abs=0.15)
    # 3 dKH are 1.07 meq/L; 20 L of it take 21.4 mmol of KHCO3, 100.115 g/mol
    grams = {line.salt: line.grams.value for line in made.weigh_out}
    assert grams["KHCO3"] == pytest.approx(3 / 2.8038 * 20 * 0.100115, abs=0.05)
    assert all(line.grams.steps for line in made.weigh_out)


def test_as_much_tap_water_as_the_target_bears() -> None:
    made = built(replace(WaterForm(), start_from="mixture")).built
    assert made is not None
    assert made.mixing is not None
    # alkalinity is the narrowest: 3 of 7 dKH
    assert made.mixing.value == pytest.approx(3 / 7, rel=1e-6)
    assert made.mixing.steps


def test_without_a_target_nothing_is_built() -> None:
    assert built(replace(WaterForm(), target_gh="")).built is None


def test_tap_and_pure_water_for_a_hardness_without_salts() -> None:
    hardness, alkalinity = built(WaterForm()).blends
    # 60 mg/L Ca and 8 mg/L Mg are 10.24 dGH, so 6 dGH take 6 / 10.24 of it
    degrees = (60 / 40.078 + 8 / 24.305) * 5.6077
    assert hardness.what == "hardness"
    assert hardness.this_water is not None
    assert hardness.pure_water is not None
    assert hardness.this_water.value == pytest.approx(20 * 6 / degrees, rel=1e-4)
    assert (hardness.this_water.value or 0) + (hardness.pure_water.value or 0) == pytest.approx(20.0)
    assert hardness.this_water.steps
    assert hardness.other is not None
    assert hardness.other.value == pytest.approx(7 * 6 / degrees, rel=1e-4)
    assert alkalinity.this_water is not None
    assert alkalinity.this_water.value == pytest.approx(20 * 3 / 7, rel=1e-9)


def test_a_hardness_above_the_waters_cannot_be_mixed_and_says_why() -> None:
    hardness, _ = built(replace(WaterForm(), target_gh="15 dGH")).blends
    assert hardness.this_water is None
    assert "Salts raise it" in hardness.why_not


def test_a_report_without_hardness_has_no_mixture_for_it() -> None:
    found = built(replace(WaterForm(), levels=(("nitrate", "3 mg/L"),)))
    assert [one.what for one in found.blends] == ["alkalinity"]


def test_an_impure_jar_is_weighed_more_generously() -> None:
    form = replace(WaterForm(), shelf=(("CaSO4·2H2O", "0.01 g"), ("MgSO4·7H2O", "0.01 g"), ("KHCO3", "0.01 g")))
    whole, jar = built(form).built, built(replace(form, purity=(("KHCO3", "90 %"),))).built
    assert whole is not None
    assert jar is not None
    grams = [{line.salt: line.exact.value or 0 for line in made.weigh_out} for made in (whole, jar)]
    assert grams[1]["KHCO3"] == pytest.approx(grams[0]["KHCO3"] / 0.9, rel=1e-6)
    assert grams[1]["MgSO4·7H2O"] == pytest.approx(grams[0]["MgSO4·7H2O"], rel=1e-6)
    line = next(line for line in jar.weigh_out if line.salt == "KHCO3")
    assert any("0.9 (purity)" in step.formula for step in line.grams.steps)


def test_other_hydrates_and_limits_are_derived() -> None:
    found = built(WaterForm())
    assert found.built is not None
    others = {line.salt: [other.salt for other in line.other_forms] for line in found.built.weigh_out}
    assert others["MgSO4·7H2O"] == ["MgSO4 anhydrous"]
    for water in (found.source, found.built.water):
        assert {row.what for row in water.limits} - {step.what for step in water.limit_steps} == set()


WRONG = {
    "purity": ("purity", {"purity": (("KHCO3", "150 %"),)}, "above 100 %"),
    "purity of none": ("purity", {"purity": (("KHCO3", "0 %"),)}, "above zero"),
    "purity of another": ("purity", {"purity": (("KCl", "98 %"),)}, "not in use here"),
    "negative": ("levels", {"levels": (("calcium", "-60 mg/L"),)}, "below zero"),
    "unknown": ("levels", {"levels": (("gold", "1 mg/L"),)}, "nothing Littoral keeps account of"),
    "twice": ("levels", {"levels": (("calcium", "1 mg/L"), ("Ca", "2 mg/L"))}, "given twice"),
    "nothing": ("levels", {"levels": (), "alkalinity": ""}, "says nothing of the water"),
    "pH": ("ph", {"ph": "nan"}, "no plain number"),
    "frozen": ("temperature", {"temperature": "80 °C"}, "0 to 50 °C"),
    "share": ("share", {"share": "120 %"}, "above 100 %"),
    "no volume": ("volume", {"volume": "0 L"}, "above zero"),
    "hydrate": ("shelf", {"shelf": (("MgSO4", "0.1 g"),)}, "leaves open which form"),
    "bare shelf": ("shelf", {"shelf": ()}, "is empty"),
    "brine": ("target_gh", {"target_gh": "400 dGH"}, "at most 60"),
    "contradiction": ("levels", {"levels": (("calcium", "60 mg/L"),), "hardness": "1 dGH"}, "more than the hardness"),
    "start": ("start_from", {"start_from": "rain"}, "pure water"),
}


@pytest.mark.parametrize("case", WRONG)
def test_each_mistake_is_one_message_at_its_field(case: str) -> None:
    field, change, said = WRONG[case]
    found = build_water(replace(WaterForm(), **change))
    assert isinstance(found, Refused)
    assert [(fault.where, said in str(fault)) for fault in found.faults] == [(field, True)]


def test_every_ion_of_the_built_water_says_where_it_comes_from() -> None:
    made = built(WaterForm()).built
    assert made is not None
    by_key = {line.nutrient: line.level.steps for line in made.water.ions}
    # potassium comes with KHCO3 and sulphate with two salts: nobody reported them
    for key in ("potassium", "sulphate"):
        assert [step.what for step in by_key[key]] == [f"{key} reached"]
    # 2.1 g KHCO3 in 20 L: 39.098 of 100.114 g/mol
    assert "41" in by_key["potassium"][0].result


def test_without_an_alkalinity_asked_a_mixture_takes_what_the_tap_brings() -> None:
    form = replace(WaterForm(), start_from="mixture", target_gh="6 dGH", target_kh="")
    found = built(form)
    assert [blend.what for blend in found.blends] == ["hardness"]
    made = found.built
    assert made is not None
    assert made.mixing is not None
    # 6 dGH at 3 : 1 are 27.66 mg/L Ca and 9.22 mg/L Mg (10 mg CaO per degree): calcium bounds, 27.66 of 60
    assert made.mixing.value == pytest.approx(27.66 / 60, rel=1e-3)
    degrees = {line.unit: line.figure.value for line in made.water.alkalinity}
    assert degrees["dKH"] == pytest.approx(7 * 27.66 / 60, rel=1e-3)
    assert all(row.verdict == "holds" for row in made.checks)
    assert "KHCO3" not in [line.salt for line in made.weigh_out]
