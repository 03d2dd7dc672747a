"""What doses add: by the dose, by the week, and what the label would have recommended."""

from __future__ import annotations

import math
from collections.abc import Mapping

from littoral.errors import LittoralError
from littoral.feeding.bottles import Bottle
from littoral.feeding.regimes import Regime, times_per_week


class DoseError(LittoralError):
    """A dose cannot be: `bottle` names of what, `what` is wrong, `right` would do."""

    def __init__(self, *, bottle: str, what: str, right: str) -> None:
        self.bottle = bottle
        self.what = what
        self.right = right
        super().__init__(f"dose of {bottle}: {what}. {right}")


def dose_adds_mg(bottle: Bottle, *, ml: float | None = None, g: float | None = None) -> dict[str, float]:
    """Return the mass of each nutrient (mg, keys of `chemistry.nutrients`) in a dose of `ml` millilitres or `g` grams.

    Exactly one of the two is given: grams of a dry salt, millilitres of anything else. Raises DoseError.
    """
    if (ml is None) == (g is None):
        what = "given in both mL and g" if ml is not None else "given in neither mL nor g"
        raise DoseError(bottle=bottle.key, what=what, right="Give exactly one of the two.")
    content, amount, unit = (bottle.content_mg_per_g, g, "g") if g is not None else (bottle.content_mg_per_ml, ml, "mL")
    assert amount is not None
    if not content:
        right = "Dose it in mL, strokes or drops." if unit == "g" else "Dose it in g: it is a dry salt."
        raise DoseError(bottle=bottle.key, what=f"it has no content per {unit}", right=right)
    if not (math.isfinite(amount) and amount >= 0):
        raise DoseError(bottle=bottle.key, what=f"{amount:g} {unit}", right="Give an amount of zero or more.")
    return {nutrient: amount * mg for nutrient, mg in content.items()}


def week_adds_mg_per_l(regime: Regime, bottles: Mapping[str, Bottle], *, net_volume_l: float) -> dict[str, float]:
    """Return what one week of a regime adds: mg/L of each nutrient, as if all were dosed at once.

    A dose that comes every n days counts 7/n times, which is its mean over the weeks.

    Water changes take out and bring in, which is not counted here (see `tank.balance` for levels). Raises DoseError: a
    bottle that is not there, or a dose it cannot give; ValueError for a net volume that is not above zero.
    """
    _check_volume(net_volume_l)
    week: dict[str, float] = {}
    for dose in regime.doses:
        bottle = bottles.get(dose.of)
        if bottle is None:
            right = f"Bottles there are: {', '.join(bottles) or 'none'}."
            raise DoseError(bottle=dose.of, what="there is no such bottle", right=right)
        for nutrient, mg in dose_adds_mg(bottle, ml=dose.ml, g=dose.g).items():
            week[nutrient] = week.get(nutrient, 0.0) + mg * times_per_week(dose) / net_volume_l
    return week


def label_recommends_ml_per_week(bottle: Bottle, *, net_volume_l: float) -> float | None:
    """Return the mL per week that a bottle's label recommends for a tank; None where the bottle states nothing.

    A label's advice is the maker's, for a tank it does not know: it is shown beside what was dosed, as no target.
    ValueError for a net volume that is not above zero.
    """
    _check_volume(net_volume_l)
    advice = bottle.recommended
    return None if advice is None else advice.ml * (net_volume_l / advice.per_l) * (7.0 / advice.days)


def label_recommends_mg_per_l_per_week(bottle: Bottle, *, net_volume_l: float) -> dict[str, float] | None:
    """Return what following the label for a week would add, mg/L of each nutrient; None where it states nothing.

    Raises as `label_recommends_ml_per_week` and `dose_adds_mg`.
    """
    ml = label_recommends_ml_per_week(bottle, net_volume_l=net_volume_l)
    if ml is None:
        return None
    return {nutrient: mg / net_volume_l for nutrient, mg in dose_adds_mg(bottle, ml=ml).items()}


def _check_volume(net_volume_l: float) -> None:
    if not (math.isfinite(net_volume_l) and net_volume_l > 0):
        raise ValueError(f"net_volume_l must be above zero, not {net_volume_l}")
