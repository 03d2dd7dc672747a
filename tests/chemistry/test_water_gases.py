"""Un-ionised ammonia and oxygen: tables, ranges, derivations, and PHREEQC for ammonia."""

from __future__ import annotations

import math

import phreeqpython
import pytest
from hypothesis import given
from hypothesis import strategies as st

from littoral.chemistry.ammonia import (
    ammonia_of,
    ammonia_pka,
    epa_acute_mg_n_per_l,
    epa_chronic_mg_n_per_l,
    unionised_share,
)
from littoral.chemistry.oxygen import oxygen_saturation, oxygen_saturation_mg_per_l, pressure_at_altitude_atm
from littoral.chemistry.water_errors import WaterError

# % un-ionised by Emerson et al. 1975 with T = 273.2 + °C, recomputed independently; pKa first, then pH 6 to 9 by 0.5
EMERSON = {
    5: ("9.903", "0.0125", "0.0395", "0.125", "0.394", "1.23", "3.80", "11.1"),
    10: ("9.730", "0.0186", "0.0589", "0.186", "0.586", "1.83", "5.56", "15.7"),
    15: ("9.562", "0.0274", "0.0865", "0.273", "0.859", "2.67", "7.97", "21.5"),
    20: ("9.401", "0.0397", "0.125", "0.396", "1.24", "3.82", "11.2", "28.4"),
    25: ("9.245", "0.0569", "0.180", "0.566", "1.77", "5.38", "15.3", "36.3"),
    30: ("9.094", "0.0805", "0.254", "0.799", "2.48", "7.46", "20.3", "44.6"),
}


def _half(printed: str) -> float:
    return 0.5 * 10.0 ** -len(printed.partition(".")[2]) * (1 + 1e-9)


@pytest.mark.parametrize("temperature_c", sorted(EMERSON))
def test_emersons_table(temperature_c: int) -> None:
    pka, *shares = EMERSON[temperature_c]
    assert ammonia_pka(temperature_c) == pytest.approx(float(pka), abs=_half(pka))
    for ph, printed in zip((6.0, 6.5, 7.0, 7.5, 8.0, 8.5, 9.0), shares, strict=True):
        ours = 100.0 * unionised_share(ph=ph, temperature_c=temperature_c)
        assert ours == pytest.approx(float(printed), abs=_half(printed)), ph


@pytest.mark.parametrize("temperature_c", [5, 15, 25, 30])
@pytest.mark.parametrize("ph", [7.0, 8.0, 9.0])
def test_share_against_phreeqc(ph: float, temperature_c: float) -> None:
    """Its database has other constants (and reducing water is needed to keep ammonia): apart by less than 0.5 %."""
    engine = phreeqpython.PhreeqPython()
    species = engine.add_solution(
        {"units": "mmol/kgw", "pH": ph, "pe": -4, "temp": temperature_c, "N(-3)": 0.001}
    ).species_molalities
    theirs = species["NH3"] / (species["NH3"] + species["NH4+"])
    assert unionised_share(ph=ph, temperature_c=temperature_c) == pytest.approx(theirs, rel=5e-3)


def test_the_misprinted_constant_of_a_help_page_is_not_ours() -> None:
    """One package's help page prints 2727.92; the paper's 2729.92 gives 5.38 % at 25 °C and pH 8."""
    wrong = 100.0 / (10.0 ** (0.09018 + 2727.92 / 298.2 - 8.0) + 1.0)
    assert round(100 * unionised_share(ph=8, temperature_c=25), 2) == 5.38
    assert round(wrong, 2) != 5.38


def test_units_of_ammonia() -> None:
    ammonia = ammonia_of(ammonium_mg_per_l=1.2878, ph=8.0, temperature_c=25)
    assert ammonia.total_mg_n_per_l == pytest.approx(1.0, rel=1e-4)  # NH4 / N = 1.2878
    assert ammonia.unionised_mg_n_per_l == pytest.approx(0.0538, abs=5e-5)
    assert ammonia.unionised_mg_nh3_per_l / ammonia.unionised_mg_n_per_l == pytest.approx(1.2159, abs=5e-5)
    assert [step.result for step in ammonia.steps][1:3] == ["9.245", "5.38 %"]
    assert "Emerson" in ammonia.steps[1].source


@given(ph=st.floats(0, 14), temperature_c=st.floats(0, 50))
def test_share_grows_with_ph_and_warmth(ph: float, temperature_c: float) -> None:
    share = unionised_share(ph=ph, temperature_c=temperature_c)
    assert 0.0 < share < 1.0
    assert unionised_share(ph=max(ph - 0.1, 0), temperature_c=temperature_c) <= share
    assert unionised_share(ph=ph, temperature_c=max(temperature_c - 1, 0)) <= share


