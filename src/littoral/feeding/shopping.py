"""The shopping list of a whole bench: what to buy by when, from what is left and how fast it goes."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from littoral.feeding.bottles import Pack
from littoral.feeding.cost import CostError, check_pack
from littoral.feeding.supply import LAST_DAY, Ingredient, Stock, how_long_it_lasts
from littoral.quantities.derivation import Step


@dataclass(frozen=True, slots=True)
class ToBuy:
    """One line: so many packs of an ingredient by `buy_by`, because it runs out (or spoils) on `runs_out`.

    `pack` and `price` are None where no pack is stated. `overdue` is True where `buy_by` is already past.
    """

    ingredient: Ingredient
    amount: float
    packs: int | None
    pack: Pack | None
    price: float | None
    runs_out: date
    buy_by: date
    overdue: bool
    steps: tuple[Step, ...]


def shopping_list(
    per_week: Mapping[Ingredient, float],
    left: Mapping[Ingredient, Stock],
    packs: Mapping[Ingredient, Pack],
    *,
    today: date,
    weeks: float,
    lead_days: int = 7,
) -> tuple[ToBuy, ...]:
    """Return what must be bought so that the next `weeks` weeks can be fed, earliest first.

    `lead_days` is how long an order takes. What spoils before it is used up counts only until it spoils. Raises
    CostError: weeks not above zero or over a hundred years, a negative lead, a pack that holds nothing, is in another
    unit, or has a negative price; a negative amount.
    """
    if not (math.isfinite(weeks) and 0 < weeks * 7.0 <= LAST_DAY):
        raise CostError(what=f"shopping for {weeks:g} weeks", right="Give weeks above zero, a hundred years at most.")
    if lead_days < 0:
        raise CostError(what=f"{lead_days} days for an order", right="Give days of zero or more.")
    for ingredient, pack in packs.items():
        _check_pack(ingredient, pack)
    found = []
    for one in how_long_it_lasts(per_week, left, today=today):
        if one.per_week == 0:
            continue
        usable = one.left - one.wasted
        needed = one.per_week * weeks - usable
        if needed <= 1e-9 * one.per_week:
            continue
        days = math.floor(usable / one.per_week * 7.0 + 1e-9)
        runs_out = today + timedelta(days=days)
        wanted = runs_out - timedelta(days=lead_days)
        bought = packs.get(one.ingredient)
        count = None if bought is None else math.ceil(needed / bought.content - 1e-9)
        unit = one.ingredient.unit
        steps = [
            *one.steps,
            Step("needed", f"{one.per_week:.4g} {unit} × {weeks:g} weeks - {usable:.4g} {unit} left",
                 f"{needed:.4g} {unit}"),
            Step("buy by", f"runs out {runs_out.isoformat()}, less {lead_days} days", wanted.isoformat()),
        ]  # fmt: skip
        if bought is not None:
            formula = f"{needed:.4g} {unit} / {bought.content:g} {unit}, rounded up"
            steps.append(Step("packs", formula, f"{count} at {bought.price:g}", "pack as stated"))
        found.append(
            ToBuy(
                ingredient=one.ingredient,
                amount=needed,
                packs=count,
                pack=bought,
                price=None if bought is None or count is None else count * bought.price,
                runs_out=runs_out,
                buy_by=max(wanted, today),
                overdue=wanted < today,
                steps=tuple(steps),
            )
        )
    return tuple(sorted(found, key=lambda line: (line.runs_out, line.ingredient.name)))


def _check_pack(ingredient: Ingredient, pack: Pack) -> None:
    check_pack(pack, of=ingredient.name)
    if pack.unit != ingredient.unit:
        what = f"{ingredient.name} is used in {ingredient.unit}, its pack is in {pack.unit}"
        raise CostError(what=what, right="State the pack in the unit that it is used in.")
