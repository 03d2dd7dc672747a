"""How much of a salt dissolves: against temperature, on a stated basis, and what the bases have to do with each other.

Tables mix "per 100 g of all water", "per 100 g of added water" and "per 100 g of solution", of the anhydrous salt or of
a hydrate; 20.1 g of anhydrous copper sulphate per 100 g of water are 31.4 g of pentahydrate per 100 g of all water and
35.5 g per 100 g of added water. Inside, this file counts grams of the anhydrous salt per 100 g of all water.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import Literal

from littoral.chemistry.package_data import table
from littoral.chemistry.weights import formula_weight
from littoral.errors import LittoralError
from littoral.quantities.derivation import Step

Basis = Literal["total water", "added water", "solution", "mol/kg water"]
BASES: tuple[Basis, ...] = ("total water", "added water", "solution", "mol/kg water")


class SolubilityError(LittoralError):
    """The table cannot tell a solubility; `known_celsius` are the temperatures that it knows, maybe none."""

    def __init__(self, formula: str, celsius: float, known_celsius: tuple[float, ...]) -> None:
        self.formula = formula
        self.celsius = celsius
        self.known_celsius = known_celsius
        if not known_celsius:
            message = (
                f"solubility of {formula}: the table has none. Look at the supplier's data sheet, or try a little."
            )
        else:
            known = f"{min(known_celsius):g} to {max(known_celsius):g} °C"
            if len(known_celsius) == 1:
                known = f"{known_celsius[0]:g} °C only"
            message = f"solubility of {formula} at {celsius:g} °C: the table knows {known}. Ask within that."
        super().__init__(message)


@dataclass(frozen=True, slots=True)
class SolubilityRow:
    """One row of `solubility.toml`: `amount` on `basis` of `counted_as` at each of `celsius`."""

    counted_as: str
    basis: Basis
    celsius: tuple[float, ...]
    amount: tuple[float, ...]
    source: str

    def anhydrous_per_total_water(self) -> tuple[float, ...]:
        """The row in grams of the anhydrous salt per 100 g of all water."""
        return tuple(_canonical(value, self.counted_as, self.basis) for value in self.amount)


@dataclass(frozen=True, slots=True)
class Solubility:
    """What dissolves at one temperature.

    `anhydrous_g` is in g of the anhydrous salt per 100 g of all water; `known_celsius` the range of the row it comes
    from; `beyond` says that it lies outside and was drawn out from the two nearest points.
    """

    formula: str
    celsius: float
    anhydrous_g: float
    known_celsius: tuple[float, float]
    beyond: bool
    source: str
    steps: tuple[Step, ...]

    def on(self, basis: Basis, *, counted_as: str | None = None) -> float:
        """Return it on another basis, counted as another hydrate of the salt (g per 100 g, or mol/kg).

        Infinite where the hydrate melts in its own water. Raises ValueError for a formula of another salt.
        """
        return convert_solubility(
            self.anhydrous_g,
            counted_as=anhydrous_of(self.formula),
            basis="total water",
            to_counted_as=counted_as or self.formula,
            to_basis=basis,
        )


@cache
def solubility_rows() -> tuple[SolubilityRow, ...]:
    """Return the whole table."""
    return tuple(
        SolubilityRow(row["counted_as"], row["basis"], tuple(row["celsius"]), tuple(row["amount"]), row["source"])
        for row in table("solubility")["row"]
    )


def anhydrous_of(formula: str) -> str:
    """Return a formula without its water of crystallisation."""
    return formula.split("·")[0]


def convert_solubility(amount: float, *, counted_as: str, basis: Basis, to_counted_as: str, to_basis: Basis) -> float:
    """Return a solubility on another basis, counted as another hydrate of the same salt.

    Grams per 100 g (of all water, of added water, of solution), or mol per kg of all water. Infinite per added water
    where the hydrate brings all the water there is.
    Raises ValueError where the two formulas are not hydrates of one salt, or the amount is impossible on its basis.
    """
    if anhydrous_of(counted_as) != anhydrous_of(to_counted_as):
        raise ValueError(f"{counted_as} and {to_counted_as} are not hydrates of one salt")
    x = _canonical(amount, counted_as, basis)
    of_weight, bare_weight = formula_weight(to_counted_as), formula_weight(anhydrous_of(to_counted_as))
    hydrate_g = x * of_weight / bare_weight
    if to_basis == "total water":
        return hydrate_g
    if to_basis == "mol/kg water":
        return 10.0 * x / bare_weight
    if to_basis == "solution":
        return 100.0 * hydrate_g / (100.0 + x)
    added_g = 100.0 - (hydrate_g - x)
    return 100.0 * hydrate_g / added_g if added_g > 0 else math.inf


def solubility(formula: str, *, celsius: float, beyond: bool = False) -> Solubility:
    """Return what dissolves of a salt (a formula of the table, hydrate or not) at a temperature in °C.

    Between two points the logarithm is interpolated in 1/T (van 't Hoff). Of several sources the lowest is taken. A
    temperature outside the table is refused unless `beyond`, and then the answer says so. Beside other salts with the
    same ion less dissolves; some salts give less still in hard or sour water.
    Raises SolubilityError.
    """
    mine = [row for row in solubility_rows() if anhydrous_of(row.counted_as) == anhydrous_of(formula)]
    known = tuple(sorted({t for row in mine for t in row.celsius}))
    inside = [row for row in mine if math.isfinite(celsius) and min(row.celsius) <= celsius <= max(row.celsius)]
    usable = inside or ([row for row in mine if len(row.celsius) > 1] if beyond and math.isfinite(celsius) else [])
    if not usable:
        raise SolubilityError(formula, celsius, known)
    value, row = min(((_interpolate(row, celsius), row) for row in usable), key=lambda pair: pair[0])
    bare = anhydrous_of(formula)
    steps = [
        Step(
            f"solubility of {row.counted_as} at {celsius:g} °C",
            _points_text(row, celsius),
            f"{value:.4g} g {bare} per 100 g of all water",
            row.source,
        )
    ]
    found = Solubility(
        formula, celsius, value, (min(row.celsius), max(row.celsius)), not inside, row.source, tuple(steps)
    )
    if bare == formula:
        return found
    ratio = formula_weight(formula) / formula_weight(bare)
    steps.append(
        Step(
            f"the same as {formula} per 100 g of added water",
            f"{value:.4g} × {ratio:.4g} = {value * ratio:.4g} g, which brings {value * (ratio - 1):.4g} g of water",
            f"{found.on('added water'):.4g} g per 100 g of added water",
            "formula weights",
        )
    )
    return Solubility(formula, celsius, value, found.known_celsius, found.beyond, row.source, tuple(steps))


def _canonical(amount: float, counted_as: str, basis: Basis) -> float:
    """Grams of the anhydrous salt per 100 g of all water."""
    bare = formula_weight(anhydrous_of(counted_as))
    if not (math.isfinite(amount) and amount >= 0):
        raise ValueError(f"{amount} is no solubility")
    if basis == "mol/kg water":
        return amount * bare / 10.0
    anhydrous_g = amount * bare / formula_weight(counted_as)
    if basis == "total water":
        return anhydrous_g
    water_g = 100.0 - anhydrous_g if basis == "solution" else 100.0 + amount - anhydrous_g
    if water_g <= 0:
        raise ValueError(f"{amount:g} g {counted_as} per 100 g of solution leave no water")
    return 100.0 * anhydrous_g / water_g


def _interpolate(row: SolubilityRow, celsius: float) -> float:
    amounts = row.anhydrous_per_total_water()
    if celsius in row.celsius:
        return amounts[row.celsius.index(celsius)]
    above = next((i for i, t in enumerate(row.celsius) if t > celsius), len(row.celsius) - 1)
    i = max(1, above)
    cold, warm = (1.0 / (t + 273.15) for t in row.celsius[i - 1 : i + 1])
    share = (cold - 1.0 / (celsius + 273.15)) / (cold - warm)
    return math.exp((1 - share) * math.log(amounts[i - 1]) + share * math.log(amounts[i]))


def _points_text(row: SolubilityRow, celsius: float) -> str:
    if celsius in row.celsius:
        return f"{row.amount[row.celsius.index(celsius)]:g} on the basis of {row.basis}"
    points = ", ".join(f"{value:g} at {t:g} °C" for t, value in zip(row.celsius, row.amount, strict=True))
    return f"ln of the amount drawn between neighbours in 1/T: {points} (basis: {row.basis})"
