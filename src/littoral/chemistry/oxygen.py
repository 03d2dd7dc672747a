"""Oxygen that fresh water holds in balance with air.

Benson & Krause 1980/1984 (Limnol Oceanogr 25:662, 29:620) in the form of Standard Methods 4500-O G: 0 to 40 °C,
0.5 to 1.1 atm, no salt. The vapour pressure and θ of the pressure correction: from memory of the same.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from littoral.chemistry.water_errors import require
from littoral.quantities.derivation import Step

BENSON = "Benson & Krause 1984, as in Standard Methods 4500-O G"


@dataclass(frozen=True, slots=True)
class OxygenSaturation:
    """What water holds in balance with air, mg/L, and how it came about."""

    saturation_mg_per_l: float
    steps: tuple[Step, ...]


def oxygen_saturation_mg_per_l(*, temperature_c: float, pressure_atm: float = 1.0) -> float:
    """Return the oxygen of fresh water in balance with moist air, mg/L, at 0 to 40 °C and 0.5 to 1.1 atm.

    Raises WaterError outside. Source: module docstring.
    """
    at_sea = _at_one_atm(temperature_c)
    p = require(pressure_atm, what="the air pressure", low=0.5, high=1.1, unit="atm", why="the formula holds there")
    vapour, theta = _vapour_atm(temperature_c), _theta(temperature_c)
    return at_sea * p * (1 - vapour / p) * (1 - theta * p) / ((1 - vapour) * (1 - theta))


def oxygen_saturation(*, temperature_c: float, pressure_atm: float = 1.0) -> OxygenSaturation:
    """Return the same as `oxygen_saturation_mg_per_l` with its derivation. Raises WaterError."""
    full = oxygen_saturation_mg_per_l(temperature_c=temperature_c, pressure_atm=pressure_atm)
    t = 273.15 + temperature_c
    steps = (
        Step(
            "oxygen at 1 atm",
            f"exp(-139.34411 + 1.575701e5/T - 6.642308e7/T² + 1.2438e10/T³ - 8.621949e11/T⁴), T = {t:.2f} K",
            f"{_at_one_atm(temperature_c):.3f} mg/L",
            BENSON,
        ),
        Step(
            "corrected for air pressure",
            f"x P (1 - Pw/P)(1 - θP) / ((1 - Pw)(1 - θ)), P = {pressure_atm:.4g} atm, "
            f"Pw = {_vapour_atm(temperature_c):.5f} atm, θ = {_theta(temperature_c):.6f}",
            f"{full:.3f} mg/L",
            BENSON,
        ),
    )
    return OxygenSaturation(full, steps)


def pressure_at_altitude_atm(altitude_m: float) -> float:
    """Return the usual air pressure, atm, at an altitude of -400 to 5500 m: ICAO standard atmosphere (from memory).

    Weather moves it by some 3 %. Raises WaterError.
    """
    why = "beyond it the oxygen formula does not hold"
    h = require(altitude_m, what="the altitude", low=-400.0, high=5500.0, unit="m", why=why)
    return float((1.0 - 2.25577e-5 * h) ** 5.25588)


def _at_one_atm(temperature_c: float) -> float:
    why = "the formula holds there"
    t = 273.15 + require(temperature_c, what="the temperature", low=0.0, high=40.0, unit="°C", why=why)
    return math.exp(-139.34411 + 1.575701e5 / t - 6.642308e7 / t**2 + 1.2438e10 / t**3 - 8.621949e11 / t**4)


def _vapour_atm(temperature_c: float) -> float:
    t = 273.15 + temperature_c
    return math.exp(11.8571 - 3840.70 / t - 216961.0 / t**2)


def _theta(temperature_c: float) -> float:
    return 0.000975 - 1.426e-5 * temperature_c + 6.436e-8 * temperature_c**2
