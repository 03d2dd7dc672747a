"""What the air alone gives a water: the CO2 it holds, and the pH that its alkalinity settles at.

The difference between a tank's CO2 and this is what gas, animals and decay add, or plants take.
"""

from __future__ import annotations

from littoral.chemistry.carbonate import carbonate_of, log_kh
from littoral.chemistry.water_errors import WaterError, require
from littoral.chemistry.weights import formula_weight

AIR_UATM = 420.0
"""Partial pressure of CO2 in outdoor air, µatm, about 2022 (NOAA, from memory). Rooms with people hold 600 to 1500."""


def air_co2_mg_per_l(*, temperature_c: float, partial_pressure_uatm: float = AIR_UATM) -> float:
    """Return the CO2 that water holds in balance with air, mg/L, by Henry's law (Plummer & Busenberg 1982).

    0 to 50 °C; pressure in µatm, at most 100 000. Raises WaterError.
    """
    what = "the partial pressure of CO2"
    pressure = require(partial_pressure_uatm, what=what, low=0.0, high=1e5, unit="µatm", why="that of air")
    return float(pressure * 1e-6 * 10.0 ** log_kh(temperature_c) * formula_weight("CO2") * 1000.0)


def air_ph(
    *,
    alkalinity_meq_per_l: float,
    temperature_c: float,
    partial_pressure_uatm: float = AIR_UATM,
    ionic_strength: float | None = None,
) -> float:
    """Return the pH that a water of this alkalinity settles at in air, without plants, animals or gas.

    `ionic_strength` in mol/L; None takes it from the alkalinity. Raises WaterError; also below 0.01 meq/L, where a
    water has no pH worth computing.
    """
    low, why = 0.01, "purer water settles anywhere near pH 5.6"
    require(alkalinity_meq_per_l, what="the alkalinity", low=low, high=100.0, unit="meq/L", why=why)
    strength = alkalinity_meq_per_l / 1000.0 if ionic_strength is None else ionic_strength
    aim = air_co2_mg_per_l(temperature_c=temperature_c, partial_pressure_uatm=partial_pressure_uatm)
    if aim <= 0:
        raise WaterError(what="the partial pressure of CO2 is 0 µatm", right="Give that of the air, such as 420 µatm.")
    below, above = 4.0, 11.0
    for _ in range(60):  # CO2 falls with pH: halving to 7 / 2^60
        middle = 0.5 * (below + above)
        if _co2_or_none(middle, alkalinity_meq_per_l, temperature_c, strength) > aim:
            below = middle
        else:
            above = middle
    return 0.5 * (below + above)


def _co2_or_none(ph: float, alkalinity_meq_per_l: float, temperature_c: float, ionic_strength: float) -> float:
    """CO2, mg/L; 0 where the pH is so high that hydroxide takes up all of the alkalinity."""
    try:
        return carbonate_of(
            ph=ph,
            alkalinity_meq_per_l=alkalinity_meq_per_l,
            temperature_c=temperature_c,
            ionic_strength=ionic_strength,
        ).co2_mg_per_l
    except WaterError:
        return 0.0
