"""Conversions of hardness and alkalinity between the degrees in use.

Hardness is the sum of calcium and magnesium, mmol/L; alkalinity is the acid a water binds, meq/L (mmol/L of single
charge). The German degree is 10 mg CaO per litre, the French 10 mg CaCO3, the English 14.254 and the US grain per
gallon 17.118 mg CaCO3 per litre. A "KH" test measures all alkalinity, so KH may exceed GH.
"""

from __future__ import annotations

from littoral.quantities.amounts import factor_of

HARDNESS_UNITS = ("dGH", "°fH", "°e", "ppm CaCO3", "mmol/L", "meq/L")
"""The units a full picture shows: German, French and English degrees, as calcium carbonate, amount and charge."""
ALKALINITY_UNITS = ("dKH", "°fH", "°e", "ppm CaCO3", "mg/L HCO3", "meq/L")


def hardness_mmol_per_l(value: float, *, unit: str) -> float:
    """Return mmol/L of a hardness given in one of HARDNESS_UNITS or in gpg. Raises AmountError for another unit.

    Source: definitions above; DIN 38409-6 uses mmol/L.
    """
    return value * factor_of(unit, kind="hardness")


def hardness_in(mmol_per_l: float, *, unit: str) -> float:
    """Return a hardness in mmol/L in one of HARDNESS_UNITS or in gpg. Raises AmountError for another unit."""
    return mmol_per_l / factor_of(unit, kind="hardness")


def alkalinity_meq_per_l(value: float, *, unit: str) -> float:
    """Return meq/L of an alkalinity given in one of ALKALINITY_UNITS. Raises AmountError for another unit.

    Source: °KH = 2.804 x the acid capacity KS4.3 of DIN 38409-7.
    """
    return value * factor_of(unit, kind="alkalinity")


def alkalinity_in(meq_per_l: float, *, unit: str) -> float:
    """Return an alkalinity in meq/L in one of ALKALINITY_UNITS. Raises AmountError for another unit."""
    return meq_per_l / factor_of(unit, kind="alkalinity")


def hardness_in_every_unit(mmol_per_l: float) -> dict[str, float]:
    """Return a hardness in mmol/L as each of HARDNESS_UNITS, by unit. Raises nothing."""
    return {unit: hardness_in(mmol_per_l, unit=unit) for unit in HARDNESS_UNITS}


def alkalinity_in_every_unit(meq_per_l: float) -> dict[str, float]:
    """Return an alkalinity in meq/L as each of ALKALINITY_UNITS, by unit. Raises nothing."""
    return {unit: alkalinity_in(meq_per_l, unit=unit) for unit in ALKALINITY_UNITS}
