"""Urea becomes ammonium and ammonium becomes nitrate, both at first order, in the tank of a course: in closed form.

Plants take ammonium at first order too. Nitrite is passed over: in a tank that has run in, it goes as fast as it comes.
What nitrifies feeds the levels of nitrate (`tank.levels`), whose steps are then cut to their bound under either uptake.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import ArrayLike, NDArray

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.tank.course import Course
from littoral.tank.events import BalanceError, FloatArray
from littoral.tank.kinetics import taken
from littoral.tank.linear_decay import decayed_thrice, decayed_twice

AMMONIUM_PER_UREA = NUTRIENTS["urea"].element_share / NUTRIENTS["ammonium"].element_share
NITRATE_PER_AMMONIUM = NUTRIENTS["ammonium"].element_share / NUTRIENTS["nitrate"].element_share
"""Mass of the one for a mass of the other with the same nitrogen."""
FASTEST_PER_DAY = 100.0


@dataclass(frozen=True, slots=True, eq=False)
class NitrogenRates:
    """Draws of what becomes of urea and ammonium; each field has shape (draws,) or is a number, zero or more.

    Rates in 1/day: `hydrolysis_per_day` of urea, `nitrification_per_day` and `uptake_per_day` of ammonium. Levels in
    mg/L of urea and of NH4. Raises BalanceError for a value that is negative or no number, or a rate over
    FASTEST_PER_DAY: what turns within minutes is better dosed as what it turns into.
    """

    hydrolysis_per_day: ArrayLike
    nitrification_per_day: ArrayLike
    uptake_per_day: ArrayLike = 0.0
    start_urea_mg_per_l: ArrayLike = 0.0
    start_ammonium_mg_per_l: ArrayLike = 0.0
    source_ammonium_mg_per_l: ArrayLike = 0.0

    def __post_init__(self) -> None:
        for one in fields(self):
            values = np.asarray(getattr(self, one.name), dtype=np.float64)
            if values.ndim > 1 or not (np.isfinite(values).all() and (values >= 0).all()):
                what = f"the {one.name.replace('_', ' ')} is below zero or no number"
                raise BalanceError(what=what, right="Give values of zero or more, one for each draw.")
            if one.name.endswith("_per_day") and (values > FASTEST_PER_DAY).any():
                what = f"the {one.name.replace('_', ' ')} is over {FASTEST_PER_DAY:g} a day"
                raise BalanceError(what=what, right="Dose what it turns into instead.")
            object.__setattr__(self, one.name, values)


@dataclass(frozen=True, slots=True, eq=False)
class Nitrogen:
    """Masses just after each of the course's minutes, mg, shape (m, draws), and the rates they came by."""

    course: Course
    rates: NitrogenRates
    urea_mg: FloatArray
    ammonium_mg: FloatArray

    def take(self, draws: NDArray[np.intp]) -> Nitrogen:
        """Return the masses and rates of these draws, by their numbers."""
        rates = NitrogenRates(**{one.name: taken(getattr(self.rates, one.name), draws) for one in fields(self.rates)})
        return Nitrogen(self.course, rates, taken(self.urea_mg, draws), taken(self.ammonium_mg, draws))

    def masses(self, segment: int, days: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return urea, ammonium and what has nitrified (mg of NO3) since event number `segment`, at `days` after day 0.

        Each of shape (n_days, draws); the days lie between that event and the next.
        """
        return _react(self.rates, self.urea_mg[segment], self.ammonium_mg[segment], days - self.course.day[segment])

    def nitrified_per_day(self, segment: int, days: FloatArray) -> FloatArray:
        """Return the rate of nitrification, mg of NO3 a day, shape (n_days, draws)."""
        _, ammonium, _ = self.masses(segment, days)
        return ammonium * (np.asarray(self.rates.nitrification_per_day, dtype=np.float64) * NITRATE_PER_AMMONIUM)


def nitrogen(course: Course, rates: NitrogenRates, *, urea_dose_mg: ArrayLike, ammonium_dose_mg: ArrayLike) -> Nitrogen:
    """Solve urea and ammonium over a course's events.

    Doses in mg of urea and of NH4 have shape (m,), one for each of `course.day`; those of other courses of the same
    events are `prepare(..., nutrient=...).dose_mg`. Source water holds no urea.
    Raises BalanceError where the shapes do not fit.
    """
    shape = np.broadcast_shapes((1,), *(np.shape(getattr(rates, one.name)) for one in fields(rates)))
    doses = np.asarray(urea_dose_mg, dtype=np.float64), np.asarray(ammonium_dose_mg, dtype=np.float64)
    if any(dose.shape != course.day.shape for dose in doses):
        what = f"doses of shapes {doses[0].shape} and {doses[1].shape} on a course of {len(course.day)} minutes"
        raise BalanceError(what=what, right="Give one mass for each minute of the course.")
    urea = np.empty((len(course.day), *shape))
    ammonium = np.empty_like(urea)
    urea[0] = np.asarray(rates.start_urea_mg_per_l) * course.net_volume_l + doses[0][0]
    ammonium[0] = np.asarray(rates.start_ammonium_mg_per_l) * course.net_volume_l + doses[1][0]
    source = np.asarray(rates.source_ammonium_mg_per_l)
    for k in range(1, len(course.day)):
        passed = np.array([course.day[k] - course.day[k - 1]])
        left_urea, left_ammonium, _ = (one[0] for one in _react(rates, urea[k - 1], ammonium[k - 1], passed))
        urea[k] = course.exchange(k, left_urea, np.zeros(1)).mass_mg + doses[0][k]
        ammonium[k] = course.exchange(k, left_ammonium, source).mass_mg + doses[1][k]
    return Nitrogen(course, rates, urea, ammonium)


def _react(
    rates: NitrogenRates, urea: FloatArray, ammonium: FloatArray, days: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return urea and ammonium after `days` (n,) and what nitrified until then (as NO3), mg, each (n, draws)."""
    passed = np.asarray(days)[:, None]
    split, oxidised, uptake = (
        np.asarray(rate, dtype=np.float64)
        for rate in (rates.hydrolysis_per_day, rates.nitrification_per_day, rates.uptake_per_day)
    )
    lost = oxidised + uptake
    fed = urea * (split * AMMONIUM_PER_UREA)
    nitrified = ammonium * decayed_twice(0.0, lost, passed) + fed * decayed_thrice(0.0, split, lost, passed)
    return (
        np.broadcast_to(urea * np.exp(-split * passed), nitrified.shape),
        ammonium * np.exp(-lost * passed) + fed * decayed_twice(split, lost, passed),
        nitrified * (oxidised * NITRATE_PER_AMMONIUM),
    )
