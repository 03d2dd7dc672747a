"""How a tank takes up one nutrient, and what feeds it besides doses, for many draws of the parameters at once.

Uptake is first order (a share a day) or saturating (Michaelis and Menten): v level / (k + level). Both grow with the
plants: rates are those at a biomass of 1, and the course says how much there is on each day. The saturating rate is per
litre of the net volume, since the plants do not shrink when water evaporates.

First order alone is overconfident when plants saturate; v, k and release cannot be told apart from levels one by one,
so `net_removal` is what a fit may print.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import ArrayLike, NDArray

from littoral.tank.course import Course
from littoral.tank.events import BalanceError, FloatArray

_UNLIMITED = ("release_fade_days",)
_ABOVE_ZERO = ("release_fade_days", "k_mg_per_l")


@dataclass(frozen=True, slots=True, eq=False)
class FirstOrder:
    """Uptake of `uptake_per_day` (1/day, shape (draws,) or a number) times biomass: a share of what is there."""

    uptake_per_day: FloatArray

    def __post_init__(self) -> None:
        _check(self)


@dataclass(frozen=True, slots=True, eq=False)
class MichaelisMenten:
    """Uptake of v level / (k + level) times biomass, mg/L/day of the net volume; k above 0.

    Shapes (draws,) or a number.
    """

    v_mg_per_l_per_day: FloatArray
    k_mg_per_l: FloatArray

    def __post_init__(self) -> None:
        _check(self)


@dataclass(frozen=True, slots=True, eq=False)
class Kinetics:
    """Draws of what drives one nutrient in one tank; each field has shape (draws,) or is one number for all.

    Levels in mg/L: of the source water, and at the course's start, when the tank is full. Release by the substrate
    begins there at `release_mg_per_l_per_day` of the net volume and fades as exp(-days / `release_fade_days`); without
    an end by default. `food_mg_per_l_per_day` is what the animals' food brings. Raises BalanceError for a value that
    is negative or no number.
    """

    uptake: FirstOrder | MichaelisMenten
    source_mg_per_l: ArrayLike
    start_mg_per_l: ArrayLike
    release_mg_per_l_per_day: ArrayLike = 0.0
    release_fade_days: ArrayLike = np.inf
    food_mg_per_l_per_day: ArrayLike = 0.0

    def __post_init__(self) -> None:
        _check(self)

    def draws(self) -> int:
        """Return the number of draws. Raises ValueError where the shapes do not agree."""
        ours = [getattr(self, one.name) for one in fields(self) if one.name != "uptake"]
        theirs = [getattr(self.uptake, one.name) for one in fields(self.uptake)]
        return int(np.broadcast_shapes((1,), *(np.shape(value) for value in (*ours, *theirs)))[0])

    def steepness(self) -> FloatArray:
        """Return the share that goes in a day at the lowest levels and a biomass of 1, 1/day; (draws,) or a number."""
        if isinstance(self.uptake, FirstOrder):
            return self.uptake.uptake_per_day
        share: FloatArray = self.uptake.v_mg_per_l_per_day / self.uptake.k_mg_per_l
        return share

    def take(self, draws: NDArray[np.intp]) -> Kinetics:
        """Return the kinetics of these draws, by their numbers."""
        values = {one.name: getattr(self, one.name) for one in fields(self)}
        parts = {one.name: getattr(self.uptake, one.name) for one in fields(self.uptake)}
        uptake = type(self.uptake)(**{name: taken(value, draws) for name, value in parts.items()})
        return Kinetics(uptake, **{name: taken(value, draws) for name, value in values.items() if name != "uptake"})


def taken(values: ArrayLike, draws: NDArray[np.intp]) -> FloatArray:
    """Return the values of these draws along the last axis; what is one for all draws stays so."""
    array = np.asarray(values, dtype=np.float64)
    return array if array.ndim == 0 or array.shape[-1] == 1 else array[..., draws]


def net_removal(course: Course, kinetics: Kinetics, *, level_mg_per_l: ArrayLike, day: float) -> FloatArray:
    """Return uptake less release and food at a level and on a day, mg/L/day of a full tank, shape (draws,).

    Below zero where the tank gains. `level_mg_per_l` is a number or (draws,).
    """
    level, grown = np.asarray(level_mg_per_l, dtype=np.float64), course.biomass_at(day)
    if isinstance(kinetics.uptake, FirstOrder):
        uptake = np.asarray(kinetics.uptake.uptake_per_day) * level * grown
    else:
        half = np.asarray(kinetics.uptake.k_mg_per_l)
        uptake = np.asarray(kinetics.uptake.v_mg_per_l_per_day) * grown * level / (half + level)
    fade = np.exp(-(day - course.day[0]) / np.asarray(kinetics.release_fade_days))
    gain = np.asarray(kinetics.release_mg_per_l_per_day) * fade + np.asarray(kinetics.food_mg_per_l_per_day)
    return np.broadcast_to(uptake - gain, (kinetics.draws(),)).astype(np.float64)


def _check(given: FirstOrder | MichaelisMenten | Kinetics) -> None:
    for one in fields(given):
        if one.name == "uptake":
            continue
        values = np.asarray(getattr(given, one.name), dtype=np.float64)
        above, right = (values > 0, "above zero") if one.name in _ABOVE_ZERO else (values >= 0, "of zero or more")
        if values.ndim > 1 or not above.all() or not (one.name in _UNLIMITED or np.isfinite(values).all()):
            name = one.name.replace("_", " ")
            what = f"the kinetics' {name} is out of bounds or no number"
            raise BalanceError(what=what, right=f"Give values {right}, one for each draw.")
        object.__setattr__(given, one.name, values)
