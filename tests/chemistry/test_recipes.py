"""Published recipes as data: shape, sums, and from a recipe to a bottle and back."""

from __future__ import annotations

import pytest

from littoral.chemistry.clashes import split_bottles
from littoral.chemistry.dose_targets import WeighingError
from littoral.chemistry.recipes import KINDS, UnknownRecipeError, recipe, recipes
from littoral.chemistry.salts import salts
from littoral.chemistry.weighing import weigh_out_recipe


def test_shape_and_sums() -> None:
    all_of_them = recipes().values()
    assert len(all_of_them) == 15
    assert sum(len(one.salts_mg_per_l) for one in all_of_them) == 123
    assert sum(len(one.printed) for one in all_of_them) == 133
    assert sum(bool(printed.right) for one in all_of_them for printed in one.printed) == 7
    assert round(sum(sum(one.salts_mg_per_l.values()) for one in all_of_them), 1) == 21755.4
    keys = {salt.key for salt in salts().values()}
    for one in all_of_them:
        assert one.source
        assert set(one.salts_mg_per_l) <= keys
        for printed in one.printed:
            assert printed.kind in KINDS
            assert float(printed.printed) > 0
            assert printed.key in one.values(printed.kind), (one.name, printed.key)


def test_a_recipe_by_its_name() -> None:
    assert recipe("murashige and skoog") is recipe("Murashige and Skoog")
    with pytest.raises(UnknownRecipeError, match='"my own" is no recipe here'):
        recipe("my own")


def test_a_bottle_a_hundred_times_as_strong() -> None:
    hoagland = recipe("Hoagland and Arnon, solution 1")
    weighed = weigh_out_recipe(hoagland, times=100, made_up_to_ml=500.0, scale_step_g=0.01, only=["KNO3", "KH2PO4"])
    assert weighed.grams == {"KNO3": 25.28, "KH2PO4": 6.80}
    # 5 mL of it per 500 mL: back to the recipe's potassium but for calcium's bottle
    got = {row.nutrient: row.got_mg_per_ml for row in weighed.reached}
    assert got["potassium"] / 100 * 1000 == pytest.approx(hoagland.content_mg_per_l()["potassium"], rel=1e-3)


def test_a_recipe_splits_into_bottles_that_do_not_clash() -> None:
    hoagland = recipe("Hoagland and Arnon, solution 1")
    groups = [group.salts for group in split_bottles(hoagland.salts_mg_per_l)]
    assert groups == [("KNO3", "Ca(NO3)2·4H2O"), ("KH2PO4", "MgSO4·7H2O")]


def test_bottles_of_recipes_that_cannot_be() -> None:
    hoagland = recipe("Hoagland and Arnon, solution 1")
    with pytest.raises(WeighingError, match="0 times as strong"):
        weigh_out_recipe(hoagland, times=0, made_up_to_ml=500.0)
    with pytest.raises(WeighingError, match="a scale that shows 0 g"):
        weigh_out_recipe(hoagland, times=10, made_up_to_ml=500.0, scale_step_g=0.0)
    with pytest.raises(WeighingError, match="KCl in Hoagland"):
        weigh_out_recipe(hoagland, times=10, made_up_to_ml=500.0, only=["KCl"])
