"""The scarcest nutrient: closed forms, published ratios, and agreement with what leaves look like."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.package_data import table
from littoral.chemistry.symptoms import causes
from littoral.tank.limiting import (
    Limiting,
    LimitingError,
    agreement_with_symptoms,
    limits_by_stock,
    limits_by_uptake,
)

DRAWS = 4000
ION = {"N": "nitrate", "P": "phosphate", "K": "potassium", "Mg": "magnesium", "Fe": "iron"}


def _rng(seed: int = 5) -> np.random.Generator:
    return np.random.default_rng(seed)


def _of_element(mg_per_l: dict[str, float]) -> dict[str, np.ndarray]:
    return {ION[key]: np.full(DRAWS, value / NUTRIENTS[ION[key]].element_share) for key, value in mg_per_l.items()}


def test_shape_and_sums_of_the_table() -> None:
    tissue, half = table("requirements")["tissue"], table("requirements")["half"]
    assert len(tissue) == 12
    assert sum(row["mg_per_g"] for row in tissue.values()) == pytest.approx(26.97425)
    assert len(half) == 6
    assert sum(row["low_umol_per_l"] + row["high_umol_per_l"] for row in half.values()) == pytest.approx(544.25)


def test_critical_tissue_ratio_as_published() -> None:
    """Gerloff & Krombholz 1966: N 1.3 %, P 0.13 %; N:P 10 by mass, 22.1 molar (recomputed independently)."""
    tissue = table("requirements")["tissue"]
    ratio = tissue["N"]["mg_per_g"] / tissue["P"]["mg_per_g"]
    assert ratio == pytest.approx(10.0)
    assert ratio * 30.974 / 14.007 == pytest.approx(22.1, abs=0.05)


def test_at_the_critical_ratio_it_is_open_and_either_side_is_told() -> None:
    """At N:P 10 by mass each is as likely; Koerselman & Meuleman's 14 and 16 (wetlands, from memory) lean to P."""
    at = limits_by_stock(_of_element({"N": 1.0, "P": 0.1}), rng=_rng())
    assert at.probability["N"] == pytest.approx(0.5, abs=0.03)
    assert not at.clear
    assert "open" in at.comment
    much_n = limits_by_stock(_of_element({"N": 5.0, "P": 0.1}), rng=_rng())
    assert much_n.likeliest == "P"
    assert much_n.clear
    redfield = limits_by_stock(_of_element({"N": 7.24, "P": 1.0}), rng=_rng())  # 16:1 molar is 7.24 by mass
    assert redfield.likeliest == "N"
    wet = limits_by_stock(_of_element({"N": 16.0, "P": 1.0}), rng=_rng())
    assert wet.likeliest == "P"


def test_probability_in_closed_form() -> None:
    """Two log-normal needs: P(N is scarcer) = Φ(ln(ratio) / √(sd² + sd²)); the slow twin of the draws."""
    found = limits_by_stock(_of_element({"N": 1.4, "P": 0.1}), rng=_rng())
    sd = math.log(1.6) / 1.6449
    expected = 0.5 * (1 + math.erf(math.log(1.4 / 0.1 / 10.0) / (math.sqrt(2) * sd) / math.sqrt(2)))
    assert found.probability["P"] == pytest.approx(expected, abs=0.025)


def test_liebig_and_michaelis_menten_by_hand() -> None:
    """f_N 0.5 and f_P 0.8: the minimum is 0.5 (Liebig), not their product 0.4."""
    n, p = 14.007 / 1000, 30.974 / 1000  # mg per µmol
    found = limits_by_uptake(
        _of_element({"N": 10 * n, "P": 4 * p}),
        rng=_rng(),
        half_saturation_umol_per_l={"N": (10.0, 10.0), "P": (1.0, 1.0)},
    )
    assert found.probability["N"] == 1.0
    assert found.scarcest[0] == pytest.approx(0.5, abs=1e-4)
    assert found.steps[0].result == "50 % of the fastest"
    assert found.unit == "of the fastest growth"


def test_plenty_of_all_limits_nothing() -> None:
    found = limits_by_uptake(_of_element({"N": 20.0, "P": 2.0, "K": 40.0}), rng=_rng())
    assert found.none > 0.8
    assert found.comment.startswith("By the levels no nutrient is short.")
    assert "Light and CO2" in found.comment


