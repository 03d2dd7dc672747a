"""Supply: what each ingredient is used up by, over all stocks and arms together, and what is empty or spoilt first.

A salt that goes into two stocks, or into two arms' bottles, is one shelf: rates add up before weeks are counted.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from littoral.chemistry.salts import UnknownSaltError, salt
from littoral.feeding.bottles import Bottle
from littoral.feeding.cost import CostError
from littoral.feeding.regimes import Regime, times_per_week
from littoral.quantities.derivation import Step

LAST_DAY = 36_500
"""A hundred years; what lasts longer has no date."""


@dataclass(frozen=True, slots=True)
class Ingredient:
    """Something bought: a salt by its formula, or a ready bottle by its key; `unit` is "g" or "ml"."""

    name: str
    unit: str


@dataclass(frozen=True, slots=True)
class Stock:
    """What is left of an ingredient, in its unit, and how long it keeps; None: as long as one likes."""

    left: float
    spoils_on: date | None = None


@dataclass(frozen=True, slots=True)
class Lasting:
    """How long what is left of an ingredient lasts at `per_week`; `weeks` is None where none is used.

    `empty_on` is the first day without; `spoils_first` is True where it spoils before it is used up, and `wasted` is
    what is then thrown away, in the ingredient's unit.
    """

    ingredient: Ingredient
    left: float
    per_week: float
    weeks: float | None
    empty_on: date | None
    spoils_first: bool
    wasted: float
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class BatchesLeft:
    """How many batches of a stock can still be made (not whole ones only), what then is missing first, and why so.

    Infinity, None and no steps for a bottle that is not mixed.
    """

    batches: float
    missing_first: Ingredient | None
    steps: tuple[Step, ...]


def use_per_week(regimes: Sequence[Regime]) -> dict[str, tuple[float, float]]:
    """Return mL and g a week of each bottle, over all regimes given (one per tank). No error of its own."""
    used: dict[str, tuple[float, float]] = {}
    for regime in regimes:
        for dose in regime.doses:
            ml, g = used.get(dose.of, (0.0, 0.0))
            often = times_per_week(dose)
            used[dose.of] = (ml + (dose.ml or 0.0) * often, g + (dose.g or 0.0) * often)
    return used


def ingredients_per_week(
    used: Mapping[str, tuple[float, float]], bottles: Mapping[str, Bottle]
) -> dict[Ingredient, float]:
    """Return what is used of each ingredient in a week, pooled over bottles, from mL and g a week of each bottle.

    A stock's salts count by what it was weighed from; a dry salt by its formula, where the bottle names it; anything
    else as itself. Raises CostError: an unknown bottle, a negative amount.
    """
    pooled: dict[Ingredient, float] = {}
    for key, (ml, g) in used.items():
        if key not in bottles:
            raise CostError(
                what=f'there is no bottle "{key}"', right=f"Bottles there are: {', '.join(bottles) or 'none'}."
            )
        for amount, unit in ((ml, "ml"), (g, "g")):
            if not (math.isfinite(amount) and amount >= 0):
                raise CostError(what=f"{amount:g} {unit} of {key} a week", right="Give an amount of zero or more.")
        for ingredient, amount in _split(bottles[key], ml, g).items():
            pooled[ingredient] = pooled.get(ingredient, 0.0) + amount
    return pooled


def batch_takes_g(bottle: Bottle) -> dict[Ingredient, float]:
    """Return the grams of each salt that one batch of a stock solution takes; empty for a bottle that is not mixed."""
    batch: dict[Ingredient, float] = {}
    for name, grams in bottle.salts_g.items():
        one = ingredient_of(name, "g")
        batch[one] = batch.get(one, 0.0) + grams
    return batch


def batches_left(bottle: Bottle, left: Mapping[Ingredient, Stock]) -> BatchesLeft:
    """Return how many batches of a stock can still be made; an ingredient that is not on the shelf counts as none."""
    most: tuple[float, Ingredient | None] = (math.inf, None)
    steps = []
    for ingredient, grams in batch_takes_g(bottle).items():
        if grams > 0:
            have = left[ingredient].left if ingredient in left else 0.0
            most = min(most, (have / grams, ingredient), key=lambda one: one[0])
            formula = f"{have:.6g} g left / {grams:.6g} g a batch"
            steps.append(Step(f"batches from {ingredient.name}", formula, f"{have / grams:.4g}", "as stated"))
    batches, missing = most
    if missing is not None:
        steps.append(Step("batches left", f"the fewest, from {missing.name}", f"{batches:.4g}"))
    return BatchesLeft(batches, missing, tuple(steps))


def how_long_it_lasts(
    per_week: Mapping[Ingredient, float], left: Mapping[Ingredient, Stock], *, today: date
) -> tuple[Lasting, ...]:
    """Return how long each ingredient lasts, the first to run out (or to spoil) first; ones that are not used last.

    `per_week` is the real rate, `left` what is there on `today`; what is used but not there is empty today.
    Raises CostError for a negative or non-finite amount.
    """
    found = [_lasting(one, per_week.get(one, 0.0), left.get(one, Stock(0.0)), today) for one in {**left, **per_week}]
    return tuple(sorted(found, key=_until))


def weeks_of_stock(*, stock_ml: float, ml_per_100_l_per_week: float, net_volume_l: float) -> tuple[float, Step]:
    """Return how many weeks a stock lasts at a rate per 100 L, with its derivation.

    Five litres at 30 mL per 100 L a week in 100 L: 166 whole weeks (common practice, no source). Raises CostError for
    numbers not above zero.
    """
    numbers = {"stock": stock_ml, "rate": ml_per_100_l_per_week, "net volume": net_volume_l}
    for name, value in numbers.items():
        if not (math.isfinite(value) and value > 0):
            raise CostError(what=f"{name} is {value:g}", right="It must be above zero.")
    weeks = stock_ml / (ml_per_100_l_per_week * net_volume_l / 100.0)
    formula = f"{stock_ml:g} mL / ({ml_per_100_l_per_week:g} mL × {net_volume_l:g} L / 100 L)"
    return weeks, Step("weeks of stock", formula, f"{math.floor(weeks)} whole weeks", "your own figures")


def ingredient_of(name: str, unit: str) -> Ingredient:
    """Return the ingredient that a name means: a salt by any of its names is one ingredient, by its formula."""
    try:
        return Ingredient(salt(name).key, unit)
    except UnknownSaltError:
        return Ingredient(name, unit)


def _split(bottle: Bottle, ml: float, g: float) -> dict[Ingredient, float]:
    parts: dict[Ingredient, float] = {}
    if ml > 0 and bottle.salts_g and bottle.made_up_to_ml:
        parts = {one: ml / bottle.made_up_to_ml * grams for one, grams in batch_takes_g(bottle).items()}
    elif ml > 0:
        parts[Ingredient(bottle.key, "ml")] = ml
    if g > 0:
        one = ingredient_of(bottle.dry_formula, "g") if bottle.dry_formula else Ingredient(bottle.key, "g")
        parts[one] = parts.get(one, 0.0) + g
    return parts


def _lasting(ingredient: Ingredient, per_week: float, stock: Stock, today: date) -> Lasting:
    for what, value in ((f"{ingredient.name} left", stock.left), (f"{ingredient.name} a week", per_week)):
        if not (math.isfinite(value) and value >= 0):
            raise CostError(what=f"{value:g} {ingredient.unit} of {what}", right="Give an amount of zero or more.")
    weeks = stock.left / per_week if per_week > 0 else None
    days = None if weeks is None else math.floor(weeks * 7.0 + 1e-9)
    empty_on = None if days is None or days > LAST_DAY else today + timedelta(days=days)
    kept_days = None if stock.spoils_on is None else max(0, (stock.spoils_on - today).days)
    spoils_first = kept_days is not None and stock.left > 0 and (weeks is None or kept_days < weeks * 7.0)
    wasted = max(0.0, stock.left - per_week * (kept_days or 0) / 7.0) if spoils_first else 0.0
    unit = ingredient.unit
    shown = "not used" if weeks is None else f"{weeks:.4g} weeks"
    rate = f"{stock.left:.4g} {unit} / {per_week:.4g} {unit} a week"
    steps = [Step("weeks left", rate, shown, "stock counted; real rate, all arms together")]
    if spoils_first and stock.spoils_on is not None:
        formula = (
            f"keeps until {stock.spoils_on.isoformat()}, by then {per_week * (kept_days or 0) / 7.0:.4g} {unit} used"
        )
        steps.append(Step("spoils first", formula, f"{wasted:.4g} {unit} thrown away", "keeping time as stated"))
    return Lasting(ingredient, stock.left, per_week, weeks, empty_on, spoils_first, wasted, tuple(steps))


def _until(one: Lasting) -> tuple[float, str]:
    return (math.inf if one.weeks is None else one.weeks, one.ingredient.name)
