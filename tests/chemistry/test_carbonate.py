"""The carbonate system against PHREEQC and PyCO2SYS, run here, over a grid and at random."""

from __future__ import annotations

import math
import warnings
from typing import Any

import phreeqpython
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from littoral.chemistry.activity import (
    activity_coefficient,
    debye_hueckel_a,
    ionic_strength_mol_per_l,
    ionic_strength_of_conductivity,
)
from littoral.chemistry.carbonate import carbonate_of, log_k1, log_k2, log_kh, log_kw
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.water_errors import WaterError
from littoral.chemistry.weights import formula_weight

ENGINE = phreeqpython.PhreeqPython()


def _phreeqc(*, ph: float, temperature_c: float, **mmol: float) -> dict[str, float]:
    """PHREEQC's species, mol/kg of water; `alkalinity` in meq/kg."""
    names = {"sodium": "Na", "calcium": "Ca", "magnesium": "Mg", "sulphate": "S(6)", "chloride": "Cl"}
    named = {(names | {"alkalinity": "Alkalinity"})[key]: amount for key, amount in mmol.items() if amount > 0}
    water = ENGINE.add_solution({"units": "mmol/kgw", "pH": ph, "temp": temperature_c} | named)
    species: dict[str, float] = dict(water.species_molalities)
    water.forget()
    return species


def test_constants_as_tabulated() -> None:
    # recomputed independently from Plummer & Busenberg's coefficients
    table = {5: (1.1921, 6.5163, 10.5544), 15: (1.3408, 6.4188, 10.4284), 20: (1.4069, 6.3819, 10.3756)}
    table |= {25: (1.4679, 6.3519, 10.3289), 30: (1.5244, 6.3281, 10.2879)}
    for t, printed in table.items():
        assert tuple(round(-f(t), 4) for f in (log_kh, log_k1, log_k2)) == printed
    assert log_kw(25.0) == pytest.approx(-13.995, abs=5e-4)  # Millero 1979
    assert debye_hueckel_a(25.0) == pytest.approx(0.510, abs=1e-3)  # Stumm & Morgan: 0.5 to 0.51 (from memory)


@pytest.mark.parametrize("temperature_c", [5, 15, 25, 35])
@pytest.mark.parametrize("ph", [5.5, 6.6, 7.4, 8.2])
@pytest.mark.parametrize("alkalinity", [0.1, 1.4266, 5.0])
def test_sodium_bicarbonate_water(temperature_c: float, ph: float, alkalinity: float) -> None:
    theirs = _phreeqc(ph=ph, temperature_c=temperature_c, sodium=alkalinity, alkalinity=alkalinity)
    ours = carbonate_of(
        ph=ph,
        alkalinity_meq_per_l=alkalinity,
        temperature_c=temperature_c,
        ionic_strength=alkalinity / 1000.0,
    )
    assert ours.co2_mol_per_l == pytest.approx(theirs["CO2"], rel=2.5e-3)
    assert ours.bicarbonate_mol_per_l == pytest.approx(theirs["HCO3-"], rel=5e-3)  # sodium binds up to 0.5 % of it


HARD_WATER_HIGH = {7.5: 0.031, 8.2: 0.092}


@settings(max_examples=60, deadline=None)
@given(
    ph=st.floats(5.5, 8.2),
    temperature_c=st.floats(4, 34),
    alkalinity=st.floats(0.2, 5.3),
    gypsum=st.floats(0, 1.2),
    chloride=st.floats(0, 1.0),
)
def test_hard_water_comes_out_high_and_never_low(
    ph: float, temperature_c: float, alkalinity: float, gypsum: float, chloride: float
) -> None:
    """What calcium and magnesium bind is neglected: CO2 is over-read by at most what the docstring says."""
    theirs = _phreeqc(
        ph=ph,
        temperature_c=temperature_c,
        calcium=alkalinity / 2 + 0.7 * gypsum + chloride / 2,
        magnesium=0.3 * gypsum,
        sulphate=gypsum,
        chloride=chloride,
        alkalinity=alkalinity,
    )
    levels = {
        "calcium": (alkalinity / 2 + 0.7 * gypsum + chloride / 2) * NUTRIENTS["calcium"].weight,
        "magnesium": 0.3 * gypsum * NUTRIENTS["magnesium"].weight,
        "sulphate": gypsum * NUTRIENTS["sulphate"].weight,
        "chloride": chloride * NUTRIENTS["chloride"].weight,
        "bicarbonate": alkalinity * NUTRIENTS["bicarbonate"].weight,
    }
    strength = ionic_strength_mol_per_l(levels)
    ours = carbonate_of(
        ph=ph, alkalinity_meq_per_l=alkalinity, temperature_c=temperature_c, ionic_strength=strength
    ).co2_mol_per_l
    ratio = ours / theirs["CO2"]
    assert 0.998 <= ratio <= 1.0 + HARD_WATER_HIGH[7.5 if ph <= 7.5 else 8.2]


