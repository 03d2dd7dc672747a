"""Level measuring spoons: what one holds of a salt, with the spread, and the advice to weigh."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType

from littoral.feeding.tools import Tool, ToolError
from littoral.quantities.check_row import CheckRow
from littoral.quantities.derivation import Step

WIDEST_SPOON_SPREAD = 0.10  # half-width over the middle; common practice, no source


@dataclass(frozen=True, slots=True)
class BulkDensity:
    """Bulk density of a loose dry salt, g/mL, lowest and highest met with, and where the numbers come from."""

    formula: str
    low_g_per_ml: float
    high_g_per_ml: float
    source: str


@dataclass(frozen=True, slots=True)
class SpoonHolds:
    """What a level spoon holds of a salt, g: lowest, middle, highest; the warning to weigh, and the derivation."""

    low_g: float
    middle_g: float
    high_g: float
    check: CheckRow
    steps: tuple[Step, ...]

    def tool(self, *, most_steps: int = 10) -> Tool:
        """Return this spoon, with this salt, as a tool of whole level spoons.

        The range is taken to hold nearly all cases, so its half-width is two standard deviations.
        """
        spread = (self.high_g - self.low_g) / 4.0 / self.middle_g
        return Tool("spoon", self.middle_g, most_steps=most_steps, spread=spread)


@cache
def bulk_densities() -> Mapping[str, BulkDensity]:
    """Return the table of bulk densities (g/mL) by formula; see the head of bulk_densities.toml."""
    text = resources.files("littoral.feeding").joinpath("bulk_densities.toml").read_text(encoding="utf-8")
    rows = tomllib.loads(text)["salt"]
    return MappingProxyType(
        {row["formula"]: BulkDensity(row["formula"], row["low"], row["high"], row["source"]) for row in rows}
    )


def spoon_holds(formula: str, *, spoon_ml: float, density: BulkDensity | None = None) -> SpoonHolds:
    """Return the grams of a salt in a level spoon of `spoon_ml` millilitres.

    `density` overrides the table, for a salt that the keeper weighed by the spoon. Raises ToolError: a spoon of no
    volume, a salt without a bulk density, a density that is not above zero.
    """
    if not (math.isfinite(spoon_ml) and spoon_ml > 0):
        what = f"a spoon of {spoon_ml:g} mL"
        raise ToolError(what=what, right="Give what it holds level, such as 1.25 mL for a quarter teaspoon.")
    known = density or bulk_densities().get(formula)
    if known is None:
        what = f"no bulk density is known of {formula[:40]}"
        raise ToolError(what=what, right="Weigh it; or weigh ten level spoons and give grams per millilitre.")
    low, high = known.low_g_per_ml, known.high_g_per_ml
    if not (0 < low <= high and math.isfinite(high)):
        what = f"a bulk density of {low:g} to {high:g} g/mL"
        raise ToolError(what=what, right="Give two numbers above zero, the lower first.")
    middle = (low + high) / 2.0 * spoon_ml
    half = (high - low) / (high + low)
    row = CheckRow(
        "a spoon is close enough",
        half,
        "<=",
        WIDEST_SPOON_SPREAD,
        "of the dose, either way",
        "holds" if half <= WIDEST_SPOON_SPREAD else "warns",
        f"a level spoon of {spoon_ml:g} mL may hold {low * spoon_ml:.3g} to {high * spoon_ml:.3g} g: weigh where it "
        "matters, always with micronutrients",
        "common practice, no source",
    )
    steps = (
        Step("bulk density", f"{low:g} to {high:g} g/mL, middle", f"{(low + high) / 2:.4g} g/mL", known.source),
        Step("one level spoon", f"{spoon_ml:g} mL × {(low + high) / 2:.4g} g/mL", f"{middle:.3g} g"),
    )
    return SpoonHolds(low * spoon_ml, middle, high * spoon_ml, row, steps)
