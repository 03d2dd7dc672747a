"""What feeding costs: the share of each pack that was used up, and which pack is empty first.

Only what was used is counted, at the price of the pack it came from; what spoils or is left over is not. A pack that
several bottles are mixed from is one pack: how long it lasts is judged by all that they take from it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from littoral.chemistry.salts import UnknownSaltError, salt
from littoral.errors import LittoralError
from littoral.feeding.bottles import Bottle, Pack

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

    `ingredient` is "bottle" or a salt. `cost_per_week` and `pack_lasts_weeks` (one pack, from full, at the rate of all
    bottles that share it) are None where no pack is stated; the latter also where nothing was used.
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

    `runs_out_first` is the part whose pack is empty first if this arm alone uses it; None where no pack is stated. See
    `supply` for a whole bench, with what is really left.
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
    together, whose water is `net_volume_l` litres. A stock solution costs the salts in it; its water is free. Two
    bottles that state the same pack of the same salt are taken to share it. A year has 365.25 days.
    Raises CostError: an unknown bottle, a negative amount, no time, no water, a pack that cannot be, two currencies.
    """
    for name, value in (("weeks", weeks), ("net volume", net_volume_l)):
        if not (math.isfinite(value) and value > 0):
            raise CostError(what=f"{name} is {value:g}", right="It must be above zero.")
    poured = [(_bottle(key, bottles), amount, "ml") for key, amount in used_ml.items()]
    poured += [(_bottle(key, bottles), amount, "g") for key, amount in used_g.items()]
    used = [one for bottle, amount, unit in poured for one in _used(bottle, amount, unit)]
    currencies = sorted({one.pack.currency for one in used if one.pack is not None})
    if len(currencies) > 1:
        shown = " and ".join(currency or "the trial's own" for currency in currencies)
        raise CostError(what=f"prices in {shown}", right="State all prices in one currency.")
    parts = _parts(used, weeks=weeks)
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


@dataclass(frozen=True, slots=True)
class _Used:
    """What was used of one ingredient by one bottle, and the pack it came from, if that is stated in the same unit."""

    bottle: str
    ingredient: str
    amount: float
    unit: str
    pack: Pack | None


def _used(bottle: Bottle, amount: float, unit: str) -> list[_Used]:
    """Split what was used of a bottle into what is bought: the salts of a stock solution, or the bottle itself."""
    if not (math.isfinite(amount) and amount >= 0):
        what = f"{amount:g} {unit} of {bottle.key} used"
        raise CostError(what=what, right="Give an amount of zero or more.")
    if unit == "ml" and bottle.salts_g and bottle.made_up_to_ml:
        share = amount / bottle.made_up_to_ml
        return [_from_pack(bottle, name, share * grams, "g") for name, grams in bottle.salts_g.items()]
    return [_from_pack(bottle, bottle.dry_formula or "bottle", amount, unit)]


def _from_pack(bottle: Bottle, ingredient: str, amount: float, unit: str) -> _Used:
    pack = bottle.packs.get(ingredient)
    if pack is not None:
        check_pack(pack, of=f"{ingredient} of {bottle.key}")
        if pack.unit != unit:
            pack = None  # a pack in another unit says nothing about this use
    return _Used(bottle.key, ingredient, amount, unit, pack)


def check_pack(pack: Pack, *, of: str) -> None:
    """Raise CostError for a pack that holds nothing or has a price below zero (no currency); `of` names it."""
    if not (math.isfinite(pack.content) and pack.content > 0):
        right = "State what it holds, above zero."
        raise CostError(what=f"the pack of {of} holds {pack.content:g} {pack.unit}", right=right)
    if not (math.isfinite(pack.price) and pack.price >= 0):
        raise CostError(what=f"the pack of {of} costs {pack.price:g}", right="State a price of zero or more.")


def _parts(used: list[_Used], *, weeks: float) -> list[CostPart]:
    shared: dict[tuple[str, Pack], float] = {}
    for one in used:
        if one.pack is not None:
            shared[_pack_of(one)] = shared.get(_pack_of(one), 0.0) + one.amount
    found = []
    for one in used:
        pack, together = one.pack, shared.get(_pack_of(one), 0.0) if one.pack is not None else 0.0
        found.append(
            CostPart(
                bottle=one.bottle,
                ingredient=one.ingredient,
                used=one.amount,
                unit=one.unit,
                cost_per_week=None if pack is None else one.amount / pack.content * pack.price / weeks,
                pack_lasts_weeks=None if pack is None or one.amount == 0 else pack.content / (together / weeks),
            )
        )
    return found


def _pack_of(one: _Used) -> tuple[str, Pack]:
    """Return which pack this is: bottles that name the same salt, however written, and the same pack share it."""
    assert one.pack is not None
    if one.ingredient == "bottle":
        return f"bottle {one.bottle}", one.pack
    try:
        return salt(one.ingredient).key, one.pack
    except UnknownSaltError:
        return one.ingredient, one.pack
