"""Levels of one nutrient in one tank over a course, for many draws of its kinetics at once.

Closed form from event to event (`tank.saturating`, `tank.linear_decay`), and the days asked for are read off the
same segments. In closed form without more: first-order uptake, evaporation, fading release and food, at a biomass of
1; saturating uptake scaled by any biomass without evaporation and inflow, or with constant inflow and biomass. Where
there is none (saturating uptake with evaporation, fading release, nitrification; inflow under changing biomass) a
segment is cut into steps of second order, with water and inflow at their means, so short that a proven bound on what
they add up to (`tank.step_bound`) stays below a tolerance, for every draw; the true error is a small part of it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from littoral.tank.course import Course
from littoral.tank.events import FloatArray
from littoral.tank.kinetics import Kinetics
from littoral.tank.nitrogen import Nitrogen
from littoral.tank.walk import Question, Stretch, check, walk

_BLOCK = 5000
TOLERANCE_MG_PER_L = 0.05  # a hundredth of the steps of a colour card for nitrate
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(12)


@dataclass(frozen=True, slots=True, eq=False)
class DrawLedger:
    """Where the mass went, mg, each shape (draws,); what came equals what went.

    start + dosed + from_source + released + food + nitrified = removed + taken_up + left.
    """

    start_mg: FloatArray
    dosed_mg: FloatArray
    from_source_mg: FloatArray
    released_mg: FloatArray
    food_mg: FloatArray
    nitrified_mg: FloatArray
    removed_mg: FloatArray
    taken_up_mg: FloatArray
    left_mg: FloatArray


def levels(
    course: Course,
    kinetics: Kinetics,
    at_days: ArrayLike,
    *,
    nitrogen: Nitrogen | None = None,
    tolerance_mg_per_l: float = TOLERANCE_MG_PER_L,
) -> FloatArray:
    """Return levels in mg/L at any days from the start on, shape (draws, n_days); at an event: just after it.

    The level just before an event is that of a moment earlier. `nitrogen` feeds nitrate with what nitrifies.
    Raises BalanceError for days before the start, a tank that has evaporated, or a tolerance of zero or less.
    """
    wanted, back = np.unique(np.asarray(at_days, dtype=np.float64), return_inverse=True)
    check(Question(course, kinetics, nitrogen, tolerance_mg_per_l), wanted)
    draws = kinetics.draws()
    found = np.empty((len(wanted), draws))
    # draws alike in steepness together: steps are as short as the steepest of a block needs, and blocks stay small
    order = np.argsort(kinetics.steepness() + np.zeros(draws), kind="stable")
    for start in range(0, draws, _BLOCK) if len(wanted) else ():
        block = order[start : start + _BLOCK]
        chain = None if nitrogen is None else nitrogen.take(block)
        question = Question(course, kinetics.take(block), chain, tolerance_mg_per_l)
        done = 0
        for one in walk(question, wanted, to_day=float(wanted[-1])):
            if isinstance(one, Stretch) and len(one.days):
                litres, until = course.litres(one.segment, one.days), done + len(one.days)
                np.divide(one.inside.end_mg, litres[:, None], out=found[done:until, start : start + len(block)])
                done = until
    in_order = np.empty((draws, len(back.reshape(-1))))
    in_order[order] = found[back.reshape(-1)].T
    return in_order


def mean_level(
    course: Course,
    kinetics: Kinetics,
    *,
    from_day: float,
    to_day: float,
    nitrogen: Nitrogen | None = None,
    tolerance_mg_per_l: float = TOLERANCE_MG_PER_L,
) -> FloatArray:
    """Return the mean level over [from_day, to_day], mg/L, shape (draws,).

    In closed form without evaporation and biomass (where levels go in steps, of those steps); with either, Gauss and
    Legendre's rule of 12 points on every quarter of a day between events, where levels are smooth. Raises BalanceError
    as `levels`, or where the days do not ascend.
    """
    question = Question(course, kinetics, nitrogen, tolerance_mg_per_l)
    check(question, np.array([from_day, to_day - from_day + course.day[0]]))
    if to_day == from_day:
        return levels(course, kinetics, from_day, nitrogen=nitrogen, tolerance_mg_per_l=tolerance_mg_per_l)[:, 0]
    if course.evaporation_l_per_day > 0 or course.biomass is not None:
        inner = course.day[(course.day > from_day) & (course.day < to_day)]
        if course.biomass is not None:
            inner = np.append(inner, course.biomass.day)
        even = np.arange(from_day, to_day, 0.25)
        edges = np.unique(np.clip(np.concatenate([inner, even, [to_day]]), from_day, to_day))
        half = np.diff(edges)[:, None] / 2
        at = (edges[:-1, None] + half * (1 + _NODES)).ravel()
        weights = (half * _WEIGHTS).ravel() / (to_day - from_day)
        found = levels(course, kinetics, at, nitrogen=nitrogen, tolerance_mg_per_l=tolerance_mg_per_l)
        return np.asarray(found @ weights)
    total = np.zeros(kinetics.draws())
    for one in walk(question, np.array([from_day]), to_day=to_day, mean=True):
        if not isinstance(one, Stretch) or one.to_day < from_day:
            continue
        assert one.end.mean_mg is not None
        total += one.end.mean_mg[0] * (one.to_day - one.from_day)
        if len(one.days):  # holds from_day: what lies before it does not count
            assert one.inside.mean_mg is not None
            total -= one.inside.mean_mg[0] * (from_day - one.from_day)
    mean: FloatArray = total / (course.net_volume_l * (to_day - from_day))
    return mean


def ledger(
    course: Course,
    kinetics: Kinetics,
    *,
    to_day: float,
    nitrogen: Nitrogen | None = None,
    tolerance_mg_per_l: float = TOLERANCE_MG_PER_L,
) -> DrawLedger:
    """Return where the mass went from the start through `to_day` and its event. Raises BalanceError as `levels`."""
    question = Question(course, kinetics, nitrogen, tolerance_mg_per_l)
    check(question, np.array([to_day]))
    start = question.start_mg()
    dosed, brought, released, food, nitrified, removed, taken_up, left = (np.zeros_like(start) for _ in range(8))
    for one in walk(question, np.empty(0), to_day=to_day):
        if isinstance(one, Stretch):
            released += one.came.released_mg[0]
            food += one.came.food_mg[0]
            nitrified += one.came.nitrified_mg[0]
            taken_up += one.end.taken_up_mg[0]
            left = one.end.end_mg[0]
        else:
            dosed += course.dose_mg[one.segment]
            brought += one.from_source_mg
            removed += one.removed_mg
            left = one.after_mg
    return DrawLedger(start, dosed, brought, released, food, nitrified, removed, taken_up, left)
