"""Salts: finding the one a person means, and what a gram of it holds. The table is `salts.toml` beside this file."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.weights import formula_weight, normal_formula
from littoral.errors import LittoralError


@dataclass(frozen=True, slots=True)
class Salt:
    """One salt of the table. `ions` counts each nutrient in one formula unit.

    `solubility_g_per_100_g_water` is the mass of this very form (with its water of crystallisation) that dissolves in
    100 g of *added* water at 20 °C; None where the table has no value. `hazards` are hazard statement codes.
    """

    formula: str
    name: str
    aliases: tuple[str, ...]
    ions: Mapping[str, int]
    chelate: bool
    solubility_g_per_100_g_water: float | None
    solubility_from: str
    hazards: tuple[str, ...]
    hazard_status: str

    @property
    def key(self) -> str:
        """How to write this salt so that `salt` finds it and no other: the formula, with "anhydrous" where needed."""
        has_hydrates = any(other.startswith(f"{self.formula}·") for other in salts())
        return f"{self.formula} anhydrous" if has_hydrates else self.formula

    @property
    def weight(self) -> float:
        """Formula weight, g/mol."""
        return formula_weight(self.formula)

    @property
    def hazard_text(self) -> str:
        """What to print beside the salt; it always defers to the supplier's safety data sheet."""
        sheet = "see the supplier's safety data sheet"
        if self.hazards:
            by = "in the harmonised list" if self.hazard_status == "harmonised" else "by suppliers, who differ"
            said = "; ".join(f"{hazard_phrases()[code]} ({code})" for code in self.hazards)
            return f"{said}, classified {by}; {sheet}"
        if self.hazard_status == "not classified":
            return f"not classified as hazardous, which is not the same as harmless; {sheet}"
        return f"hazards not looked up; {sheet}"


class UnknownSaltError(LittoralError):
    """No salt, or more than one, is called what a person wrote; `choices` are what may have been meant."""

    def __init__(self, text: str, choices: Sequence[str], *, several: bool) -> None:
        self.text = text
        self.choices = tuple(choices)
        shown = text[:60]
        if several:
            message = f'"{shown}" leaves open which form of the salt it is, and they differ in strength. '
            message += f"Write: {' or '.join(choices)}."
        else:
            message = (
                f'"{shown}" is no salt in the table. Write a formula with its water, such as: {"; ".join(choices)}.'
            )
        super().__init__(message)


@cache
def hazard_phrases() -> Mapping[str, str]:
    """Return in short plain words what each hazard statement code of the table means."""
    text = resources.files("littoral.chemistry").joinpath("hazard_phrases.toml").read_text(encoding="utf-8")
    return MappingProxyType(tomllib.loads(text))


@cache
def salts() -> Mapping[str, Salt]:
    """Return the whole table by formula. Solubilities are turned into this form per 100 g of added water."""
    text = resources.files("littoral.chemistry").joinpath("salts.toml").read_text(encoding="utf-8")
    return MappingProxyType({row["formula"]: _salt_of(row) for row in tomllib.loads(text)["salt"]})


def salt(text: str) -> Salt:
    """Return the salt that a person means by a formula or a name.

    Upper and lower case are told apart only where they must be; water of crystallisation may follow "·", ".", "*" or a
    space. A formula without its water is refused where the table knows hydrates ("MgSO4"); "MgSO4 anhydrous" means it.
    Raises UnknownSaltError, which names the choices.
    """
    wanted = normal_formula(text)
    anhydrous = re.fullmatch(r"(?:anhydrous\s+(.+)|(.+?),?\s+anhydrous)", wanted, re.IGNORECASE)
    by_name = [s for s in salts().values() if _key(wanted) in _names(s)]
    if anhydrous and not by_name:
        bare = _key(anhydrous[1] or anhydrous[2])
        by_name = [s for s in salts().values() if _key(s.formula) == bare]
        if not by_name:
            raise UnknownSaltError(text, _nearest(bare), several=False)
        return by_name[0]
    hydrates = [s for s in salts().values() if _key(s.formula).startswith(f"{_key(wanted)}·")]
    found = list({s.formula: s for s in (*hydrates, *by_name)}.values())
    if len(found) == 1 and not hydrates:
        return found[0]
    if found:
        raise UnknownSaltError(text, [_described(s) for s in found], several=True)
    raise UnknownSaltError(text, _nearest(_key(wanted)), several=False)


def content_of_salt(text: str, *, purity: float = 1.0) -> dict[str, float]:
    """Return what one gram of a salt holds: mg of each nutrient per g, keyed as in `chemistry.nutrients`.

    `text` is read by `salt`, so a bare "MgSO4" is refused here too. `purity` is the mass fraction (0 to 1) that is
    really this salt. Raises UnknownSaltError; ValueError for a purity out of range.
    """
    if not 0 < purity <= 1:
        raise ValueError(f"purity is a fraction above 0 and up to 1, not {purity}")
    this = salt(text)
    return {key: 1000.0 * purity * count * NUTRIENTS[key].weight / this.weight for key, count in this.ions.items()}


def _salt_of(row: Mapping[str, object]) -> Salt:
    formula = str(row["formula"])
    solubility = row.get("solubility")
    if isinstance(solubility, int | float) and row["solubility_of"] == "anhydrous":
        solubility = _hydrate_per_added_water(formula, float(solubility))
    ions = row["ions"]
    aliases, hazards = row.get("aliases", []), row["hazards"]
    assert isinstance(ions, dict)
    assert isinstance(aliases, list)
    assert isinstance(hazards, list)
    return Salt(
        formula=formula,
        name=str(row["name"]),
        aliases=tuple(aliases),
        ions=MappingProxyType(ions),
        chelate=bool(row.get("chelate", False)),
        solubility_g_per_100_g_water=float(solubility) if isinstance(solubility, int | float) else None,
        solubility_from=str(row.get("solubility_from", "")),
        hazards=tuple(hazards),
        hazard_status=str(row["hazard_status"]),
    )


def _hydrate_per_added_water(formula: str, anhydrous_g_per_100_g: float) -> float:
    """Turn g of the anhydrous salt per 100 g of all water into g of the hydrate per 100 g of added water."""
    bare = formula.split("·")[0]
    hydrate_g = anhydrous_g_per_100_g * formula_weight(formula) / formula_weight(bare)
    brought_water_g = hydrate_g - anhydrous_g_per_100_g
    return 100.0 * hydrate_g / (100.0 - brought_water_g)


def _key(text: str) -> str:
    return " ".join(text.split()).casefold()


def _names(of: Salt) -> set[str]:
    return {_key(normal_formula(name)) for name in (of.formula, of.name, *of.aliases)}


def _described(of: Salt) -> str:
    return f"{of.aliases[0] if of.chelate else of.key} ({of.name})"


def _nearest(bare: str) -> list[str]:
    """Return some formulas that share the beginning with what was asked for, or the first of the table."""
    alike = [s.formula for s in salts().values() if _key(s.formula)[:2] == bare[:2]]
    return (alike or list(salts()))[:5]
