"""A report made whole, two waters mixed."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.chemistry.mix_water import mix_water, mixing_for
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.water_errors import WaterError
from littoral.chemistry.water_report import WaterReport, full_picture
from littoral.quantities.hardness import alkalinity_meq_per_l, hardness_mmol_per_l

TAP = {"calcium": 92.0, "magnesium": 34.0, "sodium": 8.2, "potassium": 1.4, "bicarbonate": 325.0}
TAP |= {"sulphate": 84.0, "chloride": 9.6, "nitrate": 13.0}


def test_full_report() -> None:
    picture = full_picture(WaterReport(TAP, ph=7.4, temperature_c=15.0))
    assert picture.hardness is not None
    assert picture.alkalinity is not None
    # 0.13992 Ca + 0.23072 Mg in dGH (mg/L), and 2.8039 dKH per meq/L
    assert picture.hardness["dGH"] == pytest.approx(0.13992 * 92 + 0.23072 * 34, abs=2e-3)
    assert picture.alkalinity["dKH"] == pytest.approx(2.8039 * 325 / NUTRIENTS["bicarbonate"].weight, abs=1e-3)
    assert set(picture.hardness) == {"dGH", "°fH", "°e", "ppm CaCO3", "mmol/L", "meq/L"}
    assert picture.alkalinity["mg/L HCO3"] == pytest.approx(325.0, rel=1e-5)
    assert picture.hardness["°fH"] == pytest.approx(picture.hardness["ppm CaCO3"] / 10)
    assert picture.hardness["meq/L"] == pytest.approx(2 * picture.hardness["mmol/L"])
    assert picture.calcium_to_magnesium == pytest.approx(92 / 34)
    assert picture.balance is not None
    assert picture.balance.error_percent == pytest.approx(1.5, abs=0.1)
    assert picture.co2 is not None
    assert picture.air_ph is not None
    assert picture.co2.co2_mg_per_l > picture.co2.air_mg_per_l  # groundwater out of the tap, with gas to lose
    assert picture.air_ph > 7.4
    assert picture.steps[0].result == "3.694 mmol/L"


def test_what_is_missing_is_filled_in_only_where_it_follows() -> None:
    gh, kh = hardness_mmol_per_l(8.0, unit="dGH"), alkalinity_meq_per_l(5.0, unit="dKH")
    picture = full_picture(WaterReport({"calcium": 40.0}, hardness_mmol_per_l=gh, alkalinity_meq_per_l=kh))
    magnesium = (gh - 40.0 / NUTRIENTS["calcium"].weight) * NUTRIENTS["magnesium"].weight
    assert picture.levels_mg_per_l["magnesium"] == pytest.approx(magnesium)
    assert picture.levels_mg_per_l["bicarbonate"] == pytest.approx(5 * 21.76, abs=0.05)
    assert picture.balance is None  # sodium, chloride and sulphate are not known
    assert picture.co2 is None
    assert any(step.what == "magnesium from the hardness" for step in picture.steps)
    bare = full_picture(WaterReport(hardness_mmol_per_l=gh))
    assert bare.hardness is not None
    assert bare.hardness["dGH"] == pytest.approx(8.0)
    assert bare.levels_mg_per_l == {}
    empty = full_picture(WaterReport())
    assert (empty.hardness, empty.alkalinity, empty.balance, empty.co2, empty.air_ph) == (None,) * 5


def test_contradictions_are_rows() -> None:
    twice = full_picture(WaterReport(TAP, hardness_mmol_per_l=1.0, alkalinity_meq_per_l=5.326))
    verdicts = {row.what: row.verdict for row in twice.checks}
    assert verdicts["stated hardness against calcium and magnesium"] == "warns"
    assert verdicts["alkalinity against bicarbonate"] == "holds"
    softened = full_picture(WaterReport({"calcium": 4.0, "magnesium": 1.0}, alkalinity_meq_per_l=4.0))
    row = next(row for row in softened.checks if row.what == "alkalinity against hardness")
    assert row.verdict == "warns"
    assert "softener" in row.comment


def test_phosphate_in_the_report_lowers_its_co2() -> None:
    plain = full_picture(WaterReport({"bicarbonate": 60.0}, ph=7.0, temperature_c=25.0)).co2
    buffered = full_picture(WaterReport({"bicarbonate": 60.0, "phosphate": 20.0}, ph=7.0, temperature_c=25.0)).co2
    assert plain is not None
    assert buffered is not None
    assert buffered.co2_mg_per_l < 0.95 * plain.co2_mg_per_l


def test_conductivity_stands_in_for_ions_that_are_not_listed() -> None:
    few = WaterReport({"bicarbonate": 60.0}, ph=7.0, temperature_c=25.0, conductivity_us_per_cm=500.0)
    assert full_picture(few).ionic_strength_mol_per_l == pytest.approx(0.008)
    assert full_picture(WaterReport(TAP, conductivity_us_per_cm=2000.0)).ionic_strength_mol_per_l < 0.013
    with pytest.raises(WaterError, match="the conductivity is -1"):
        full_picture(WaterReport({}, conductivity_us_per_cm=-1.0))


def test_pure_water_has_no_co2_from_ph() -> None:
    picture = full_picture(WaterReport({"calcium": 0.1}, alkalinity_meq_per_l=0.0, ph=6.0, temperature_c=25.0))
    assert picture.co2 is None
    assert picture.air_ph is None


@pytest.mark.parametrize(
    ("report", "message"),
    [
        (WaterReport({"calcium": -1.0}), "the level of calcium is -1 mg/L"),
        (WaterReport({"calcium": math.nan}), "the level of calcium is no number"),
        (WaterReport({"kalium": 1.0}), '"kalium" is nothing Littoral keeps account of'),
        (WaterReport({}, hardness_mmol_per_l=-1.0), "the hardness is -1 mmol/L"),
        (WaterReport({}, alkalinity_meq_per_l=math.inf), "the alkalinity is no number"),
        (WaterReport({}, ph=15.0), "the pH is 15"),
        (WaterReport({}, temperature_c=99.0), "the temperature is 99 °C"),
        (WaterReport({"calcium": 80.0}, hardness_mmol_per_l=1.0), "calcium alone, 80 mg/L, is more than the hardness"),
    ],
)
def test_impossible_reports(report: WaterReport, message: str) -> None:
    with pytest.raises(WaterError) as refused:
        full_picture(report)
    assert message in str(refused.value)


def test_mixing_by_hand() -> None:
    # 20 dGH tap and 0 dGH pure water to 6 dGH: 30 % tap
    mixing = mixing_for(6.0, first=20.0, second=0.0, volume_l=54.0)
    assert mixing.share == pytest.approx(0.3)
    assert mixing.first_l == pytest.approx(16.2)
    assert mixing.second_l == pytest.approx(37.8)
    assert mixing.steps[0].result == "30.0 %"
    levels = mix_water({"nitrate": 20.0, "calcium": 100.0}, {"nitrate": 0.0}, share_of_first=0.3)
    assert levels == {"nitrate": pytest.approx(6.0), "calcium": pytest.approx(30.0)}


@given(first=st.floats(0, 30), second=st.floats(0, 30), share=st.floats(0, 1), volume_l=st.floats(1, 1000))
def test_the_mixture_has_the_target(first: float, second: float, share: float, volume_l: float) -> None:
    if abs(first - second) < 1e-3:
        return
    target = share * first + (1 - share) * second
    target = min(max(target, min(first, second)), max(first, second))
    mixing = mixing_for(target, first=first, second=second, volume_l=volume_l)
    assert mixing.first_l + mixing.second_l == pytest.approx(volume_l)
    mixed = mix_water({"calcium": first}, {"calcium": second}, share_of_first=min(max(mixing.share, 0.0), 1.0))
    assert mixed["calcium"] == pytest.approx(target, abs=1e-9)


def test_mixtures_that_cannot_be() -> None:
    with pytest.raises(WaterError, match=r"a hardness of 25 cannot be mixed from 20 and 0\. Salts raise it"):
        mixing_for(25.0, first=20.0, second=0.0, volume_l=10)
    with pytest.raises(WaterError, match=r"cannot be mixed from 20 and 5\. Take purer water"):
        mixing_for(2.0, first=20.0, second=5.0, volume_l=10)
    with pytest.raises(WaterError, match="both waters have the same alkalinity"):
        mixing_for(4.0, first=4.0, second=4.0, volume_l=10, what="alkalinity")
    with pytest.raises(WaterError, match="a volume of 0 L"):
        mixing_for(4.0, first=5.0, second=0.0, volume_l=0)
    with pytest.raises(WaterError, match="a volume of -3 L"):
        mixing_for(4.0, first=5.0, second=0.0, volume_l=-3)
    with pytest.raises(WaterError, match="the share is 30"):
        mix_water({}, {}, share_of_first=30)
    with pytest.raises(WaterError, match="hardness of the first water is no number"):
        mixing_for(4.0, first=math.nan, second=0.0, volume_l=1)
