"""Activity coefficients: how much less than their concentration ions count for, in dilute waters.

Davies' equation, log10 γ = -A z² (√I / (1 + √I) - 0.3 I), good to an ionic strength of about 0.1 to 0.5 mol/L. A comes
from water's dielectric constant (Malmberg & Maryott 1956, J Res Natl Bur Stand 56:1-8, from memory) and density
(Kell-type fit, from memory). Ionic strengths are mol/L, taken as mol/kg of water: apart by less than 1 % below 40 °C.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from littoral.chemistry.charges import CHARGES
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.water_errors import require, require_levels

HIGHEST_IONIC_STRENGTH = 0.1
"""mol/L; up to here Davies' equation is within a few percent (Stumm & Morgan 1996, from memory: to 0.5)."""


def debye_hueckel_a(temperature_c: float) -> float:
    """Return the constant A of the Debye-Hückel law, (kg/mol)^½, at 0 to 50 °C: 0.509 at 25 °C. Raises WaterError."""
    require(temperature_c, what="the temperature", low=0.0, high=50.0, unit="°C", why="the constants hold there")
    t = temperature_c
    dielectric = 87.740 - 0.40008 * t + 9.398e-4 * t**2 - 1.410e-6 * t**3
    density = 1.0 - (t + 288.9414) * (t - 3.9863) ** 2 / (508929.2 * (t + 68.12963))  # kg/L
    return float(1.824829e6 * math.sqrt(density) / (dielectric * (t + 273.15)) ** 1.5)


def activity_coefficient(charge: int, *, ionic_strength: float, temperature_c: float) -> float:
    """Return γ (no unit) of an ion of the given charge; of a neutral molecule 10^(0.1 I). Source: module docstring.

    `ionic_strength` in mol/L, 0 to 0.1; `temperature_c` 0 to 50 °C. Raises WaterError outside.
    """
    i = require(
        ionic_strength, what="the ionic strength", low=0.0, high=HIGHEST_IONIC_STRENGTH, unit="mol/L", why="fresh water"
    )
    if charge == 0:
        return float(10.0 ** (0.1 * i))
    root = math.sqrt(i)
    return float(10.0 ** (-debye_hueckel_a(temperature_c) * charge**2 * (root / (1.0 + root) - 0.3 * i)))


def ionic_strength_mol_per_l(level_mg_per_l: Mapping[str, float]) -> float:
    """Return ½ Σ c z² in mol/L, from levels in mg/L by nutrient; ion pairs are not counted. Raises WaterError."""
    require_levels(level_mg_per_l)
    return 0.5 * sum(
        level / 1000.0 / NUTRIENTS[key].weight * CHARGES.get(key, 0) ** 2 for key, level in level_mg_per_l.items()
    )


def ionic_strength_of_conductivity(conductivity_us_per_cm: float) -> float:
    """Return an estimate of the ionic strength, mol/L, from the conductivity at 25 °C in µS/cm (0 to 5000).

    I = 1.6e-5 x EC (Langelier; Snoeyink & Jenkins 1980, from memory); good to about 15 %. Raises WaterError.
    """
    what = "the conductivity"
    return 1.6e-5 * require(conductivity_us_per_cm, what=what, low=0.0, high=5000.0, unit="µS/cm", why="fresh water")
