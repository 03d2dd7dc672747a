"""Every factor of our table against pint, which knows units from its own definitions file."""

from __future__ import annotations

import pint
import pytest

from littoral.quantities.units import kinds

PINTS_NAME = {
    "L": "liter",
    "imp gal": "imperial_gallon",
    "US gal": "gallon",
    "gal": "gallon",
    "fl oz": "fluid_ounce",
    "US fl oz": "fluid_ounce",
    "in": "inch",
    "d": "day",
}
CANONICAL = {
    "volume": "liter",
    "dose volume": "milliliter",
    "mass": "gram",
    "length": "centimeter",
    "duration": "day",
    "concentration": "milligram/liter",
    "density": "kilogram/liter",
    "flow": "liter/day",
}
NOT_IN_PINT = {"concentration": {"ppm", "ppb"}}  # there dimensionless; here mg and µg per litre, as the trade uses them


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry:
    return pint.UnitRegistry()


@pytest.mark.parametrize("kind", sorted(CANONICAL))
def test_factors(kind: str, registry: pint.UnitRegistry) -> None:
    compared = 0
    for name, factor in kinds()[kind].factors.items():
        if name in NOT_IN_PINT.get(kind, ()):
            continue
        spelled = "/".join(PINTS_NAME.get(part, part) for part in name.split("/"))
        spelled = spelled.replace("cm³", "cm**3").replace("m³", "m**3").replace("cm3", "cm**3").replace("m3", "m**3")
        assert registry.Quantity(1.0, spelled).to(CANONICAL[kind]).magnitude == pytest.approx(factor, rel=1e-14), name
        compared += 1
    assert compared >= 8


@pytest.mark.parametrize("unit", ["°C", "°F", "K"])
def test_temperatures(unit: str, registry: pint.UnitRegistry) -> None:
    factor_and_offset = kinds()["temperature"].factor_and_offset(unit)
    assert factor_and_offset is not None
    pints = {"°C": "degC", "°F": "degF", "K": "kelvin"}[unit]
    ours = factor_and_offset[0] * 280.0 + factor_and_offset[1]
    assert ours == pytest.approx(registry.Quantity(280.0, pints).to("degC").magnitude, rel=1e-12)
