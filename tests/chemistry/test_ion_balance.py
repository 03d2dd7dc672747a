"""The ion balance: both conventions, what counts as charge, and reports that mix up units."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.chemistry.charges import CHARGES
from littoral.chemistry.ion_balance import charge_meq_per_l, ion_balance
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.salts import content_of_salt
from littoral.chemistry.water_errors import WaterError
from littoral.quantities.hardness import alkalinity_meq_per_l

LECTURE = {"calcium": 92.0, "magnesium": 34.0, "sodium": 8.2, "potassium": 1.4, "iron": 0.1}
LECTURE |= {"bicarbonate": 325.0, "sulphate": 84.0, "chloride": 9.6, "nitrate": 13.0}


def test_two_conventions_and_their_factor_of_two() -> None:
    balance = ion_balance(LECTURE)
    assert balance.error_percent == pytest.approx(1.5, abs=0.05)  # as the lecture prints it
    by_what = {row.what: row for row in balance.checks}
    ours, german = by_what["difference over the sum of both"], by_what["difference over half the sum"]
    assert german.value == pytest.approx(2 * ours.value)
    # the same water holds by one rule (2 % of the sum) and not by the other (2 % of half the sum)
    assert (ours.verdict, german.verdict) == ("holds", "warns")
    assert ours.source.startswith("Standard Methods 1030 E")
    assert "anions" in german.comment


@pytest.mark.parametrize(
    ("anions", "limit", "unit"), [(1.0, 0.2, "meq/L"), (2.9, 0.2, "meq/L"), (5.0, 2.0, "%"), (20.0, 5.0, "%")]
)
def test_limits_of_standard_methods(anions: float, limit: float, unit: str) -> None:
    sodium = anions * NUTRIENTS["sodium"].weight
    row = ion_balance({"sodium": sodium, "chloride": anions * NUTRIENTS["chloride"].weight}).checks[0]
    assert (row.limit, row.unit, row.verdict) == (limit, unit, "holds")
    assert row.value == pytest.approx(0.0, abs=1e-9)


@given(
    grams=st.dictionaries(
        st.sampled_from(
            ["KNO3", "CaCl2·2H2O", "MgSO4·7H2O", "NaHCO3", "KH2PO4", "(NH4)2SO4", "CaSO4·2H2O", "MnSO4·H2O"]
        ),
        st.floats(0.001, 1.0),
        min_size=1,
    )
)
def test_dissolved_salts_balance(grams: dict[str, float]) -> None:
    """A salt brings no charge; so whatever is weighed in, the balance of the ions is nil."""
    levels: dict[str, float] = {}
    for salt, g in grams.items():
        for key, mg in content_of_salt(salt).items():
            levels[key] = levels.get(key, 0.0) + g * mg
    charges = charge_meq_per_l(levels)
    size = sum(abs(meq) for meq in charges.values())
    assert sum(charges.values()) == pytest.approx(0.0, abs=1e-4 * size)  # masses of electrons
    assert ion_balance(levels).error_percent == pytest.approx(0.0, abs=0.01)


def test_alkalinity_may_be_given_instead_of_bicarbonate() -> None:
    without = {key: level for key, level in LECTURE.items() if key != "bicarbonate"}
    meq = 325.0 / NUTRIENTS["bicarbonate"].weight
    assert ion_balance(without, alkalinity_meq_per_l=meq).error_percent == pytest.approx(
        ion_balance(LECTURE).error_percent
    )
    with pytest.raises(WaterError, match="both bicarbonate and alkalinity are given"):
        ion_balance(LECTURE, alkalinity_meq_per_l=meq)


def test_hydrogen_counts_only_in_acid_water() -> None:
    """A titration of alkalinity has counted H+ already; in rain at pH 4 without alkalinity it is a cation."""
    assert ion_balance(LECTURE, ph=6.0) == ion_balance(LECTURE)
    rain = ion_balance({"sodium": 0.23, "chloride": 0.355, "sulphate": 4.8}, ph=4.0)
    assert {ion.name: round(ion.meq_per_l, 3) for ion in rain.cations} == {"hydrogen": 0.1, "sodium": 0.01}


def test_the_wrong_unit_of_alkalinity_shows() -> None:
    """Well X102: 145 mg/L as CaCO3 is 2.897 meq/L; taken as 1.449 the balance is far out, taken rightly it is not."""
    levels = {"calcium": 34.0, "sodium": 33.0, "magnesium": 15.0, "potassium": 5.0, "chloride": 5.0, "sulphate": 23.0}
    levels["nitrate"] = 5.7 / NUTRIENTS["nitrate"].element_share
    right = ion_balance(levels, alkalinity_meq_per_l=alkalinity_meq_per_l(145.0, unit="mg/L CaCO3"))
    wrong = ion_balance(levels, alkalinity_meq_per_l=1.449)
    assert abs(right.error_percent) < 9 < 25 < abs(wrong.error_percent)


def test_steps_and_order() -> None:
    balance = ion_balance(LECTURE, others_meq_per_l={"fluoride": -0.01, "strontium": 0.02})
    assert balance.cations[0].name == "calcium"
    assert balance.anions[-1].name == "fluoride"
    assert sum(ion.share for ion in balance.cations) == pytest.approx(1.0)
    by_what = {step.what: step for step in balance.steps}
    assert by_what["calcium"].formula == "92 mg/L x 2 / 40.078 g/mol"
    assert by_what["calcium"].result == "4.591 meq/L"
    assert by_what["strontium"].formula == "as given"
    assert by_what["ion balance error"].result.endswith("%")


def test_every_charge_is_of_a_nutrient() -> None:
    assert set(CHARGES) <= set(NUTRIENTS)
    assert charge_meq_per_l({"urea": 10.0, "silicate": 5.0, "boron": 1.0}) == {}


def test_refused() -> None:
    with pytest.raises(WaterError, match="the analysis has no anions"):
        ion_balance({"calcium": 40.0})
    with pytest.raises(WaterError, match="the analysis has no cations"):
        ion_balance({"chloride": 40.0, "urea": 3.0})
    with pytest.raises(WaterError, match='"calcium" is given twice'):
        ion_balance(LECTURE, others_meq_per_l={"calcium": 1.0})
    with pytest.raises(WaterError, match="the charge of fluoride is no number"):
        ion_balance(LECTURE, others_meq_per_l={"fluoride": math.nan})
    with pytest.raises(WaterError, match="the level of calcium is -92 mg/L"):
        ion_balance(LECTURE | {"calcium": -92.0})
    with pytest.raises(WaterError, match="the pH is 77"):
        ion_balance(LECTURE, ph=77)
