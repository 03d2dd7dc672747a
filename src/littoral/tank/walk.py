"""The way through a course, for many draws at once: stretches in closed form, and minutes with events between them.

A stretch runs from one event to the next where the closed form does; elsewhere it is cut where `tank.step_bound` says,
so that the mass is never off by more than a tolerance, for any draw.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from littoral.tank.course import Course
from littoral.tank.events import BalanceError, FloatArray
from littoral.tank.inflow import Inflows, inflows
from littoral.tank.kinetics import FirstOrder, Kinetics
from littoral.tank.linear_decay import decayed_thrice, decayed_twice
from littoral.tank.nitrogen import Nitrogen
from littoral.tank.saturating import Step, saturating_step
from littoral.tank.step_bound import left_out

_HORIZON_DAYS = 14.0  # what the bound leaves free is spent over this many days: plants take errors up again
_SHORTEST_DAYS = 1e-5


@dataclass(frozen=True, slots=True, eq=False)
class Stretch:
    """A step of draws' masses, mg: at its end (1, draws), and at the wanted days (n,) in it, (n, draws).

    The days lie from its start until before its end; those of the last stretch, its end too.
    """

    segment: int
    from_day: float
    to_day: float
    end: Step
    came: Inflows
    days: FloatArray
    inside: Step


@dataclass(frozen=True, slots=True, eq=False)
class Minute:
    """What event number `segment` did, mg, shapes (draws,)."""

    segment: int
    from_source_mg: FloatArray
    removed_mg: FloatArray
    after_mg: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Question:
    """What is solved: a course, its kinetics, what nitrifies into it; and the tolerance, mg/L, of steps cut."""

    course: Course
    kinetics: Kinetics
    nitrogen: Nitrogen | None
    tolerance_mg_per_l: float

    def start_mg(self) -> FloatArray:
        """Return the mass at the start, mg, shape (draws,)."""
        level: FloatArray = np.asarray(self.kinetics.start_mg_per_l) + np.zeros(self.kinetics.draws())
        return level * self.course.net_volume_l

    def step(
        self, segment: int, from_day: float, days: FloatArray, mass_mg: FloatArray, *, mean: bool = False
    ) -> tuple[Step, Inflows]:
        """Return masses (n, draws) at `days`, each one step from a mass at `from_day`, and what came in until then."""
        course, kinetics = self.course, self.kinetics
        came = inflows(course, kinetics, self.nitrogen, segment=segment, from_day=from_day, to=days)
        if isinstance(kinetics.uptake, FirstOrder):
            return _first_order(self, kinetics.uptake, from_day, days, mass_mg, came, mean), came
        grown, middle = course.biomass_days(from_day, days)
        litres = course.litres(segment, from_day + middle)
        stepped = saturating_step(
            mass_mg,
            uptake_mg=kinetics.uptake.v_mg_per_l_per_day * (course.net_volume_l * grown)[:, None],
            half_mg=kinetics.uptake.k_mg_per_l * litres[:, None],
            inflow_mg=came.total(),
            mean=mean,
        )
        return stepped, came


def walk(question: Question, wanted: FloatArray, *, to_day: float, mean: bool = False) -> Iterator[Stretch | Minute]:
    """Go through stretches and minutes with events from the start through `to_day`, in order.

    `wanted` are days, ascending, up to `to_day`. Raises BalanceError for a tank that has evaporated.
    """
    course, mass = question.course, question.start_mg()
    last = int(np.searchsorted(course.day, to_day, side="right")) - 1
    least_l = float(min(course.before_l[: last + 1].min(), course.litres(last, np.array([to_day]))[0]))
    source = np.asarray(question.kinetics.source_mg_per_l)
    off_mg, length = np.zeros(1), math.inf  # the most that `mass` may be off; days of the next step
    for segment in range(last + 1):
        now = float(course.day[segment])
        end = float(course.day[segment + 1]) if segment < last else to_day
        if segment:
            done = course.exchange(segment, mass, source)
            mass = done.mass_mg + course.dose_mg[segment]
            off_mg = off_mg * (1 - course.share[segment])
            yield Minute(segment, done.from_source_mg + np.zeros_like(mass), done.removed_mg, mass)
        while True:
            until, length, off_mg, tried = _next(
                question, segment, now, end, mass, off_mg, length, to_day=to_day,
                allowed_mg=question.tolerance_mg_per_l * least_l,
            )  # fmt: skip
            at_end = segment == last and until == end
            first, after = np.searchsorted(wanted, now), np.searchsorted(wanted, until, "right" if at_end else "left")
            days = wanted[first:after]
            if tried is None or mean:
                both, came = question.step(segment, now, np.append(days, until), mass, mean=mean)
                inside, step, came = both.rows(slice(0, -1)), both.rows(slice(-1, None)), came.last()
            else:
                step, came = tried
                inside = question.step(segment, now, days, mass)[0] if len(days) else step.rows(slice(0, 0))
            yield Stretch(segment, now, until, step, came, days, inside)
            mass, now = step.end_mg[0], until
            if until == end:
                break


def _next(
    question: Question,
    segment: int,
    now: float,
    end: float,
    mass: FloatArray,
    off_mg: FloatArray,
    length: float,
    *,
    to_day: float,
    allowed_mg: float,
) -> tuple[float, float, FloatArray, tuple[Step, Inflows] | None]:
    """Return the end of the longest step towards `end` whose bound is allowed for every draw; trying `length` first.

    With it the length to try next, days, the most that the mass is off then, mg, and the step, where it was tried.
    """
    course, kinetics, nitrogen = question.course, question.kinetics, question.nitrogen
    while True:
        until = end if now + length >= end - _SHORTEST_DAYS else now + length
        out = left_out(course, kinetics, nitrogen, segment=segment, from_day=now, to_day=until)
        if out.nothing():
            return until, length, off_mg, None
        tried = question.step(segment, now, np.array([until]), mass)
        kept, added = out.bound_mg(mass, tried[0].end_mg[0], off_mg)
        part = min(1.0, (until - now) / min(_HORIZON_DAYS, to_day - now))
        room = (allowed_mg - kept) * part
        over = float(np.max(added / room)) if (room > 0).all() else math.inf
        # bounds over what is allowed for such a length fall with its square
        fitting = (until - now) * min(4.0, max(0.1, 0.9 / math.sqrt(max(over, 1e-9))))
        if over <= 1.0:
            return until, fitting if until < end else max(fitting, length), kept + added, tried
        length = fitting
        if length < _SHORTEST_DAYS:
            what = f"day {now:.4g}: no step keeps the levels within {question.tolerance_mg_per_l:g} mg/L"
            raise BalanceError(what=what, right="Allow a larger tolerance, or look for a rate that cannot be.")


def _first_order(
    question: Question,
    uptake: FirstOrder,
    now: float,
    days: FloatArray,
    mass: FloatArray,
    came: Inflows,
    mean: bool,
) -> Step:
    course, kinetics = question.course, question.kinetics
    passed, grown = (days - now)[:, None], course.biomass_days(now, days)[0][:, None]
    spent = uptake.uptake_per_day * grown
    safe = np.where(spent > 0, spent, 1.0)
    kept = np.where(spent > 0, -np.expm1(-safe) / safe, 1.0)  # of an inflow that is even in the plants' time
    left, average = mass * np.exp(-spent), None
    if course.biomass is not None:
        left = left + came.total() * kept
    else:
        rate, fading = uptake.uptake_per_day, 1.0 / np.asarray(kinetics.release_fade_days)
        at_start = np.asarray(kinetics.release_mg_per_l_per_day) * np.exp(-fading * (now - course.day[0]))
        release = at_start * course.net_volume_l
        left = left + release * decayed_twice(rate, fading, passed) + (came.food_mg + came.nitrified_mg) * kept
        if mean:
            even = (came.food_mg + came.nitrified_mg) / np.where(passed > 0, passed, 1.0)
            sums = mass * decayed_twice(0.0, rate, passed) + release * decayed_thrice(0.0, rate, fading, passed)
            sums = sums + even * decayed_thrice(0.0, 0.0, rate, passed)
            average = np.where(passed > 0, sums / np.where(passed > 0, passed, 1.0), mass)
    return Step(left, mass + came.total() - left, average)


def check(question: Question, days: FloatArray) -> None:
    """Raise BalanceError for a day before the start or no number, or a tolerance that is not above zero."""
    start = float(question.course.day[0])
    if not question.tolerance_mg_per_l > 0:
        what = f"a tolerance of {question.tolerance_mg_per_l:g} mg/L"
        raise BalanceError(what=what, right="Give one above zero.")
    for day in days[~((days >= start) & np.isfinite(days))]:
        raise BalanceError(what=f"no level is known at day {day:g}", right=f"Ask from day {start:g} on.")