def test_forms_of_nitrogen_count_together() -> None:
    """1 mg/L N as nitrate, or as ammonium: 4.4268 mg/L NO3, 1.2878 mg/L NH4 (formula weights)."""
    others = {"phosphate": np.full(DRAWS, 1.0)}
    one = limits_by_stock({"nitrate": np.full(DRAWS, 4.4268), **others}, rng=_rng())
    other = limits_by_stock({"ammonium": np.full(DRAWS, 1.2878), **others}, rng=_rng())
    assert one.scarcest == pytest.approx(other.scarcest, rel=1e-4)
    both = limits_by_stock(
        {"nitrate": np.full(DRAWS, 4.4268), "ammonium": np.full(DRAWS, 1.2878), **others}, rng=_rng()
    )
    assert both.probability["N"] < one.probability["N"]


@given(n=st.floats(0, 50), p=st.floats(0, 5), k=st.floats(0, 50), more=st.floats(1.0, 5.0))
@settings(deadline=None)
def test_probabilities_add_up_and_more_of_one_limits_less(n: float, p: float, k: float, more: float) -> None:
    levels = {"nitrate": np.full(200, n), "phosphate": np.full(200, p), "potassium": np.full(200, k)}
    for compute in (limits_by_uptake, limits_by_stock):
        found = compute(levels, rng=_rng(1))
        assert sum(found.probability.values()) + found.none == pytest.approx(1.0)
        assert found.scarcest[1] <= found.scarcest[0] <= found.scarcest[2]
        richer = compute({**levels, "nitrate": levels["nitrate"] * more}, rng=_rng(1))
        assert richer.probability["N"] <= found.probability["N"] + 1e-12


def _clear(element: str) -> Limiting:
    mg = {"N": 50.0, "P": 5.0, "K": 50.0, "Mg": 20.0, "Fe": 5.0}
    mg[element] /= 1e5
    found = limits_by_uptake(_of_element(mg), rng=_rng())
    assert found.likeliest == element
    assert found.clear
    return found


def test_agreement_conflict_and_neither() -> None:
    short_of_n, short_of_fe = _clear("N"), _clear("Fe")
    yellow_old, pale_young = causes({"old-yellow", "whole-pale"}), causes({"young-pale-between", "young-white"})
    agrees = agreement_with_symptoms(short_of_n, yellow_old)
    assert (agrees.verdict, agrees.elements) == ("agree", ("N",))
    assert agrees.comment == "Leaves and levels point the same way: nitrogen."
    assert agreement_with_symptoms(short_of_fe, pale_young).elements == ("Fe",)
    conflict = agreement_with_symptoms(short_of_fe, yellow_old)
    assert conflict.verdict == "conflict"
    assert "iron is the scarcest" in conflict.comment
    assert "a test reads off" in conflict.comment
    assert agreement_with_symptoms(short_of_n, causes({"bitten"})).verdict == "cannot tell"
    assert agreement_with_symptoms(short_of_n, ()).verdict == "cannot tell"
    assert "no level is known" in agreement_with_symptoms(short_of_n, causes({"brittle", "tips-dead"})).comment


def test_plenty_against_a_sign_is_a_conflict() -> None:
    plenty = limits_by_uptake(_of_element({"N": 50.0, "P": 5.0, "K": 100.0}), rng=_rng())
    assert agreement_with_symptoms(plenty, causes({"old-yellow", "whole-pale"})).verdict == "conflict"


@pytest.mark.parametrize(
    ("levels", "message"),
    [
        ({}, "no levels are given"),
        ({"nitrate": 1.0}, "fewer than two elements"),
        ({"nitrate": 1.0, "ammonium": 1.0}, "fewer than two elements"),
        ({"nitrate": 1.0, "lead": 1.0}, '"lead" is no nutrient'),
        ({"nitrate": -1.0, "phosphate": 1.0}, "a level of nitrate below zero"),
        ({"nitrate": math.nan, "phosphate": 1.0}, "a level of nitrate below zero or no number"),
        ({"nitrate": [1.0, 2.0], "phosphate": [1.0, 2.0, 3.0]}, "different numbers of draws"),
    ],
)
def test_levels_that_cannot_be(levels: dict[str, object], message: str) -> None:
    for compute in (limits_by_uptake, limits_by_stock):
        with pytest.raises(LimitingError) as refused:
            compute(levels, rng=_rng())
        assert message in str(refused.value)


def test_needs_that_cannot_be() -> None:
    with pytest.raises(LimitingError, match="half-saturation of N from 0 to 1"):
        limits_by_uptake(
            {"nitrate": 1.0, "phosphate": 1.0},
            rng=_rng(),
            half_saturation_umol_per_l={"N": (0.0, 1.0), "P": (1.0, 2.0)},
        )
