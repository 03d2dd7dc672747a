"""What feeding costs: the share of each pack that was used up, and which pack is empty first.

Only what was used is counted, at the price of the pack it came from; what spoils or is left over is not.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from littoral.errors import LittoralError
from littoral.feeding.bottles import Bottle

WEEKS_PER_YEAR = 365.25 / 7.0


class CostError(LittoralError):
    """A cost cannot be computed: `what` is wrong, `right` would do."""

    def __init__(self, *, what: str, right: str) -> None:
        self.what = what
        self.right = right
        super().__init__(f"cost of feeding: {what}. {right}")


@dataclass(frozen=True, slots=True)
class CostPart:
    """One ingredient: `used` of it (in `unit`, "ml" or "g") over the whole time, and its price in the trial's currency.

    `ingredient` is "bottle" or a salt's formula. `cost_per_week` and `pack_lasts_weeks` (one pack, from full, at this
    rate) are None where no pack is stated; the latter also where nothing was used.
    """

    bottle: str
    ingredient: str
    used: float
    unit: str
    cost_per_week: float | None
    pack_lasts_weeks: float | None


@dataclass(frozen=True, slots=True)
class ArmCost:
    """Cost of feeding, in the trial's currency; `unpriced` names what was used but has no price (bottle, ingredient).

    `runs_out_first` is the part whose pack is empty first if this arm alone uses it; None where no pack is stated.
    Where `unpriced` is not empty the sums are lower bounds, and must be shown as such.
    """

    per_week: float
    per_100_l_per_week: float
    per_year: float
    parts: tuple[CostPart, ...]
    runs_out_first: CostPart | None
    unpriced: tuple[tuple[str, str], ...]


def cost_of_feeding(
    used_ml: Mapping[str, float],
    used_g: Mapping[str, float],
    bottles: Mapping[str, Bottle],
    *,
    weeks: float,
    net_volume_l: float,
) -> ArmCost:
    """Return what an arm's feeding cost.

    `used_ml` and `used_g` map a bottle's key to what was really dosed of it over `weeks` weeks, in all tanks of the arm
    together, whose water is `net_volume_l` litres. A stock solution costs the salts in it; its water is free. A pack is
    taken to feed this arm and this bottle alone. A year has 365.25 days.
    Raises CostError: an unknown bottle, a negative amount, no time, no water.
    """
    for name, value in (("weeks", weeks), ("net volume", net_volume_l)):
        if not (math.isfinite(value) and value > 0):
            raise CostError(what=f"{name} is {value:g}", right="It must be above zero.")
    poured = [(_bottle(key, bottles), amount, "ml") for key, amount in used_ml.items()]
    poured += [(_bottle(key, bottles), amount, "g") for key, amount in used_g.items()]
    parts = [part for bottle, amount, unit in poured for part in _parts(bottle, amount, unit, weeks=weeks)]
    per_week = math.fsum(part.cost_per_week or 0.0 for part in parts)
    return ArmCost(
        per_week=per_week,
        per_100_l_per_week=per_week * 100.0 / net_volume_l,
        per_year=per_week * WEEKS_PER_YEAR,
        parts=tuple(parts),
        runs_out_first=min(
            (part for part in parts if part.pack_lasts_weeks is not None),
            key=lambda part: part.pack_lasts_weeks or 0.0,
            default=None,
        ),
        unpriced=tuple(
            (part.bottle, part.ingredient) for part in parts if part.cost_per_week is None and part.used > 0
        ),
    )


def _bottle(key: str, bottles: Mapping[str, Bottle]) -> Bottle:
    if key not in bottles:
        right = f"Bottles there are: {', '.join(bottles) or 'none'}."
        raise CostError(what=f'there is no bottle "{key}"', right=right)
    return bottles[key]


def _parts(bottle: Bottle, amount: float, unit: str, *, weeks: float) -> list[CostPart]:
    """Split what was used of a bottle into what is bought: the salts of a stock solution, or the bottle itself."""
    if not (math.isfinite(amount) and amount >= 0):
        what = f"{amount:g} {unit} of {bottle.key} used"
        raise CostError(what=what, right="Give an amount of zero or more.")
    if unit == "ml" and bottle.salts_g and bottle.made_up_to_ml:
        share = amount / bottle.made_up_to_ml
        return [_part(bottle, salt, share * grams, "g", weeks) for salt, grams in bottle.salts_g.items()]
    return [_part(bottle, bottle.dry_formula or "bottle", amount, unit, weeks)]


def _part(bottle: Bottle, ingredient: str, used: float, unit: str, weeks: float) -> CostPart:
    pack = bottle.packs.get(ingredient)
    if pack is not None and (pack.unit != unit or pack.content <= 0):
        pack = None  # a pack in another unit says nothing about this use
    return CostPart(
        bottle=bottle.key,
        ingredient=ingredient,
        used=used,
        unit=unit,
        cost_per_week=None if pack is None else used / pack.content * pack.price / weeks,
        pack_lasts_weeks=None if pack is None or used == 0 else pack.content / (used / weeks),
    )
