"""Salts: finding the one a person means, and what a gram of it holds. The table is `salts.toml` beside this file."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from os.path import commonpath
from types import MappingProxyType
from typing import Any

from littoral.chemistry.hazards import Hazards, hazards_of
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.package_data import table
from littoral.chemistry.weights import formula_weight, normal_formula
from littoral.errors import LittoralError


@dataclass(frozen=True, slots=True)
class Salt:
    """One row of the table: a salt, acid, chelate or other powder that is weighed out.

    `ions` counts each nutrient in one formula unit. `kind` is "salt", "acid", "organic", "chelate", "chelating agent"
    or "preservative"; `chelate` says that a metal in it is bound. `grade` and `grade_at_least` are a grade that can be
    bought and its least purity (0 to 1), None where none is known. `storage` says how to keep the powder.
    """

    formula: str
    name: str
    aliases: tuple[str, ...]
    ions: Mapping[str, int]
    kind: str
    chelate: bool
    grade: str
    grade_at_least: float | None
    storage: tuple[str, ...]
    note: str

    @property
    def key(self) -> str:
        """How to write this salt so that `salt` finds it and no other: the formula, with "anhydrous" where needed."""
        has_hydrates = any(other.startswith(f"{self.formula}·") for other in salts())
        return f"{self.formula} anhydrous" if has_hydrates else self.formula

    @property
    def short(self) -> str:
        """What to call it on a page: the formula, or for a chelate its common name; `salt` finds it by this too."""
        return self.aliases[0] if self.chelate and self.aliases else self.key

    @property
    def weight(self) -> float:
        """Formula weight, g/mol."""
        return formula_weight(self.formula)

    @property
    def content_mg_per_g(self) -> dict[str, float]:
        """What one gram of the pure salt holds: mg of each nutrient per g."""
        return {key: 1000.0 * count * NUTRIENTS[key].weight / self.weight for key, count in self.ions.items()}

    @property
    def hazard(self) -> Hazards:
        """Its hazards as bought, with their source."""
        return hazards_of(self.formula)

    @property
    def hazards(self) -> tuple[str, ...]:
        """Hazard statement codes."""
        return self.hazard.codes

    @property
    def hazard_text(self) -> str:
        """What to print beside the salt; it always defers to the supplier's safety data sheet."""
        return self.hazard.text


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
def salts() -> Mapping[str, Salt]:
    """Return the whole table by formula."""
    notes = table("salts")["storage"]
    return MappingProxyType({row["formula"]: _salt_of(row, notes) for row in table("salts")["salt"]})


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
    return {key: purity * mg for key, mg in salt(text).content_mg_per_g.items()}


def _salt_of(row: Mapping[str, Any], notes: Mapping[str, str]) -> Salt:
    return Salt(
        formula=row["formula"],
        name=row["name"],
        aliases=tuple(row.get("aliases", ())),
        ions=MappingProxyType(row["ions"]),
        kind=row["kind"],
        chelate=row.get("chelate", False),
        grade=row.get("grade", ""),
        grade_at_least=row.get("grade_at_least"),
        storage=tuple(notes[name] for name in row["storage"]),
        note=row.get("note", ""),
    )


def _key(text: str) -> str:
    return " ".join(text.split()).casefold()


@cache
def _names_of(formula: str) -> frozenset[str]:
    of = salts()[formula]
    return frozenset(_key(normal_formula(name)) for name in (of.formula, of.name, *of.aliases))


def _names(of: Salt) -> frozenset[str]:
    return _names_of(of.formula)


def _described(of: Salt) -> str:
    return f"{of.aliases[0] if of.chelate else of.key} ({of.name})"


def _nearest(bare: str) -> list[str]:
    """Return some salts, as `salt` takes them, that share most of the beginning with what was asked, or the first."""

    def shared(one: Salt) -> int:
        return len(commonpath([_key(one.formula), bare]))

    alike = sorted((s for s in salts().values() if shared(s) >= 2), key=shared, reverse=True)
    return [s.key for s in (alike or list(salts().values()))[:5]]
