"""Volume and density of a stock solution: "added to" a litre is not "made up to" a litre.

Mixing rule of Laliberté and Cooper (J. Chem. Eng. Data 49 (2004) 1141): each salt takes up an apparent volume that
depends on how much is dissolved in all; volumes add. Salts: `density.toml`, 20 °C; others are given an interval.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from littoral.chemistry.own_substances import OwnSubstance, Substance
from littoral.chemistry.package_data import table
from littoral.chemistry.solubility import anhydrous_of
from littoral.chemistry.stock import check_amounts, weighed
from littoral.chemistry.weights import formula_weight

WATER_G_PER_ML = 0.9982  # 20 °C
# mL that a gram takes up where the table has no value: from copper sulphate (about 0) to urea (about 0.74)
UNKNOWN_ML_PER_G = (0.0, 0.4, 0.75)


@dataclass(frozen=True, slots=True)
class Volume:
    """A volume in mL with its interval where a salt's own volume is not known; `unknown` names those salts."""

    ml: float
    low_ml: float
    high_ml: float
    unknown: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class MadeUp:
    """A stock made up to a volume: mL of water to pour on, and the density in kg/L, each with its interval."""

    water_ml: float
    low_water_ml: float
    high_water_ml: float
    density_kg_per_l: float
    unknown: tuple[str, ...]


def volume_added_to(salts_g: Mapping[str, float], *, water_ml: float, own: Sequence[OwnSubstance] = ()) -> Volume:
    """Return the volume in mL, at 20 °C, when salts (g) are dissolved in `water_ml` mL of pure water.

    Raises UnknownSaltError, StockError as `stock.content_of_stock`.
    """
    check_amounts(salts_g, water_ml + sum(salts_g.values()) if water_ml > 0 else water_ml)
    parts, unknown = _parts(salts_g, own)
    water_g = water_ml * WATER_G_PER_ML
    low, likely, high = (_volume_ml(parts, water_g, guess) for guess in UNKNOWN_ML_PER_G)
    return Volume(likely, low, high, unknown)


def made_up_to(salts_g: Mapping[str, float], *, made_up_to_ml: float, own: Sequence[OwnSubstance] = ()) -> MadeUp:
    """Return the water (mL) that a stock made up to `made_up_to_ml` mL takes at 20 °C, and its density in kg/L.

    Water is zero where the salts alone fill the bottle. Raises UnknownSaltError, StockError.
    """
    check_amounts(salts_g, made_up_to_ml)
    parts, unknown = _parts(salts_g, own)
    # a salt that takes up more volume leaves less room for water
    high, likely, low = (_water_g(parts, made_up_to_ml, guess) for guess in UNKNOWN_ML_PER_G)
    ml = [grams / WATER_G_PER_ML for grams in (likely, low, high)]
    density = (sum(salts_g.values()) + likely) / made_up_to_ml
    return MadeUp(ml[0], ml[1], ml[2], density, unknown)


def dissolved_parts(this: Substance, grams: float) -> tuple[str, float, float]:
    """Return the anhydrous formula (or name), its grams, and the grams of water that the crystals bring."""
    formula = this.formula
    bare = anhydrous_of(formula)
    if not formula or bare == formula:
        return bare or this.name, grams, 0.0
    dry = grams * formula_weight(bare) / formula_weight(formula)
    return bare, dry, grams - dry


def _parts(
    salts_g: Mapping[str, float], own: Sequence[OwnSubstance]
) -> tuple[list[tuple[str, float, float]], tuple[str, ...]]:
    parts = [dissolved_parts(this, grams) for this, grams in weighed(salts_g, own) if grams > 0]
    known = table("density")["kg_per_m3"]
    return parts, tuple(dict.fromkeys(bare for bare, _, _ in parts if bare not in known))


def _volume_ml(parts: Sequence[tuple[str, float, float]], added_water_g: float, unknown_ml_per_g: float) -> float:
    water_g = added_water_g + sum(water for _, _, water in parts)
    dry_g = sum(dry for _, dry, _ in parts)
    percent = 100.0 * dry_g / (dry_g + water_g)
    return water_g / WATER_G_PER_ML + sum(dry * _ml_per_g(bare, percent, unknown_ml_per_g) for bare, dry, _ in parts)


def _water_g(parts: Sequence[tuple[str, float, float]], volume_ml: float, unknown_ml_per_g: float) -> float:
    """Bisect: the volume grows with the water."""
    low, high = 0.0, volume_ml * WATER_G_PER_ML
    if _volume_ml(parts, low, unknown_ml_per_g) >= volume_ml:
        return 0.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if _volume_ml(parts, middle, unknown_ml_per_g) < volume_ml else (low, middle)
    return 0.5 * (low + high)


def _ml_per_g(bare: str, percent: float, unknown_ml_per_g: float) -> float:
    """Apparent volume of a salt, mL/g, drawn straight between the table's points and held beyond them."""
    densities: list[float] | None = table("density")["kg_per_m3"].get(bare)
    if densities is None:
        return unknown_ml_per_g
    percents: list[float] = table("density")["percent_by_mass"]
    volumes = [
        (w, (1000.0 / kg_per_m3 - (1 - w / 100.0) / WATER_G_PER_ML) / (w / 100.0))
        for w, kg_per_m3 in zip(percents, densities, strict=False)
    ]
    if percent <= volumes[0][0]:
        return volumes[0][1]
    for (w, ml), (next_w, next_ml) in pairwise(volumes):
        if percent <= next_w:
            return ml + (next_ml - ml) * (percent - w) / (next_w - w)
    return volumes[-1][1]
