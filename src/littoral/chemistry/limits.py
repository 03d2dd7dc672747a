"""Published limits: the table, and what each comes to in a given water. The data are `limits.toml` beside this file.

None is an aquarium limit. What is computed here says which published figure a level lies below or above; it never says
that a level does no harm.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any, Literal

from littoral.chemistry.ammonia import epa_acute_mg_n_per_l, epa_chronic_mg_n_per_l
from littoral.chemistry.package_data import table
from littoral.chemistry.water_errors import WaterError, require, require_ph
from littoral.quantities.hardness import hardness_in

NOT_AN_AQUARIUM_LIMIT = "Not an aquarium limit."
_OF_CURVES = {"h": "hardness", "p": "pH", "d": "dissolved organic carbon"}


@dataclass(frozen=True, slots=True)
class Limit:
    """One published limit, as its source states it; `numbers` are what its `rule` computes with (see limits.toml)."""

    key: str
    analyte: str
    stated_as: str
    unit: str
    operator: Literal["<=", ">="]
    term: Literal["long", "short"]
    rule: str
    numbers: Mapping[str, Any]
    protects: str
    source: str
    status: str
    note: str

    @property
    def cited(self) -> str:
        """The source, and how its figure came here."""
        return self.source if self.status == "common practice" else f"{self.source} ({self.status})"


@dataclass(frozen=True, slots=True)
class WaterConditions:
    """What limits depend on: hardness mmol/L, pH, temperature °C, chloride mg/L, dissolved organic carbon mg C/L.

    None is what is not known; a limit that needs it cannot be told then.
    """

    hardness_mmol_per_l: float | None = None
    ph: float | None = None
    temperature_c: float | None = None
    chloride_mg_per_l: float | None = None
    doc_mg_per_l: float | None = None

    def check(self) -> None:
        """Raise WaterError where a condition is impossible."""
        for what, value, unit in (
            ("the hardness", self.hardness_mmol_per_l, "mmol/L"),
            ("the chloride", self.chloride_mg_per_l, "mg/L"),
            ("the dissolved organic carbon", self.doc_mg_per_l, "mg C/L"),
        ):
            if value is not None:
                require(value, what=what, low=0.0, high=math.inf, unit=unit)
        if self.ph is not None:
            require_ph(self.ph)
        if self.temperature_c is not None:
            why = "water that animals live in"
            require(self.temperature_c, what="the temperature", low=0.0, high=50.0, unit="°C", why=why)


@dataclass(frozen=True, slots=True)
class LimitHere:
    """What a limit comes to in a water, in its own unit, and by what `formula`; None with the `missing` named."""

    value: float | None
    formula: str
    missing: str = ""


@cache
def limits() -> tuple[Limit, ...]:
    """Return the whole table, in its order."""
    return tuple(_limit_of(row) for row in table("limits")["limit"])


def limit_here(limit: Limit, conditions: WaterConditions) -> LimitHere:
    """Return what a limit comes to in its own unit in a water of these conditions. Raises WaterError."""
    conditions.check()
    numbers = limit.numbers
    if limit.rule == "constant":
        return LimitHere(numbers["value"], f"{numbers['value']:g} {limit.unit}")
    if limit.rule in ("epa acute", "epa chronic"):
        return _epa(limit.rule, conditions)
    if limit.rule == "steps" and numbers["steps_of"] == "chloride":
        chloride = conditions.chloride_mg_per_l
        value = _step(numbers["steps"], chloride or 0.0)
        known = "not known, so the strictest step" if chloride is None else f"{chloride:g} mg/L"
        return LimitHere(value, f"step at chloride {known}: {value:g} {limit.unit}")
    if conditions.hardness_mmol_per_l is None:
        return LimitHere(None, "", "hardness")
    hardness = hardness_in(conditions.hardness_mmol_per_l, unit="ppm CaCO3")
    if limit.rule == "steps":
        value = _step(numbers["steps"], hardness)
        return LimitHere(value, f"step at hardness {hardness:.0f} mg CaCO3/L: {value:g} {limit.unit}")
    if limit.rule == "line":
        base, slope, beyond = numbers["value"], numbers["slope"], numbers["beyond"]
        value = base + slope * max(hardness - beyond, 0.0)
        return LimitHere(value, f"{base:g} + {slope:g} x ({hardness:.0f} - {beyond:g}), at least {base:g}")
    return _curve(limit, conditions, hardness)


def _limit_of(row: Mapping[str, Any]) -> Limit:
    named = {"key", "analyte", "stated_as", "unit", "operator", "term", "rule", "protects", "source", "status", "note"}
    return Limit(
        numbers=MappingProxyType({key: value for key, value in row.items() if key not in named}),
        **{"note": "", **{key: row[key] for key in named if key in row}},
    )


def _step(steps: list[list[float]], at: float) -> float:
    return next(value for below, value in steps if at < below)


def _epa(rule: str, conditions: WaterConditions) -> LimitHere:
    ph, t = conditions.ph, conditions.temperature_c
    if ph is None or t is None:
        return LimitHere(None, "", "pH" if ph is None else "temperature")
    formula = f"EPA's formula at pH {ph:g} and {t:g} °C"
    try:
        if rule == "epa acute":
            return LimitHere(epa_acute_mg_n_per_l(ph=ph, temperature_c=t), formula)
        return LimitHere(epa_chronic_mg_n_per_l(ph=ph, temperature_c=t), formula)
    except WaterError as outside:
        return LimitHere(None, "", f"a formula that holds there ({outside.what}; EPA's is for pH 6.5 to 9, 0 to 30 °C)")


def _curve(limit: Limit, conditions: WaterConditions, hardness: float) -> LimitHere:
    """factor x exp(h ln H + p pH + d ln DOC + constant), within `least` and `most`, each variable within its range."""
    numbers = limit.numbers
    given = {"h": hardness, "p": conditions.ph, "d": conditions.doc_mg_per_l}
    total, parts = numbers["constant"], []
    for name, at in given.items():
        power = numbers.get(name, 0.0)
        if power == 0.0:
            continue
        if at is None:
            return LimitHere(None, "", _OF_CURVES[name])
        low, high = numbers.get({"h": "range_h", "p": "range_ph", "d": "range_doc"}[name], (1e-3, math.inf))
        used = min(max(at, low), high)
        ended = "" if used == at else f" (taken as {used:g}, where the formula ends)"
        total += power * (used if name == "p" else math.log(used))
        parts.append(f"{power:g} {'x' if name == 'p' else 'ln'} {at:.3g}{ended}")
    if hardness <= numbers.get("flat_below_h", -1.0):
        flat = numbers["least"]
        return LimitHere(flat, f"{flat:g} up to a hardness of {numbers['flat_below_h']:g} mg CaCO3/L")
    value = numbers["factor"] * math.exp(total)
    kept = min(max(value, numbers.get("least", 0.0)), numbers.get("most", math.inf))
    formula = f"{numbers['factor']:g} x exp({' + '.join(parts)} + ({numbers['constant']:g})) = {value:.4g}"
    return LimitHere(kept, formula if kept == value else f"{formula}, kept at {kept:g}")
