"""A tank as it was kept, and its stretches of time between events and days asked for."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from littoral.tank.balance import TopUpWater
from littoral.tank.course import Course, prepare
from littoral.tank.events import FloatArray, TankEvent
from littoral.tank.fit.methods import FitError

LONGEST_STRETCH_DAYS = 3.5
"""Uptake and release drift slowly: within a stretch they are constant, at their value in its middle."""


@dataclass(frozen=True, slots=True, eq=False)
class KeptTank:
    """One tank: what was done to it, for all nutrients; `nutrients` is the order of each event's `adds_mg`.

    Events are what really happened: a missed dose is not there, a doubled one is there twice. `biomass` (n,), relative,
    on `biomass_day` (n,) where plants were measured (cover from photos); else uptake wanders by itself.
    """

    key: str
    arm: str
    nutrients: tuple[str, ...]
    events: tuple[TankEvent, ...]
    net_volume_l: float
    evaporation_l_per_day: float = 0.0
    topped_up_with: TopUpWater = "pure water"
    start_day: float = 0.0
    biomass_day: FloatArray | None = None
    biomass: FloatArray | None = None

    def course(self, nutrient: str) -> Course:
        """Return one nutrient's course. Raises BalanceError, or FitError for a nutrient that is not in the events."""
        if nutrient not in self.nutrients:
            raise FitError([f"{self.key} has no {nutrient}. Its events hold {', '.join(self.nutrients)}."])
        return prepare(
            self.events, net_volume_l=self.net_volume_l, evaporation_l_per_day=self.evaporation_l_per_day,
            topped_up_with=self.topped_up_with, start_day=self.start_day, nutrient=self.nutrients.index(nutrient),
            nutrients=len(self.nutrients), biomass_day=self.biomass_day, biomass=self.biomass,
        )  # fmt: skip

    def with_events(self, events: tuple[TankEvent, ...]) -> KeptTank:
        """Return the same tank with other events."""
        return replace(self, events=events)


@dataclass(frozen=True, slots=True, eq=False)
class Stretches:
    """A course cut at events and at days asked for; arrays (m,), one row for each stretch and what ends it.

    `middle` days and `days` long; `biomass_days`; litres at the middle, before and after the end's event; `event` its
    row in the course, or -1; `asked_row` the row whose end is each day asked for, shape (n_days,), or -1 for the start.
    """

    course: Course
    start: FloatArray
    days: FloatArray
    middle: FloatArray
    biomass_days: FloatArray
    middle_l: FloatArray
    event: tuple[int, ...]
    asked_row: tuple[int, ...]


def stretches(course: Course, asked_days: ArrayLike) -> Stretches:
    """Cut a course. A day asked for at the minute of an event means just after it, so ask a moment earlier for before.

    Raises FitError for days before the start; BalanceError where the tank has dried out.
    """
    asked = np.atleast_1d(np.asarray(asked_days, dtype=np.float64))
    if asked.size and not asked.min() >= course.day[0]:
        raise FitError([f"No level is known at day {asked.min():g}. The record begins at day {course.day[0]:g}."])
    last = asked.max() if asked.size else course.day[0]
    happened = course.day[1:][course.day[1:] <= last]
    cuts = np.unique(np.concatenate([[course.day[0]], happened, asked]))
    pieces = np.maximum(np.ceil(np.diff(cuts) / LONGEST_STRETCH_DAYS).astype(int), 1)
    parts = [np.linspace(a, b, n, endpoint=False) for a, b, n in zip(cuts[:-1], cuts[1:], pieces, strict=True)]
    every = np.concatenate([*parts, [cuts[-1]]])
    start, end = every[:-1], every[1:]
    segment = np.searchsorted(course.day, start, side="right") - 1
    middle = (start + end) / 2
    litres = np.array([course.litres(int(s), np.array([day]))[0] for s, day in zip(segment, middle, strict=True)])
    grown = np.array([course.biomass_days(a, np.array([b]))[0][0] for a, b in zip(start, end, strict=True)])
    at_event = np.searchsorted(course.day, end, side="left")
    is_event = (at_event < len(course.day)) & (course.day[np.minimum(at_event, len(course.day) - 1)] == end)
    row = {float(day): i for i, day in enumerate(end)}
    return Stretches(
        course=course,
        start=start,
        days=end - start,
        middle=middle,
        biomass_days=grown,
        middle_l=litres,
        event=tuple(int(e) if yes else -1 for e, yes in zip(at_event, is_event, strict=True)),
        asked_row=tuple(row.get(float(day), -1) for day in asked),
    )
