"""What flows into a tank between its events besides doses: the substrate's release, food, and nitrified ammonium."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from littoral.tank.course import Course
from littoral.tank.events import FloatArray
from littoral.tank.kinetics import Kinetics
from littoral.tank.linear_decay import decayed_twice
from littoral.tank.nitrogen import Nitrogen

_LOOKS = 5  # at the rate within a step, for its least and most


@dataclass(frozen=True, slots=True, eq=False)
class Inflows:
    """Masses that came in between a moment and each of n others, mg, each of shape (n, draws) or (n, 1)."""

    released_mg: FloatArray
    food_mg: FloatArray
    nitrified_mg: FloatArray

    def last(self) -> Inflows:
        """Return the last row."""
        return Inflows(self.released_mg[-1:], self.food_mg[-1:], self.nitrified_mg[-1:])

    def total(self) -> FloatArray:
        """Return their sum, mg."""
        total: FloatArray = self.released_mg + self.food_mg + self.nitrified_mg
        return total


def inflows(
    course: Course, kinetics: Kinetics, nitrogen: Nitrogen | None, *, segment: int, from_day: float, to: FloatArray
) -> Inflows:
    """Return what came in from a day to each of `to` (n,), all after event number `segment` and before the next."""
    passed, net_l = (to - from_day)[:, None], course.net_volume_l
    fading = 1.0 / np.asarray(kinetics.release_fade_days)
    now = np.asarray(kinetics.release_mg_per_l_per_day) * np.exp(-fading * (from_day - course.day[0]))
    nitrified = np.zeros((1, 1))
    if nitrogen is not None:
        _, _, since = nitrogen.masses(segment, np.append(to, from_day))
        nitrified = np.maximum(since[:-1] - since[-1], 0.0)
    return Inflows(
        now * net_l * decayed_twice(0.0, fading, passed),
        np.asarray(kinetics.food_mg_per_l_per_day) * net_l * passed,
        nitrified,
    )


def rate_range(
    course: Course, kinetics: Kinetics, nitrogen: Nitrogen | None, *, segment: int, from_day: float, to_day: float
) -> tuple[FloatArray, FloatArray]:
    """Return the least and the most that flows in per day between two days, mg/day, shape (draws,) or (1,).

    Of a chain's rate, which has one hump, the ends and three moments between are looked at.
    """
    fading, net_l = 1.0 / np.asarray(kinetics.release_fade_days), course.net_volume_l
    start = np.asarray(kinetics.release_mg_per_l_per_day) * net_l
    food = np.asarray(kinetics.food_mg_per_l_per_day) * net_l
    low = np.atleast_1d(start * np.exp(-fading * (to_day - course.day[0])) + food)
    high = np.atleast_1d(start * np.exp(-fading * (from_day - course.day[0])) + food)
    if nitrogen is not None:
        rate = nitrogen.nitrified_per_day(segment, np.linspace(from_day, to_day, _LOOKS))
        low, high = low + rate.min(axis=0), high + rate.max(axis=0)
    return low, high
