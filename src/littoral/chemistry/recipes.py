"""Published culture media and nutrient solutions, with what is printed beside them: `recipes.toml`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any, Literal

from littoral.chemistry.nutrients import NUTRIENTS, element_view
from littoral.chemistry.package_data import table
from littoral.chemistry.salts import salts
from littoral.chemistry.stock import content_of_stock
from littoral.chemistry.weights import formula_weight
from littoral.errors import LittoralError

# What a printed table counts, and its unit.
Kind = Literal["element_mg_per_l", "element_mmol_per_l", "ion_mg_per_l", "ion_mmol_per_l", "salt_mmol_per_l"]
KINDS: dict[Kind, str] = {
    "element_mg_per_l": "mg/L",
    "element_mmol_per_l": "mmol/L",
    "ion_mg_per_l": "mg/L",
    "ion_mmol_per_l": "mmol/L",
    "salt_mmol_per_l": "mmol/L",
}


@dataclass(frozen=True, slots=True)
class Printed:
    """One value printed with a recipe: of `key`, as text with its digits. `right` is "" unless it is a misprint."""

    kind: Kind
    key: str
    printed: str
    right: str


@dataclass(frozen=True, slots=True)
class Recipe:
    """A published solution: `salts_mg_per_l` by salt (as `salts.salt` reads them), what is printed, and its source."""

    name: str
    source: str
    salts_mg_per_l: Mapping[str, float]
    printed: tuple[Printed, ...]

    def content_mg_per_l(self) -> dict[str, float]:
        """Return what it holds, mg/L of each nutrient."""
        grams = {key: mg / 1000.0 for key, mg in self.salts_mg_per_l.items()}
        return {key: 1000.0 * mg for key, mg in content_of_stock(grams, made_up_to_ml=1000.0).items()}

    def values(self, kind: Kind) -> dict[str, float]:
        """Return what it holds as a printed table counts it (see KINDS)."""
        content = self.content_mg_per_l()
        if kind == "salt_mmol_per_l":
            known = {salt.key: salt for salt in salts().values()}
            return {known[key].formula: mg / known[key].weight for key, mg in self.salts_mg_per_l.items()}
        if kind == "ion_mg_per_l":
            return content
        if kind == "ion_mmol_per_l":
            return {key: mg / NUTRIENTS[key].weight for key, mg in content.items()}
        elements = element_view(content)
        if kind == "element_mg_per_l":
            return elements
        return {symbol: mg / formula_weight(symbol) for symbol, mg in elements.items()}


class UnknownRecipeError(LittoralError):
    """No published recipe has this name."""

    def __init__(self, name: str) -> None:
        self.name = name
        super().__init__(f'"{name[:60]}" is no recipe here. There are: {"; ".join(recipes())}.')


@cache
def recipes() -> Mapping[str, Recipe]:
    """Return every recipe by name."""
    return MappingProxyType({row["name"]: _recipe_of(row) for row in table("recipes")["recipe"]})


def recipe(name: str) -> Recipe:
    """Return a recipe by its name, upper and lower case alike. Raises UnknownRecipeError."""
    for known, found in recipes().items():
        if known.casefold() == " ".join(name.split()).casefold():
            return found
    raise UnknownRecipeError(name)


def _recipe_of(row: Mapping[str, Any]) -> Recipe:
    known = {salt.formula: salt for salt in salts().values()}
    in_mol = row["unit"] == "mmol/L"
    mg = {known[f].key: float(value) * (known[f].weight if in_mol else 1.0) for f, value in row["salts"].items()}
    printed = [Printed(kind, key, text, "") for kind in KINDS for key, text in row.get(kind, {}).items()]
    printed += [
        Printed(kind, key, wrong, right)
        for kind in KINDS
        for key, (wrong, right) in row.get(kind.replace("_m", "_misprint_m", 1), {}).items()
    ]
    return Recipe(row["name"], row["source"], MappingProxyType(mg), tuple(printed))
