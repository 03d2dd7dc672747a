"""What a salt does to a water: how many grams raise hardness or alkalinity by a degree, and what comes with it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from littoral.chemistry.hardness import alkalinity_of_ions_meq_per_l, hardness_of_ions_mmol_per_l
from littoral.chemistry.salts import content_of_salt, salt
from littoral.chemistry.water_errors import WaterError
from littoral.quantities.derivation import Step
from littoral.quantities.hardness import alkalinity_in, alkalinity_meq_per_l, hardness_in, hardness_mmol_per_l

WATER_SALTS = ("CaSO4·2H2O", "CaCl2·2H2O", "MgSO4·7H2O", "MgCl2·6H2O", "KHCO3", "NaHCO3", "K2CO3")
"""Salts in common use to build water, by formula; common practice, no source."""


@dataclass(frozen=True, slots=True)
class SaltEffect:
    """What one gram of a salt does in a volume: degrees gained, and levels added in mg/L by nutrient."""

    salt: str
    gh_dgh: float
    kh_dkh: float
    adds_mg_per_l: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Raising:
    """The grams of a salt that raise a volume by so much, and how they came about."""

    salt: str
    grams: float
    steps: tuple[Step, ...]


def effect_of_gram(name: str, *, volume_l: float, purity: float = 1.0) -> SaltEffect:
    """Return what one gram of a salt does in `volume_l` litres. Raises UnknownSaltError; WaterError for no volume."""
    volume = _volume(volume_l)
    adds = {key: mg / volume for key, mg in content_of_salt(name, purity=purity).items()}
    return SaltEffect(
        salt(name).key,
        hardness_in(hardness_of_ions_mmol_per_l(adds), unit="dGH"),
        alkalinity_in(alkalinity_of_ions_meq_per_l(adds), unit="dKH"),
        adds,
    )


def grams_to_raise_gh(name: str, *, dgh: float, volume_l: float, purity: float = 1.0) -> Raising:
    """Return the grams of a salt that raise the general hardness of `volume_l` litres by `dgh` degrees.

    Raises WaterError where the salt holds neither calcium nor magnesium, or a number is not above zero;
    UnknownSaltError.
    """
    effect = effect_of_gram(name, volume_l=volume_l, purity=purity)
    mmol = hardness_mmol_per_l(dgh, unit="dGH")
    return _raising(effect, dgh, "dGH", effect.gh_dgh, f"{dgh:g} dGH = {mmol:.4f} mmol/L", volume_l)


def grams_to_raise_kh(name: str, *, dkh: float, volume_l: float, purity: float = 1.0) -> Raising:
    """Return the grams of a salt that raise the alkalinity of `volume_l` litres by `dkh` degrees.

    Carbonates count twice: in water they take up CO2 and become bicarbonate. Raises as `grams_to_raise_gh`.
    """
    effect = effect_of_gram(name, volume_l=volume_l, purity=purity)
    meq = alkalinity_meq_per_l(dkh, unit="dKH")
    return _raising(effect, dkh, "dKH", effect.kh_dkh, f"{dkh:g} dKH = {meq:.4f} meq/L", volume_l)


def _raising(effect: SaltEffect, degrees: float, unit: str, per_gram: float, target: str, volume_l: float) -> Raising:
    if not (math.isfinite(degrees) and degrees > 0):
        raise WaterError(what=f"a raise of {degrees:g} {unit}", right="Give the degrees to gain, above zero.")
    if per_gram <= 0:
        ions = "calcium or magnesium" if unit == "dGH" else "bicarbonate or carbonate"
        raise WaterError(what=f"{effect.salt} holds no {ions}", right="Choose another salt.")
    grams = degrees / per_gram
    steps = (
        Step("target", target, "", "1 degree is 10 mg CaO per litre"),
        Step(f"1 g of {effect.salt} in {volume_l:g} L", "content of the salt", f"{per_gram:.4f} {unit}", "salts.toml"),
        Step("grams", f"{degrees:g} / {per_gram:.4f}", f"{grams:.4g} g", ""),
    )
    return Raising(effect.salt, grams, steps)


def _volume(volume_l: float) -> float:
    if not (math.isfinite(volume_l) and volume_l > 0):
        raise WaterError(what=f"a volume of {volume_l:g} L", right="Give the litres of water, above zero.")
    return volume_l