@settings(max_examples=12, deadline=None)
@given(ph=st.floats(5.5, 9.0), temperature_c=st.floats(2, 35), alkalinity=st.floats(0.05, 10.0))
def test_without_ionic_strength_against_pyco2sys(ph: float, temperature_c: float, alkalinity: float) -> None:
    """At zero ionic strength our activities are 1, as in PyCO2SYS's fresh water (Millero 1979 constants)."""
    pyco2 = _pyco2sys()
    theirs = pyco2.sys(
        par1=1000.0 * alkalinity,
        par2=ph,
        par1_type=1,
        par2_type=3,
        salinity=0,
        temperature=temperature_c,
        opt_k_carbonic=8,
        opt_pH_scale=3,
        total_borate=0,
        total_sulfate=0,
        total_fluoride=0,
    )
    ours = carbonate_of(ph=ph, alkalinity_meq_per_l=alkalinity, temperature_c=temperature_c, ionic_strength=0.0)
    assert 1e6 * ours.co2_mol_per_l == pytest.approx(float(theirs["CO2"]), rel=6e-3)
    assert 1e6 * ours.bicarbonate_mol_per_l == pytest.approx(float(theirs["HCO3"]), rel=3e-3)


def _pyco2sys() -> Any:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import PyCO2SYS
    return PyCO2SYS


def test_davies_at_known_points() -> None:
    # A z² (√I / (1 + √I) - 0.3 I) by hand at I = 0.01, 25 °C: 0.5108 x (0.0909 - 0.003) = 0.0449
    assert activity_coefficient(1, ionic_strength=0.01, temperature_c=25) == pytest.approx(10**-0.0449, rel=1e-3)
    assert activity_coefficient(-2, ionic_strength=0.01, temperature_c=25) == pytest.approx(10**-0.1796, rel=1e-3)
    assert activity_coefficient(1, ionic_strength=0.0, temperature_c=25) == 1.0


def test_ionic_strength_of_a_salt_and_from_conductivity() -> None:
    # 1 mmol/L of CaCl2: ½ (0.001 x 4 + 0.002 x 1) = 0.003
    levels = {"calcium": NUTRIENTS["calcium"].weight, "chloride": 2 * NUTRIENTS["chloride"].weight, "urea": 5.0}
    assert ionic_strength_mol_per_l(levels) == pytest.approx(0.003)
    assert ionic_strength_of_conductivity(500.0) == pytest.approx(0.008)


def test_parts_add_up_to_the_alkalinity() -> None:
    parts = carbonate_of(ph=8.0, alkalinity_meq_per_l=2.0, temperature_c=25, ionic_strength=0.002)
    hydroxide = 10.0 ** (log_kw(25.0) + 8.0) / parts.gamma
    whole = parts.bicarbonate_mol_per_l + 2 * parts.carbonate_mol_per_l + hydroxide - 10.0**-8 / parts.gamma
    assert 1000.0 * whole == pytest.approx(2.0)
    assert parts.co2_mg_per_l == pytest.approx(1000 * parts.co2_mol_per_l * formula_weight("CO2"))


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"ph": 14.5}, "the pH is 14.5. Give 0 to 14"),
        ({"ph": -0.1}, "the pH is -0.1"),
        ({"ph": math.nan}, "the pH is no number"),
        ({"temperature_c": 60.0}, "the temperature is 60 °C. Give 0 to 50 °C"),
        ({"temperature_c": -2.0}, "the temperature is -2 °C"),
        ({"ionic_strength": 0.7}, "the ionic strength is 0.7 mol/L. Give 0 to 0.1 mol/L: fresh water"),
        ({"ionic_strength": -0.1}, "the ionic strength is -0.1"),
        ({"alkalinity_meq_per_l": -1.0}, "the alkalinity is -1 meq/L. Give 0 meq/L or more"),
        ({"alkalinity_meq_per_l": math.inf}, "the alkalinity is no number"),
        ({"alkalinity_meq_per_l": 0.0}, "leaves none for carbonate"),
        ({"other_meq_per_l": 2.0}, "leaves none for carbonate"),
        ({"other_meq_per_l": -2.0}, "not carbonate is -2"),
        ({"ph": 13.0}, "leaves none for carbonate"),
    ],
)
def test_impossible_water(changed: dict[str, float], message: str) -> None:
    water = {"ph": 7.0, "alkalinity_meq_per_l": 1.0, "temperature_c": 25.0, "ionic_strength": 0.001} | changed
    with pytest.raises(WaterError) as refused:
        carbonate_of(**water)
    assert message in str(refused.value)
    assert "\n" not in str(refused.value)


def test_unknown_or_negative_levels() -> None:
    with pytest.raises(WaterError, match=r'"ironn" is nothing Littoral keeps account of.*iron'):
        ionic_strength_mol_per_l({"ironn": 1.0})
    with pytest.raises(WaterError, match="the level of iron is -1 mg/L"):
        ionic_strength_mol_per_l({"iron": -1.0})
    with pytest.raises(WaterError, match="the conductivity is 9000"):
        ionic_strength_of_conductivity(9000.0)
