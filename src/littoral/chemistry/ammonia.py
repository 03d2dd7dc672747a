"""Un-ionised ammonia: the part of the total ammonia that is NH3, which harms animals, and EPA's criteria for it.

Emerson, Russo, Lund & Thurston 1975, J Fish Res Board Can 32:2379-2383: pKa = 0.09018 + 2729.92 / T with
T = 273.2 + °C as in their tables, 0 to 50 °C. In salty water a little less is un-ionised.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.water_errors import require, require_ph
from littoral.chemistry.weights import element_share
from littoral.quantities.derivation import Step

EMERSON = "Emerson et al. 1975, J Fish Res Board Can 32:2379"
EPA_2013 = "US EPA 2013, EPA-822-R-13-001 (from memory of the formulas)"


@dataclass(frozen=True, slots=True)
class Ammonia:
    """The ammonia of a water: total as N, and its un-ionised part as NH3 and as N, all mg/L; `share` is 0 to 1."""

    total_mg_n_per_l: float
    share: float
    unionised_mg_nh3_per_l: float
    unionised_mg_n_per_l: float
    steps: tuple[Step, ...]


def ammonia_pka(temperature_c: float) -> float:
    """Return pKa of ammonium (no unit) at 0 to 50 °C. Source: module docstring. Raises WaterError."""
    why = "Emerson's formula holds there"
    t = require(temperature_c, what="the temperature", low=0.0, high=50.0, unit="°C", why=why)
    return 0.09018 + 2729.92 / (273.2 + t)


def unionised_share(*, ph: float, temperature_c: float) -> float:
    """Return the share (0 to 1) of total ammonia that is NH3 at a pH and 0 to 50 °C. Raises WaterError."""
    return float(1.0 / (10.0 ** (ammonia_pka(temperature_c) - require_ph(ph)) + 1.0))


def ammonia_of(*, ammonium_mg_per_l: float, ph: float, temperature_c: float) -> Ammonia:
    """Return total and un-ionised ammonia from a level in mg/L *as NH4*, as tests print it. Raises WaterError."""
    require(ammonium_mg_per_l, what="the ammonium", low=0.0, high=math.inf, unit="mg/L")
    total_n = ammonium_mg_per_l * NUTRIENTS["ammonium"].element_share
    pka, share = ammonia_pka(temperature_c), unionised_share(ph=ph, temperature_c=temperature_c)
    unionised_n = total_n * share
    unionised = unionised_n / element_share("NH3", "N")
    steps = (
        Step(
            "total ammonia as nitrogen",
            f"{ammonium_mg_per_l:.4g} mg/L as NH4 x {NUTRIENTS['ammonium'].element_share:.4f}",
            f"{total_n:.4g} mg N/L",
            "formula weights",
        ),
        Step("pKa", f"0.09018 + 2729.92 / (273.2 + {temperature_c:g})", f"{pka:.3f}", EMERSON),
        Step("un-ionised share", f"1 / (10^({pka:.3f} - {ph:g}) + 1)", f"{100 * share:.3g} %", EMERSON),
        Step("un-ionised ammonia", f"{total_n:.4g} mg N/L x {share:.4g}", f"{unionised_n:.4g} mg N/L", ""),
        Step("the same as NH3", f"{unionised_n:.4g} / {element_share('NH3', 'N'):.4f}", f"{unionised:.4g} mg/L", ""),
    )
    return Ammonia(total_n, share, unionised, unionised_n, steps)


def epa_acute_mg_n_per_l(*, ph: float, temperature_c: float, salmonids: bool = False) -> float:
    """Return EPA's acute criterion of 2013, mg of total ammonia nitrogen per litre, one-hour average.

    Salmonids and mussels are its most sensitive animals; without salmonids the warm-water branch counts.
    pH 6.5 to 9 and 0 to 30 °C as in EPA's tables. The criteria of 1999 differ. From memory. Raises WaterError.
    """
    x, t = _epa_range(ph, temperature_c)
    by_ph = 0.0114 / (1 + 10 ** (7.204 - x)) + 1.6181 / (1 + 10 ** (x - 7.204))
    warm = 23.12 * 10 ** (0.036 * (20.0 - t))
    if not salmonids:
        return float(0.7249 * by_ph * min(51.93, warm))
    salmon = 0.275 / (1 + 10 ** (7.204 - x)) + 39.0 / (1 + 10 ** (x - 7.204))
    return float(min(salmon, 0.7249 * by_ph * warm))


def epa_chronic_mg_n_per_l(*, ph: float, temperature_c: float) -> float:
    """Return EPA's chronic criterion of 2013, mg of total ammonia nitrogen per litre, 30-day average.

    Any four days may average 2.5 times as much. Ranges, source and error as `epa_acute_mg_n_per_l`.
    """
    x, t = _epa_range(ph, temperature_c)
    by_ph = 0.0278 / (1 + 10 ** (7.688 - x)) + 1.1994 / (1 + 10 ** (x - 7.688))
    return float(0.8876 * by_ph * 2.126 * 10 ** (0.028 * (20.0 - max(t, 7.0))))


def _epa_range(ph: float, temperature_c: float) -> tuple[float, float]:
    why = "EPA's tables end there"
    return (
        require(require_ph(ph), what="the pH", low=6.5, high=9.0, why=why),
        require(temperature_c, what="the temperature", low=0.0, high=30.0, unit="°C", why=why),
    )
