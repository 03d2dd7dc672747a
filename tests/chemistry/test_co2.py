"""The CO2 estimate: its interval, the rule beside it, the air, and the alkalinity that is not carbonate."""

from __future__ import annotations

import math

import phreeqpython
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from littoral.chemistry.air import air_co2_mg_per_l, air_ph
from littoral.chemistry.co2 import Co2Estimate, co2_estimate, rule_of_thumb_co2_mg_per_l
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.other_alkalinity import other_alkalinity
from littoral.chemistry.water_errors import WaterError
from littoral.quantities.hardness import alkalinity_meq_per_l


def _of(dkh: float, ph: float, temperature_c: float = 25.0) -> Co2Estimate:
    return co2_estimate(ph=ph, alkalinity_meq_per_l=alkalinity_meq_per_l(dkh, unit="dKH"), temperature_c=temperature_c)


# Recomputed with PHREEQC for sodium bicarbonate water at 20 °C, mg/L
TABLE = {
    1: (37.11, 23.39, 14.75, 9.30, 5.86, 3.70, 2.33, 1.17),
    2: (73.47, 46.33, 29.22, 18.43, 11.62, 7.33, 4.62, 2.31),
    4: (145.09, 91.51, 57.73, 36.41, 22.97, 14.49, 9.13, 4.57),
    7: (250.57, 158.06, 99.71, 62.90, 39.67, 25.02, 15.78, 7.89),
    10: (354.32, 223.51, 141.00, 88.94, 56.10, 35.38, 22.31, 11.16),
}


@pytest.mark.parametrize("dkh", sorted(TABLE))
def test_the_table(dkh: int) -> None:
    for ph, printed in zip((6.0, 6.2, 6.4, 6.6, 6.8, 7.0, 7.2, 7.5), TABLE[dkh], strict=True):
        # half the last digit, and 0.05 % for PHREEQC's other activity model
        assert _of(dkh, ph, 20.0).co2_mg_per_l == pytest.approx(printed, abs=0.005 + 5e-4 * printed)


def test_the_rule_beside_it() -> None:
    estimate = _of(4, 6.6, 20.0)
    assert estimate.rule_mg_per_l == pytest.approx(30.14, abs=0.005)
    assert estimate.rule_share == pytest.approx(30.14 / 36.41, abs=1e-3)
    row = next(row for row in estimate.checks if row.what.startswith("rule of thumb"))
    assert row.verdict == "warns"
    assert "unsafe direction" in row.comment
    assert "no source" in row.source


@given(dkh=st.floats(0.5, 15), ph=st.floats(6, 7.8), temperature_c=st.floats(10, 32))
def test_the_rule_under_reads_at_aquarium_temperatures(dkh: float, ph: float, temperature_c: float) -> None:
    assert _of(dkh, ph, temperature_c).rule_share < 1.0


def test_interval_of_the_ph_reading() -> None:
    estimate = _of(4, 6.6)
    assert estimate.high_mg_per_l / estimate.co2_mg_per_l == pytest.approx(1.26, abs=0.005)
    assert estimate.low_mg_per_l / estimate.co2_mg_per_l == pytest.approx(0.794, abs=0.005)
    meq = alkalinity_meq_per_l(4, unit="dKH")
    step = alkalinity_meq_per_l(1, unit="dKH")
    wider = co2_estimate(ph=6.6, alkalinity_meq_per_l=meq, temperature_c=25, alkalinity_error_meq_per_l=step)
    assert wider.low_mg_per_l < estimate.low_mg_per_l < estimate.high_mg_per_l < wider.high_mg_per_l
    sure = co2_estimate(ph=6.6, alkalinity_meq_per_l=meq, temperature_c=25, ph_error=0.0)
    assert sure.low_mg_per_l == pytest.approx(sure.co2_mg_per_l)
    assert sure.high_mg_per_l == pytest.approx(sure.co2_mg_per_l)
    nothing = co2_estimate(ph=6.6, alkalinity_meq_per_l=step, temperature_c=25, alkalinity_error_meq_per_l=step)
    assert nothing.low_mg_per_l == 0.0


def test_steps_tell_how_it_came_about() -> None:
    steps = _of(4, 6.6).steps
    assert [step.what for step in steps] == [
        "constants of carbonic acid",
        "activity of a single charge",
        "alkalinity that is carbonate",
        "bicarbonate",
        "CO2",
        "interval from the readings' errors",
        "the rule of thumb, not used",
        "what the air alone keeps up",
    ]
    assert steps[4].result == "33.97 mg/L"
    assert "Plummer & Busenberg 1982" in steps[4].source
    assert all(step.formula and step.result for step in steps)


def test_outside_the_range_it_warns() -> None:
    verdicts = {ph: _of(4, ph).checks[0].verdict for ph in (5.0, 6.5, 8.2, 9.0)}
    assert verdicts == {5.0: "warns", 6.5: "holds", 8.2: "holds", 9.0: "warns"}


