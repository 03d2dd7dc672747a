"""From a target to a weigh-out list and back: exact where it can be, said where it cannot, nothing lost on the way."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from littoral.chemistry.dose_targets import WeighingError, added_by_dose, target_of_dose
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.own_substances import own_by_label
from littoral.chemistry.recipes import recipe, recipes
from littoral.chemistry.salts import UnknownSaltError, content_of_salt
from littoral.chemistry.stock import StockError, content_of_stock
from littoral.chemistry.weighing import weigh_out, weigh_out_recipe

MACRO = ["KNO3", "KH2PO4", "K2SO4"]


def test_the_published_stock_example() -> None:
    """40 g KNO3 made up to 500 mL, 10 mL into 200 L: NO3 2.4531, K 1.54687 mg/L; and back from the nitrate alone."""
    content = content_of_stock({"KNO3": 40.0}, made_up_to_ml=500.0)
    added = added_by_dose(content, net_volume_l=200.0, dose_ml=10.0)
    assert added["nitrate"] == pytest.approx(2.4531, abs=5e-5)
    assert added["potassium"] == pytest.approx(1.54687, abs=5e-5)
    target = target_of_dose({"nitrate": 2.4531}, net_volume_l=200.0, dose_ml=10.0)
    found = weigh_out(target, ["KNO3"], made_up_to_ml=500.0, scale_step_g=0.1)
    assert found.grams == {"KNO3": 40.0}
    assert found.met


def test_three_targets_from_three_salts() -> None:
    target = target_of_dose({"nitrate": 5.0, "phosphate": 0.5, "potassium": 6.0}, net_volume_l=54.0, dose_ml=5.0)
    found = weigh_out(target, MACRO, made_up_to_ml=500.0)
    assert found.met
    assert all(row.error is None or abs(row.error) < 1e-3 for row in found.reached)
    along = next(row for row in found.reached if row.nutrient == "sulphate")
    assert (along.asked_mg_per_ml, along.error) == (None, None)
    assert all(row.verdict == "holds" for row in found.rows)


def test_targets_that_contradict_each_other() -> None:
    """Potassium nitrate brings 0.63 mg of potassium with each mg of nitrate: less cannot be had from it."""
    found = weigh_out({"nitrate": 10.0, "potassium": 2.0}, ["KNO3"], made_up_to_ml=500.0)
    assert not found.met
    warned = [row for row in found.rows if row.verdict == "warns"]
    assert len(warned) == 2
    assert all("cannot meet all targets together" in row.comment for row in warned)


def test_none_of_it_is_a_target_too() -> None:
    found = weigh_out({"nitrate": 10.0, "potassium": 0.0}, ["KNO3", "Mg(NO3)2·6H2O"], made_up_to_ml=500.0)
    assert found.met
    assert found.grams["KNO3"] == 0.0


def test_a_scale_too_coarse() -> None:
    target = {"copper": 0.01, "iron": 1.0}
    found = weigh_out(target, ["CuSO4·5H2O", "Na2Fe-DTPA"], made_up_to_ml=100.0, scale_step_g=0.1)
    copper = next(row for row in found.rows if "CuSO4" in row.what and row.what.startswith("weighing"))
    assert copper.verdict == "fails"
    assert "make a stronger solution first" in copper.comment


def test_rounding_together_beats_rounding_alone() -> None:
    """Every other combination of steps near the exact masses leaves a larger error."""
    target = {"nitrate": 9.3, "phosphate": 0.9, "potassium": 9.9}
    found = weigh_out(target, MACRO, made_up_to_ml=250.0, scale_step_g=0.5)

    def error(grams: dict[str, float]) -> float:
        got = content_of_stock(grams, made_up_to_ml=250.0)
        return sum((got.get(key, 0.0) / asked - 1) ** 2 for key, asked in target.items())

    steps = [(math.floor(g / 0.5) * 0.5, math.ceil(g / 0.5) * 0.5) for g in found.exact_g.values()]
    others = [dict(zip(MACRO, (a, b, c), strict=True)) for a in steps[0] for b in steps[1] for c in steps[2]]
    assert error(dict(found.grams)) == pytest.approx(min(error(grams) for grams in others))


def test_a_substance_of_ones_own() -> None:
    own = own_by_label("sack", {"NO3-N": 14.4, "NH4-N": 1.1, "CaO": 26.0})
    found = weigh_out({"calcium": 5.0}, ["sack"], made_up_to_ml=1000.0, own=[own])
    assert found.grams["sack"] == pytest.approx(5.0 / 0.18582, rel=1e-3)
    assert {row.nutrient for row in found.reached} == {"calcium", "nitrate", "ammonium"}


def test_the_derivation_adds_up() -> None:
    found = weigh_out({"nitrate": 10.0}, ["KNO3"], made_up_to_ml=500.0)
    assert found.steps[0].formula == "8.15 g × 613.28 mg/g, / 500 mL"
    assert found.steps[0].result == "9.9965 mg/mL"


@pytest.mark.parametrize(
    ("target", "salts", "volume_ml", "step_g", "message"),
    [
        ({}, ["KNO3"], 500.0, 0.1, "nothing is asked for"),
        ({"nitrate": 0.0}, ["KNO3"], 500.0, 0.1, "nothing is asked for"),
        ({"nitrate": -1.0}, ["KNO3"], 500.0, 0.1, "-1 of nitrate"),
        ({"nitrate": math.nan}, ["KNO3"], 500.0, 0.1, "nan of nitrate"),
        ({"NO3": 1.0}, ["KNO3"], 500.0, 0.1, '"NO3" is no nutrient'),
        ({"iron": 1.0}, ["KNO3"], 500.0, 0.1, "none of the salts brings iron"),
        ({"nitrate": 1.0}, [], 500.0, 0.1, "no salt is weighed in"),
        ({"nitrate": 1.0}, ["KNO3"], 0.0, 0.1, "made up to 0 mL"),
        ({"nitrate": 1.0}, ["KNO3"], 500.0, 0.0, "a scale that shows 0 g"),
        ({"nitrate": 5000.0}, ["KNO3"], 500.0, 0.1, "more salt than water can hold"),
    ],
)
def test_what_cannot_be(
    target: dict[str, float], salts: list[str], volume_ml: float, step_g: float, message: str
) -> None:
    with pytest.raises(StockError) as refusal:
        weigh_out(target, salts, made_up_to_ml=volume_ml, scale_step_g=step_g)
    assert message in str(refusal.value)


def test_salts_and_doses_that_cannot_be() -> None:
    with pytest.raises(UnknownSaltError, match="leaves open which form"):
        weigh_out({"magnesium": 1.0}, ["MgSO4"], made_up_to_ml=500.0)
    with pytest.raises(WeighingError, match="13 salts at once"):
        weigh_out({"nitrate": 1.0}, THIRTEEN, made_up_to_ml=500.0)
    for volume, dose in ((0.0, 5.0), (54.0, 0.0), (math.inf, 5.0), (54.0, math.nan)):
        with pytest.raises(WeighingError, match="above zero"):
            target_of_dose({"nitrate": 1.0}, net_volume_l=volume, dose_ml=dose)
        with pytest.raises(WeighingError, match="above zero"):
            added_by_dose({"nitrate": 1.0}, net_volume_l=volume, dose_ml=dose)


THIRTEEN = [
    *("KNO3", "NaNO3", "Ca(NO3)2·4H2O", "Mg(NO3)2·6H2O", "NH4NO3", "KCl", "K2SO4", "KH2PO4", "NaCl", "NH4Cl"),
    *("CaCl2·2H2O", "MgSO4·7H2O", "urea"),
]
GRAMS = st.floats(0.5, 40.0)


@settings(max_examples=60, deadline=None)
@given(GRAMS, GRAMS, GRAMS, st.floats(200.0, 2000.0))
def test_what_salts_hold_is_weighed_out_again(a: float, b: float, c: float, volume_ml: float) -> None:
    """A target that came from salts leads back to the same grams (each salt has a nutrient of its own)."""
    grams = dict(zip(MACRO, (a, b, c), strict=True))
    content = content_of_stock(grams, made_up_to_ml=volume_ml)
    target = {key: content[key] for key in ("nitrate", "phosphate", "sulphate")}
    found = weigh_out(target, MACRO, made_up_to_ml=volume_ml, scale_step_g=0.01)
    assert found.met
    assert dict(found.exact_g) == {key: pytest.approx(value, rel=1e-6) for key, value in grams.items()}
    assert all(abs(found.grams[key] - value) <= 0.01 + 1e-9 for key, value in grams.items())


@settings(max_examples=60, deadline=None)
@given(
    st.dictionaries(st.sampled_from(THIRTEEN[:8]), GRAMS, min_size=1, max_size=4),
    st.floats(200.0, 2000.0),
    st.floats(0.5, 50.0),
    st.floats(10.0, 1000.0),
)
def test_mass_is_kept_from_salt_to_tank(
    grams: dict[str, float], volume_ml: float, dose_ml: float, net_volume_l: float
) -> None:
    """All doses of a bottle bring to the tank what was weighed in, by nutrient and by element."""
    content = content_of_stock(grams, made_up_to_ml=volume_ml)
    doses = volume_ml / dose_ml
    added = added_by_dose(content, net_volume_l=net_volume_l, dose_ml=dose_ml)
    for key in content:
        weighed_mg = sum(content_of_salt(salt).get(key, 0.0) * g for salt, g in grams.items())
        assert added[key] * net_volume_l * doses == pytest.approx(weighed_mg, rel=1e-9)
        assert key in NUTRIENTS


def test_an_impure_jar_is_weighed_more_generously() -> None:
    """98 g of pure salt are 100 g of a jar that is 98 % pure; what the bottle holds stays what was asked."""
    asked = {"nitrate": 40.0, "phosphate": 4.0}
    salts = ("potassium nitrate", "KH2PO4")
    whole = weigh_out(asked, salts, made_up_to_ml=500.0, scale_step_g=0.0001)
    jar = weigh_out(asked, salts, made_up_to_ml=500.0, scale_step_g=0.0001, purity={"potassium nitrate": 0.98})
    assert jar.exact_g["KNO3"] == pytest.approx(whole.exact_g["KNO3"] / 0.98, rel=1e-9)
    assert jar.exact_g["KH2PO4"] == pytest.approx(whole.exact_g["KH2PO4"], rel=1e-9)
    held = {row.nutrient: row.got_mg_per_ml for row in jar.reached}
    assert held["nitrate"] == pytest.approx(40.0, rel=1e-5)
    assert any("× 0.98 (purity)" in step.formula for step in jar.steps)


def test_a_recipe_from_an_impure_jar() -> None:
    name = next(one for one in recipes() if "Hoagland" in one)
    of = {"times": 100.0, "made_up_to_ml": 1000.0, "only": ("KNO3",)}
    # Hoagland & Arnon 1950, solution 1: 5 mmol/L of KNO3, here from a jar of which 98 % is KNO3
    assert weigh_out_recipe(recipe(name), purity={"KNO3": 0.98}, **of).exact_g["KNO3"] == pytest.approx(
        0.5 * 101.103 / 0.98, rel=1e-4
    )
    with pytest.raises(StockError, match="not weighed in"):
        weigh_out_recipe(recipe(name), purity={"KCl": 0.98}, **of)


@pytest.mark.parametrize("share", [0.0, -0.1, 1.01, float("nan"), float("inf")])
def test_a_purity_that_cannot_be_is_refused(share: float) -> None:
    with pytest.raises(StockError, match="purity"):
        weigh_out({"nitrate": 1.0}, ("KNO3",), made_up_to_ml=100.0, purity={"KNO3": share})
