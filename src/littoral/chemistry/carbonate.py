"""The carbonate system of fresh water: constants, and CO2, bicarbonate and carbonate from pH and alkalinity.

Constants: Plummer & Busenberg 1982, Geochim Cosmochim Acta 46:1011-1040 (K1 and K2 as in the database of PHREEQC; KH
from memory), 0 to 90 °C; here 0 to 50 °C. Water's ion product: Harned & Owen fit as in Millero 1979 (from memory).
Activities: Davies. CO2 means CO2 and H2CO3 together, as everywhere in this field.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from littoral.chemistry.activity import activity_coefficient
from littoral.chemistry.water_errors import WaterError, require, require_ph
from littoral.chemistry.weights import formula_weight

HOTTEST_C = 50.0
PLUMMER = "Plummer & Busenberg 1982, Geochim Cosmochim Acta 46:1011"


@dataclass(frozen=True, slots=True)
class Carbonate:
    """The dissolved inorganic carbon of a water, mol/L, and the activity coefficient of a single charge."""

    co2_mol_per_l: float
    bicarbonate_mol_per_l: float
    carbonate_mol_per_l: float
    gamma: float

    @property
    def co2_mg_per_l(self) -> float:
        """CO2, mg/L."""
        return 1000.0 * self.co2_mol_per_l * formula_weight("CO2")


def _kelvin(temperature_c: float) -> float:
    why = "the constants are checked there"
    return 273.15 + require(temperature_c, what="the temperature", low=0.0, high=HOTTEST_C, unit="°C", why=why)


def log_kh(temperature_c: float) -> float:
    """Return log10 of CO2's solubility, mol/(kg atm), at 0 to 50 °C. Source: module docstring. Raises WaterError."""
    t = _kelvin(temperature_c)
    return 108.3865 + 0.01985076 * t - 6919.53 / t - 40.45154 * math.log10(t) + 669365.0 / t**2


def log_k1(temperature_c: float) -> float:
    """Return log10 K1 of carbonic acid (no unit) at 0 to 50 °C. Source: module docstring. Raises WaterError."""
    t = _kelvin(temperature_c)
    return -356.3094 - 0.06091964 * t + 21834.37 / t + 126.8339 * math.log10(t) - 1684915.0 / t**2


def log_k2(temperature_c: float) -> float:
    """Return log10 K2 of carbonic acid (no unit) at 0 to 50 °C. Source: module docstring. Raises WaterError."""
    t = _kelvin(temperature_c)
    return -107.8871 - 0.03252849 * t + 5151.79 / t + 38.92561 * math.log10(t) - 563713.9 / t**2


def log_kw(temperature_c: float) -> float:
    """Return log10 of water's ion product (no unit) at 0 to 50 °C: -13.995 at 25 °C. Raises WaterError."""
    t = _kelvin(temperature_c)
    return (148.9802 - 13847.26 / t - 23.6521 * math.log(t)) / math.log(10.0)


def carbonate_of(
    *, ph: float, alkalinity_meq_per_l: float, temperature_c: float, ionic_strength: float, other_meq_per_l: float = 0.0
) -> Carbonate:
    """Return CO2, bicarbonate and carbonate of a water.

    `alkalinity_meq_per_l` is what a KH test measures; `other_meq_per_l` the part of it that is not carbonate (see
    `other_alkalinity`). `ionic_strength` in mol/L. pH is taken as the activity of H+. What calcium and magnesium bind
    of the carbonate is neglected: against PHREEQC, CO2 comes out up to 3 % high in hard water below pH 7.5, 9 % at
    pH 8.2 and a third at pH 9, where it is a trace; in soft water within 0.2 % up to pH 8.2.
    Raises WaterError where a value is impossible, or where no carbonate alkalinity is left to compute with.
    """
    require_ph(ph)
    require(alkalinity_meq_per_l, what="the alkalinity", low=0.0, high=math.inf, unit="meq/L")
    require(other_meq_per_l, what="the alkalinity that is not carbonate", low=0.0, high=math.inf, unit="meq/L")
    gamma = activity_coefficient(1, ionic_strength=ionic_strength, temperature_c=temperature_c)
    gamma_2 = activity_coefficient(2, ionic_strength=ionic_strength, temperature_c=temperature_c)
    gamma_0 = activity_coefficient(0, ionic_strength=ionic_strength, temperature_c=temperature_c)
    hydrogen = 10.0**-ph  # activity
    hydroxide = 10.0 ** log_kw(temperature_c) / hydrogen / gamma
    carbonate_eq_per_l = (alkalinity_meq_per_l - other_meq_per_l) / 1000.0 + hydrogen / gamma - hydroxide
    if carbonate_eq_per_l <= 0 or alkalinity_meq_per_l <= other_meq_per_l:
        what = f"an alkalinity of {alkalinity_meq_per_l:g} meq/L at pH {ph:g} leaves none for carbonate"
        raise WaterError(what=what, right="From such a water CO2 cannot be computed; measure it otherwise.")
    carbonate_share = 10.0 ** log_k2(temperature_c) * gamma / (hydrogen * gamma_2)  # of carbonate to bicarbonate
    bicarbonate = carbonate_eq_per_l / (1.0 + 2.0 * carbonate_share)
    co2 = hydrogen * gamma * bicarbonate / (10.0 ** log_k1(temperature_c) * gamma_0)
    return Carbonate(co2, bicarbonate, carbonate_share * bicarbonate, gamma)
