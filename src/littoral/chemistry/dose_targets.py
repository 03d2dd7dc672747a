"""From what a dose should add to a tank to what its bottle must hold, and back."""

from __future__ import annotations

import math
from collections.abc import Mapping

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.stock import StockError


class WeighingError(StockError):
    """A weigh-out cannot be found as asked."""


def target_of_dose(add_mg_per_l: Mapping[str, float], *, net_volume_l: float, dose_ml: float) -> dict[str, float]:
    """Return what a bottle must hold, mg per mL, so that `dose_ml` mL add so many mg/L to a tank of net litres.

    Raises WeighingError for a dose, volume or target that cannot be; KeyError for no nutrient.
    """
    for what, value in (("a dose of", dose_ml), ("a net volume of", net_volume_l)):
        if not (math.isfinite(value) and value > 0):
            raise WeighingError(what=f"{what} {value:g}", right="Give a number above zero.")
    check_target(add_mg_per_l)
    return {key: add * net_volume_l / dose_ml for key, add in add_mg_per_l.items()}


def added_by_dose(content_mg_per_ml: Mapping[str, float], *, net_volume_l: float, dose_ml: float) -> dict[str, float]:
    """Return what a dose adds to a tank of net litres, mg/L of each nutrient: `target_of_dose` the other way round."""
    for what, value in (("a dose of", dose_ml), ("a net volume of", net_volume_l)):
        if not (math.isfinite(value) and value > 0):
            raise WeighingError(what=f"{what} {value:g}", right="Give a number above zero.")
    return {key: mg * dose_ml / net_volume_l for key, mg in content_mg_per_ml.items()}


def check_target(target: Mapping[str, float]) -> None:
    """Raise WeighingError for a target that names no nutrient, is below zero or no number, or asks for nothing."""
    for key, value in target.items():
        if key not in NUTRIENTS:
            raise WeighingError(what=f'"{key[:40]}" is no nutrient', right=f"Write one of: {', '.join(NUTRIENTS)}.")
        if not (math.isfinite(value) and value >= 0):
            what = f"{value:g} of {NUTRIENTS[key].name}"
            raise WeighingError(what=what, right="Give a target of zero or more.")
    if not any(value > 0 for value in target.values()):
        raise WeighingError(what="nothing is asked for", right="Give at least one nutrient above zero.")
