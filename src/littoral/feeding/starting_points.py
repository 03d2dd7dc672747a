"""Where a regime may begin: described by what it adds per week, with a source or "common practice" beside it."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.feeding.regimes import RegimeError
from littoral.quantities.derivation import Step


@dataclass(frozen=True, slots=True)
class StartingPoint:
    """What is added in a week, mg/L from low to high by nutrient; `change_share` of the water is changed weekly."""

    key: str
    name: str
    what: str
    change_share: float
    adds_mg_per_l: Mapping[str, tuple[float, float]]
    source: str
    steps: tuple[Step, ...] = ()


@cache
def _table() -> dict[str, Any]:
    text = resources.files("littoral.feeding").joinpath("starting_points.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


@cache
def starting_points() -> Mapping[str, StartingPoint]:
    """Return the fixed starting points by key (mg/L per week); the light-matched one is `light_matched`."""
    points = (
        StartingPoint(
            row["key"], row["name"], row["what"], row["change_share"],
            MappingProxyType({key: (low, high) for key, (low, high) in row["adds"].items()}), row["source"],
        )
        for row in _table()["point"]
    )  # fmt: skip
    return MappingProxyType({point.key: point for point in points})


def light_matched(*, light_mol_per_m2_per_day: float, planted_m2: float, net_volume_l: float) -> StartingPoint:
    """Return a starting point that follows the light: growth it can pay for, times what plants are made of.

    `light_mol_per_m2_per_day` is the light that reaches the plants (µmol/m²/s × hours × 0.0036), over `planted_m2`. The
    range is that of the growth per light; what the plants get from substrate, fish and source water comes off it.
    Raises RegimeError for numbers not above zero.
    """
    numbers = {
        "light": (light_mol_per_m2_per_day, "mol/m² per day"),
        "planted area": (planted_m2, "m²"),
        "net volume": (net_volume_l, "L"),
    }
    for name, (value, unit) in numbers.items():
        if not (math.isfinite(value) and value > 0):
            raise RegimeError(what=f"{name} of {value:g} {unit}", right="Give a number above zero.")
    light = _table()["light"]
    mol = light_mol_per_m2_per_day * planted_m2 * 7.0
    least, most = light["dry_g_per_mol"]
    low_g, high_g = mol * least, mol * most
    steps = [
        Step("light of a week", f"{light_mol_per_m2_per_day:g} mol/m²/day × {planted_m2:g} m² × 7", f"{mol:.3g} mol"),
        Step("growth it can pay for", f"{mol:.3g} mol × {least:g} to {most:g} g/mol",
             f"{low_g:.2g} to {high_g:.2g} g dry matter", light["dry_source"]),
    ]  # fmt: skip
    adds = {}
    for key, element in (("nitrate", "nitrogen"), ("phosphate", "phosphorus"), ("potassium", "potassium")):
        percent, share = light[f"{element}_percent"], NUTRIENTS[key].element_share
        low, high = (grams * percent * 10.0 / share / net_volume_l for grams in (low_g, high_g))
        adds[key] = (low, high)
        steps.append(
            Step(f"{key} in that growth",
                 f"{low_g:.2g} to {high_g:.2g} g × {percent:g} % / {share:.4f} / {net_volume_l:.4g} L",
                 f"{low:.2g} to {high:.2g} mg/L a week", light["tissue_source"])
        )  # fmt: skip
    return StartingPoint(
        "light_matched", "matched to the light", "what the growth that the light can pay for takes up",
        light["change_share"], MappingProxyType(adds), f"{light['dry_source']}; {light['tissue_source']}", tuple(steps),
    )  # fmt: skip
