"""The units a person may write, and what each is worth in the one unit Littoral computes in.

A table rather than pint: every text must pass an allow-list anyway (pint evaluates what it reads, `9**9**9` hangs it,
and it knows no dKH); after that one multiplication is left. The tests compare each factor with pint.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from types import MappingProxyType

# Every name of a unit on the left, its worth in the canonical unit on the right.
_VOLUME_L = {
    "L": 1.0,
    "litre": 1.0,
    "litres": 1.0,
    "liter": 1.0,
    "liters": 1.0,
    "mL": 1e-3,
    "millilitre": 1e-3,
    "millilitres": 1e-3,
    "milliliter": 1e-3,
    "milliliters": 1e-3,
    "cL": 1e-2,
    "dL": 1e-1,
    "µL": 1e-6,
    "uL": 1e-6,
    "cm3": 1e-3,
    "cm³": 1e-3,
    "m3": 1e3,
    "m³": 1e3,
    "gal": 3.785411784,  # US liquid gallon, 231 cubic inches exactly; the imperial one must be named
    "gallon": 3.785411784,
    "gallons": 3.785411784,
    "US gal": 3.785411784,
    "imp gal": 4.54609,
    "fl oz": 3.785411784 / 128,  # US fluid ounce, a 128th of the US gallon
    "US fl oz": 3.785411784 / 128,
}
_MASS_G = {
    "g": 1.0,
    "gram": 1.0,
    "grams": 1.0,
    "kg": 1e3,
    "mg": 1e-3,
    "µg": 1e-6,
    "ug": 1e-6,
    "lb": 453.59237,
    "oz": 28.349523125,
}
_LENGTH_CM = {"cm": 1.0, "mm": 0.1, "m": 100.0, "in": 2.54, "inch": 2.54, "inches": 2.54, "ft": 30.48, "feet": 30.48}
_DURATION_D = {
    "day": 1.0,
    "days": 1.0,
    "d": 1.0,
    "week": 7.0,
    "weeks": 7.0,
    "hour": 1 / 24,
    "hours": 1 / 24,
    "h": 1 / 24,
    "min": 1 / 1440,
    "minute": 1 / 1440,
    "minutes": 1 / 1440,
}
_TEMPERATURE = {"°C": 1.0, "C": 1.0, "°F": 5 / 9, "F": 5 / 9, "K": 1.0}
_TEMPERATURE_OFFSET = {"°F": -160 / 9, "F": -160 / 9, "K": -273.15}
_FRACTION = {"%": 0.01, "percent": 0.01}
# 1 degree of hardness is 10 mg CaO per litre, by definition; CaO weighs 56.0774 g/mol (CIAAW 2021), CaCO3 100.0869.
_HARDNESS_MMOL_PER_L = {
    "dGH": 10 / 56.0774,
    "°dGH": 10 / 56.0774,
    "°dH": 10 / 56.0774,
    "dH": 10 / 56.0774,
    "mmol/L": 1.0,
    "ppm CaCO3": 1 / 100.0869,
    "mg/L CaCO3": 1 / 100.0869,
    "°fH": 10 / 100.0869,
    "°e": 14.254 / 100.0869,
    "gpg": 17.118 / 100.0869,
    "meq/L": 0.5,
    "mval/L": 0.5,  # an older word for meq/L
}
_ALKALINITY_MEQ_PER_L = {
    "dKH": 20 / 56.0774,
    "°dKH": 20 / 56.0774,
    "°dH": 20 / 56.0774,
    "°fH": 20 / 100.0869,
    "°e": 2 * 14.254 / 100.0869,
    "meq/L": 1.0,
    "mval/L": 1.0,
    "mmol/L": 1.0,  # acid capacity KS4.3, of one charge each
    "ppm CaCO3": 2 / 100.0869,
    "mg/L CaCO3": 2 / 100.0869,
    "mg/L HCO3": 1 / 61.0168,
}
_HARDNESS_SHOWN = ("dGH", "mmol/L", "ppm CaCO3", "°fH", "°e", "gpg", "meq/L")
_ALKALINITY_SHOWN = ("dKH", "meq/L", "ppm CaCO3", "mg/L HCO3", "°fH", "°e")


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of amount: its canonical unit, the range it may lie in, and every accepted unit.

    canonical = factor * written + offset; units without an offset have none. `shown` are the units named in messages.
    """

    name: str
    unit: str
    factors: Mapping[str, float]
    shown: tuple[str, ...]
    low: float = 0.0
    high: float = float("inf")
    bare: bool = False  # whether a number without a unit is clear
    offsets: Mapping[str, float] = field(default_factory=dict)

    def factor_and_offset(self, unit: str) -> tuple[float, float] | None:
        """Return factor and offset of a unit as a person spells it; None for one this kind does not have.

        " per " and "/" are the same; case makes no difference: no two units of one kind differ by it.
        """
        if not unit:
            return (1.0, 0.0) if self.bare else None
        spelled = re.sub(r"\s*/\s*|(^|\s+)per\s+", "/", unit.strip(), flags=re.IGNORECASE)
        spelled = f"1{spelled}" if spelled.startswith("/") else spelled
        folded = spelled.casefold()
        for name, factor in self.factors.items():
            if folded == name.casefold():
                return factor, self.offsets.get(name, 0.0)
        return None


