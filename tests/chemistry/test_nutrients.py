"""The vocabulary of nutrients and its view by element."""

from __future__ import annotations

import pytest

from littoral.chemistry.nutrients import NUTRIENTS, element_view


def test_the_vocabulary() -> None:
    assert len(NUTRIENTS) == 21
    assert all(key == nutrient.key for key, nutrient in NUTRIENTS.items())
    assert all(0 < nutrient.element_share <= 1 for nutrient in NUTRIENTS.values())
    assert len({nutrient.symbol for nutrient in NUTRIENTS.values()}) == 21


@pytest.mark.parametrize(
    ("key", "factor"),
    # ion per element, recomputed with periodictable
    [("nitrate", 4.4268), ("nitrite", 3.2845), ("ammonium", 1.2878), ("phosphate", 3.0662), ("silicate", 2.1393)],
)
def test_ion_factors(key: str, factor: float) -> None:
    assert round(1.0 / NUTRIENTS[key].element_share, 4) == factor


def test_sulphate_factor_within_the_spread_of_atomic_weights() -> None:
    # 2.9961 with S 32.065, 2.9958 with S 32.06 (CIAAW gives an interval)
    assert 1.0 / NUTRIENTS["sulphate"].element_share == pytest.approx(2.996, abs=5e-4)


def test_nitrogen_is_the_sum_of_its_forms() -> None:
    per_n = {key: 1.0 / NUTRIENTS[key].element_share for key in ("nitrate", "nitrite", "ammonium", "urea")}
    assert element_view(per_n) == {"N": pytest.approx(4.0, rel=1e-12)}


def test_alkalinity_is_no_carbon() -> None:
    assert element_view({"bicarbonate": 10.0, "potassium": 2.0}) == {"K": 2.0}


def test_an_unknown_key_is_the_programmers_mistake() -> None:
    with pytest.raises(KeyError):
        element_view({"kryptonite": 1.0})