def test_air_pressure_of_co2() -> None:
    # at 400 µatm: 20 °C 0.690, 25 °C 0.599 mg/L, recomputed independently
    assert air_co2_mg_per_l(temperature_c=20, partial_pressure_uatm=400) == pytest.approx(0.690, abs=5e-4)
    assert air_co2_mg_per_l(temperature_c=25, partial_pressure_uatm=400) == pytest.approx(0.599, abs=5e-4)


@settings(max_examples=20, deadline=None)
@given(alkalinity=st.floats(0.05, 4.0), temperature_c=st.floats(5, 34), uatm=st.floats(350, 2000))
def test_air_ph_against_phreeqc(alkalinity: float, temperature_c: float, uatm: float) -> None:
    engine = phreeqpython.PhreeqPython()
    salts = {"K": alkalinity, "Alkalinity": alkalinity}  # sodium would pair with carbonate there, and here nothing does
    water = engine.add_solution({"units": "mmol/kgw", "pH": 7, "temp": temperature_c} | salts)
    water.equalize(["CO2(g)"], [math.log10(uatm * 1e-6)])
    ours = air_ph(alkalinity_meq_per_l=alkalinity, temperature_c=temperature_c, partial_pressure_uatm=uatm)
    assert ours == pytest.approx(water.pH, abs=0.01)


@given(alkalinity=st.floats(0.02, 20), temperature_c=st.floats(1, 45))
def test_air_ph_gives_back_the_co2_of_air(alkalinity: float, temperature_c: float) -> None:
    ph = air_ph(alkalinity_meq_per_l=alkalinity, temperature_c=temperature_c)
    back = co2_estimate(ph=ph, alkalinity_meq_per_l=alkalinity, temperature_c=temperature_c)
    assert back.co2_mg_per_l == pytest.approx(back.air_mg_per_l, rel=1e-9)


def test_other_alkalinity_lowers_the_co2() -> None:
    meq = alkalinity_meq_per_l(3, unit="dKH")
    other = other_alkalinity({"phosphate": 20.0, "nitrate": 10.0}, ph=7.2)
    # at pH 7.2 = pK2 half is HPO4-2, which takes up one proton down to pH 4.5: 20 / 94.97 / 2
    assert other.total_meq_per_l == pytest.approx(20.0 / NUTRIENTS["phosphate"].weight / 2, rel=0.01)
    assert set(other.meq_per_l) == {"phosphate"}
    assert "phosphate" in other.steps[0].what
    plain = co2_estimate(ph=7.2, alkalinity_meq_per_l=meq, temperature_c=25)
    less = co2_estimate(
        ph=7.2, alkalinity_meq_per_l=meq, temperature_c=25, other_alkalinity_meq_per_l=other.total_meq_per_l
    )
    share = 1.0 - other.total_meq_per_l / meq
    assert less.co2_mg_per_l / plain.co2_mg_per_l == pytest.approx(share, rel=1e-3)
    row = next(row for row in plain.checks if row.what == "alkalinity that is not carbonate")
    assert row.verdict == "cannot tell"
    assert "humic" in row.comment


@given(ph=st.floats(0, 14), phosphate=st.floats(0, 100))
def test_other_alkalinity_lies_between_nothing_and_two_protons(ph: float, phosphate: float) -> None:
    meq = other_alkalinity({"phosphate": phosphate}, ph=ph).total_meq_per_l
    assert -1e-12 <= meq <= 2.01 * phosphate / NUTRIENTS["phosphate"].weight


def test_bad_readings() -> None:
    with pytest.raises(WaterError, match=r"the error of the pH reading is 3\. Give 0 to 2"):
        co2_estimate(ph=7, alkalinity_meq_per_l=1, temperature_c=25, ph_error=3)
    with pytest.raises(WaterError, match="the error of the alkalinity is -1"):
        co2_estimate(ph=7, alkalinity_meq_per_l=1, temperature_c=25, alkalinity_error_meq_per_l=-1)
    with pytest.raises(WaterError, match=r"the alkalinity is 0 meq/L\. Give 0\.01 to 100"):
        air_ph(alkalinity_meq_per_l=0, temperature_c=25)
    with pytest.raises(WaterError, match="the partial pressure of CO2 is 0 µatm"):
        air_ph(alkalinity_meq_per_l=1, temperature_c=25, partial_pressure_uatm=0)
    with pytest.raises(WaterError, match="the partial pressure of CO2 is -5"):
        air_co2_mg_per_l(temperature_c=25, partial_pressure_uatm=-5)
    with pytest.raises(WaterError, match="the pH is 15"):
        other_alkalinity({}, ph=15)
    assert rule_of_thumb_co2_mg_per_l(ph=7, alkalinity_meq_per_l=0) == 0