# EPA 2013 at pH, °C: acute, chronic in mg N/L, recomputed independently
EPA = [(7, 25, "11.07", "1.37"), (7.5, 25, "6.10", "1.01"), (8, 25, "2.58", "0.56"), (8, 20, "3.90", "0.78")]
EPA += [(6.5, 25, "14.98", "1.54")]


@pytest.mark.parametrize(("ph", "temperature_c", "acute", "chronic"), EPA)
def test_epa_2013(ph: float, temperature_c: float, acute: str, chronic: str) -> None:
    for salmonids in (False, True):  # the same from about 16 °C up
        ours = epa_acute_mg_n_per_l(ph=ph, temperature_c=temperature_c, salmonids=salmonids)
        assert ours == pytest.approx(float(acute), abs=_half(acute))
    ours = epa_chronic_mg_n_per_l(ph=ph, temperature_c=temperature_c)
    assert ours == pytest.approx(float(chronic), abs=_half(chronic))


def test_epa_in_the_cold() -> None:
    cold = epa_acute_mg_n_per_l(ph=7, temperature_c=5, salmonids=True)
    assert cold < epa_acute_mg_n_per_l(ph=7, temperature_c=5)
    assert cold == epa_acute_mg_n_per_l(ph=7, temperature_c=8, salmonids=True)  # the salmonids' branch has no warmth
    chronic = epa_chronic_mg_n_per_l(ph=7, temperature_c=2)
    assert chronic == epa_chronic_mg_n_per_l(ph=7, temperature_c=7)


def test_oxygen_with_altitude_and_steps() -> None:
    found = oxygen_saturation(temperature_c=25, pressure_atm=0.9)
    assert found.saturation_mg_per_l == pytest.approx(7.411, abs=5e-4)
    assert [step.result for step in found.steps] == ["8.263 mg/L", "7.411 mg/L"]
    assert pressure_at_altitude_atm(0) == 1.0
    # ICAO standard atmosphere: 1000 m is 898.75 hPa, 2000 m 794.95 hPa (from memory)
    assert 1013.25 * pressure_at_altitude_atm(1000) == pytest.approx(898.75, abs=0.02)
    assert 1013.25 * pressure_at_altitude_atm(2000) == pytest.approx(794.95, abs=0.02)


@given(temperature_c=st.floats(0, 39), pressure_atm=st.floats(0.5, 1.09))
def test_oxygen_falls_with_warmth_and_grows_with_pressure(temperature_c: float, pressure_atm: float) -> None:
    here = oxygen_saturation_mg_per_l(temperature_c=temperature_c, pressure_atm=pressure_atm)
    assert here > oxygen_saturation_mg_per_l(temperature_c=temperature_c + 1, pressure_atm=pressure_atm)
    assert here < oxygen_saturation_mg_per_l(temperature_c=temperature_c, pressure_atm=pressure_atm + 0.01)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: unionised_share(ph=15, temperature_c=25), "the pH is 15. Give 0 to 14."),
        (lambda: unionised_share(ph=7, temperature_c=51), "the temperature is 51 °C. Give 0 to 50 °C: Emerson's"),
        (lambda: ammonia_of(ammonium_mg_per_l=-1, ph=7, temperature_c=25), "the ammonium is -1 mg/L"),
        (lambda: ammonia_of(ammonium_mg_per_l=math.nan, ph=7, temperature_c=25), "the ammonium is no number"),
        (lambda: epa_acute_mg_n_per_l(ph=9.5, temperature_c=25), "the pH is 9.5. Give 6.5 to 9: EPA's tables end"),
        (lambda: epa_chronic_mg_n_per_l(ph=7, temperature_c=31), "the temperature is 31 °C. Give 0 to 30 °C"),
        (lambda: oxygen_saturation_mg_per_l(temperature_c=41), "the temperature is 41 °C. Give 0 to 40 °C"),
        (lambda: oxygen_saturation_mg_per_l(temperature_c=20, pressure_atm=760), "the air pressure is 760 atm"),
        (lambda: pressure_at_altitude_atm(9000), "the altitude is 9000 m"),
    ],
)
def test_out_of_range(call: object, message: str) -> None:
    assert callable(call)
    with pytest.raises(WaterError) as refused:
        call()
    assert message in str(refused.value)
