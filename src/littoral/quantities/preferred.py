"""Amounts as the person who reads them prefers: in the unit and with the decimal sign of the manner in force.

Inside, and in files, amounts stay in the canonical unit of their kind; only here is what is shown turned.
"""

from __future__ import annotations

from littoral.quantities.amounts import show_amount
from littoral.speech.manner import manner
from littoral.speech.numbers import numeral

_ALKALINITY = {"dGH": "dKH", "ppm CaCO3": "ppm CaCO3", "mmol/L": "meq/L"}
"""The unit of alkalinity that goes with one of hardness."""


def unit_for(kind: str) -> str:
    """Return the unit in which a kind of amount (`units.kinds`) is shown; its canonical one where none is chosen."""
    chosen = manner()
    units = {
        "volume": chosen.volume,
        "dose volume": chosen.dose,
        "temperature": chosen.temperature,
        "length": chosen.length,
        "mass": chosen.mass,
        "hardness": chosen.hardness,
        "alkalinity": _ALKALINITY[chosen.hardness],
    }
    return units[kind]


def preferred(value: float, *, kind: str, digits: int | None = None) -> str:
    """Return an amount for reading in the unit that is preferred, with its name.

    `value` is in the canonical unit of `kind`, one of those that `unit_for` knows (KeyError for another); `digits` is
    the number of significant digits, None for as many as the value has. What is returned can be parsed again, except
    where a decimal comma leaves two readings, which `parse_amount` then asks about.
    """
    number, _, unit = show_amount(value, kind=kind, unit=unit_for(kind), digits=digits).partition(" ")
    return f"{numeral(number)} {unit}"