def _per(top: Mapping[str, float], bottom: Mapping[str, float], *, scale: float = 1.0) -> dict[str, float]:
    return {f"{a}/{b}": scale * x / y for a, x in top.items() for b, y in bottom.items()}


@cache
def kinds() -> Mapping[str, Kind]:
    """Return every kind of amount by its name; factors turn the unit named by their key into the kind's `unit`."""
    rate = _per(_FRACTION | {"1": 1.0}, _DURATION_D)
    return MappingProxyType(
        {
            kind.name: kind
            for kind in (
                Kind("volume", "L", _VOLUME_L, ("L", "mL", "m3", "gal", "imp gal")),
                Kind("dose volume", "mL", {u: f * 1e3 for u, f in _VOLUME_L.items()}, ("mL", "µL", "L")),
                Kind("mass", "g", _MASS_G, ("g", "mg", "µg", "kg", "oz", "lb")),
                Kind("length", "cm", _LENGTH_CM, ("cm", "mm", "m", "in", "ft")),
                Kind("duration", "days", _DURATION_D, ("days", "weeks", "hours", "min")),
                Kind(
                    "concentration",
                    "mg/L",
                    _per(_MASS_G, _VOLUME_L, scale=1e3) | {"ppm": 1.0, "ppb": 1e-3},
                    ("mg/L", "µg/L", "g/L", "ppm"),
                ),
                Kind("fraction", "", _FRACTION, ("%",), high=1.0, bare=True),
                Kind("density", "kg/L", _per(_MASS_G, _VOLUME_L, scale=1e-3), ("kg/L", "g/mL", "g/cm3", "kg/m3")),
                Kind("rate", "1/day", rate, ("% per day", "% per week", "1/day")),
                Kind("flow", "L/day", _per(_VOLUME_L, _DURATION_D), ("L per day", "L per week", "mL per day")),
                Kind("temperature", "°C", _TEMPERATURE, ("°C", "°F", "K"), low=-273.15, offsets=_TEMPERATURE_OFFSET),
                Kind(
                    "hardness",
                    "mmol/L",
                    _HARDNESS_MMOL_PER_L,
                    ("dGH", "mmol/L", "ppm CaCO3", "°fH", "°e", "gpg", "meq/L"),
                ),
                Kind(
                    "alkalinity",
                    "meq/L",
                    _ALKALINITY_MEQ_PER_L,
                    ("dKH", "meq/L", "ppm CaCO3", "mg/L HCO3", "°fH", "°e"),
                ),
            )
        }
    )
