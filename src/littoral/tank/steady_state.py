"""What a repeated pattern of doses and changes leads to: the level it settles at, peak and trough, exactly.

Once a day, at one hour, the water is changed first and dosed after. Between days a nutrient is taken up at a
first-order rate. Evaporation is topped up as it goes, so the volume stays; pure water then changes nothing, and top-up
with source water adds what it carries. One period later the level is a · level + b, so the pattern settles at
b / (1 - a), and comes nearer to it by the factor a each period.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from littoral.feeding.adds import DoseError, dose_adds_mg
from littoral.feeding.bottles import Bottle
from littoral.feeding.level_response import LevelResponse
from littoral.feeding.regimes import PlannedChange, Regime, RegimeError, falls_on, period_days, when_words
from littoral.tank.balance import vector
from littoral.tank.events import BalanceError, FloatArray

WEEK = 7


@dataclass(frozen=True, slots=True, eq=False)
class Pattern:
    """A repeating pattern: on each of `days` days, the share changed (days,) and mg/L dosed (n_nutrients, days)."""

    nutrients: tuple[str, ...]
    share_changed: FloatArray
    adds_mg_per_l: FloatArray

    def __post_init__(self) -> None:
        """Raise BalanceError for a share outside 0 to 1, or a dose that is negative or no number."""
        if not ((self.share_changed >= 0).all() and (self.share_changed <= 1).all()):
            raise BalanceError(what="a change of less than nothing or more than all", right="Give shares from 0 to 1.")
        if not (np.isfinite(self.adds_mg_per_l).all() and (self.adds_mg_per_l >= 0).all()):
            raise BalanceError(what="a negative dose", right="Give doses of zero or more.")

    @property
    def days(self) -> int:
        """Length of the pattern in days."""
        return int(self.share_changed.size)


@dataclass(frozen=True, slots=True, eq=False)
class SteadyState:
    """Levels of the settled pattern, mg/L, by nutrient and day: before the change, after it, and after the doses.

    Each of the three has shape (n_nutrients, days); `trough`, `peak` and `mean` (over time) have (n_nutrients,).
    `kept` is the share of a level that is left after one period (n_nutrients,). Where it is 1 and something is added
    each period, the level grows for ever: peak, trough and mean are infinite.
    """

    nutrients: tuple[str, ...]
    days: int
    before: FloatArray
    after_change: FloatArray
    after_doses: FloatArray
    trough: FloatArray
    peak: FloatArray
    mean: FloatArray
    kept: FloatArray

    def days_to(self, share: float) -> FloatArray:
        """Return the days (n_nutrients,) until a tank that began elsewhere is `share` (0 to 1) of the way there.

        Infinite where nothing ever leaves the water. Raises BalanceError for a share outside 0 to 1.
        """
        if not 0 <= share < 1:
            raise BalanceError(what=f"{share:g} of the way", right="Give a share from 0 up to 1, such as 0.9.")
        with np.errstate(divide="ignore"):
            left = np.log(self.kept)
            return np.where(left == 0.0, math.inf, math.log1p(-share) / np.where(left == 0.0, 1.0, left) * self.days)


def pattern_of(
    regime: Regime, bottles: Mapping[str, Bottle], *, net_volume_l: float, nutrients: Sequence[str], start_weekday: int
) -> Pattern:
    """Return a regime as a repeating pattern over its own period, from day 0, which is `start_weekday` (0 is Monday).

    Several changes on one day follow each other. Raises RegimeError (a period too long), DoseError, BalanceError.
    """
    if not (math.isfinite(net_volume_l) and net_volume_l > 0):
        raise BalanceError(what=f"a net volume of {net_volume_l:g} L", right="Give litres above zero.")
    days = period_days(regime)
    adds, kept = np.zeros((len(nutrients), days)), np.ones(days)
    for day in range(days):
        weekday = (start_weekday + day) % WEEK
        for change in regime.changes:
            if falls_on(change, day=day, weekday=weekday):
                kept[day] *= 1.0 - change.share
        for dose in regime.doses:
            if falls_on(dose, day=day, weekday=weekday):
                bottle = bottles.get(dose.of)
                if bottle is None:
                    right = f"Bottles there are: {', '.join(bottles) or 'none'}."
                    raise DoseError(bottle=dose.of, what="there is no such bottle", right=right)
                mg = dose_adds_mg(bottle, ml=dose.ml, g=dose.g)
                adds[:, day] += vector(mg, nutrients) / net_volume_l
    return Pattern(tuple(nutrients), 1.0 - kept, adds)


def steady_state(
    pattern: Pattern,
    *,
    source_mg_per_l: ArrayLike = 0.0,
    uptake_per_day: ArrayLike = 0.0,
    top_up_mg_per_l_per_day: ArrayLike = 0.0,
) -> SteadyState:
    """Return what a pattern settles at. Closed form, no iteration.

    Source levels mg/L, first-order uptake 1/day and what top-up water brings, mg/L per day (its level times evaporation
    over net volume), have shape (n_nutrients,) or are one number for all. A nutrient that nothing adds and nothing
    takes is said to stay at the source's level. Raises BalanceError for a negative one.
    """
    source, uptake, top_up = _checked(pattern, source_mg_per_l, uptake_per_day, top_up_mg_per_l_per_day)
    log_kept = np.full(source.shape, _log_kept(pattern)) - uptake * pattern.days
    kept = np.exp(log_kept)
    brought = _one_period(pattern, np.zeros_like(source), source, uptake, top_up)[3]
    with np.errstate(divide="ignore", invalid="ignore"):
        begin = brought / -np.expm1(log_kept)
    begin = np.where(log_kept == 0.0, np.where(brought > 0, math.inf, source), begin)
    before, changed, dosed, _ = _one_period(pattern, begin, source, uptake, top_up)
    every = np.concatenate([before, changed, dosed], axis=1)
    return SteadyState(
        nutrients=pattern.nutrients,
        days=pattern.days,
        before=before,
        after_change=changed,
        after_doses=dosed,
        trough=every.min(axis=1),
        peak=every.max(axis=1),
        mean=_mean_after(dosed, uptake, top_up).mean(axis=1),
        kept=kept,
    )


def shares_by_weekday(changes: Sequence[PlannedChange]) -> FloatArray:
    """Return the share of water changed on each weekday from Monday, (7,); several on one day follow each other.

    Raises RegimeError for a change that does not come by the weekday, since then no two weeks are alike.
    """
    kept = np.ones(WEEK)
    for change in changes:
        if change.every is not None:
            what = f"a water change {when_words(change)}"
            raise RegimeError(what=what, right="Weekly advice needs changes on weekdays.")
        kept[list(set(change.weekdays))] *= 1.0 - change.share
    return 1.0 - kept


def weekly_response(
    nutrients: Sequence[str],
    *,
    share_changed: ArrayLike,
    source_mg_per_l: ArrayLike = 0.0,
    uptake_per_day: ArrayLike = 0.0,
    start_mg_per_l: ArrayLike = 0.0,
    weeks: int,
    top_up_mg_per_l_per_day: ArrayLike = 0.0,
) -> LevelResponse:
    """Return the levels of `weeks` equal weeks as a linear function of what is dosed on each weekday.

    `share_changed` (7,) is the share of water changed on each weekday from Monday. The level at any hour of week w is
    a mix of the first week's and the settled one's, ever more of the latter; so the highest and the lowest of all
    weeks is in the first or in the last, and only these two have points. Floors apply in the last. Raises BalanceError.
    """
    if weeks < 1:
        raise BalanceError(what=f"{weeks} weeks", right="Ask for at least one week.")
    names, share = tuple(nutrients), np.asarray(share_changed, dtype=np.float64)
    if share.shape != (WEEK,):
        raise BalanceError(what=f"changes on {share.size} weekdays", right="Give seven shares, from Monday.")
    n = len(names)
    empty = Pattern(names, share, np.zeros((n, WEEK)))
    source, uptake, top_up = _checked(empty, source_mg_per_l, uptake_per_day, top_up_mg_per_l_per_day)
    start = np.broadcast_to(np.asarray(start_mg_per_l, dtype=np.float64), (n,))
    if not (np.isfinite(start).all() and (start >= 0).all()):
        raise BalanceError(what="a start level below zero or no number", right="Give levels of zero or more.")
    zero = np.zeros(n)
    numbers = [0] if weeks == 1 else [0, weeks - 1]
    base = np.concatenate([_of_week(empty, w, start, source, uptake, top_up) for w in numbers], axis=1)
    gain = np.empty((n, base.shape[1], WEEK))
    for weekday in range(WEEK):
        adds = np.zeros((n, WEEK))
        adds[:, weekday] = 1.0
        one = Pattern(names, share, adds)
        gain[:, :, weekday] = np.concatenate([_of_week(one, w, zero, zero, uptake, zero) for w in numbers], axis=1)
    names_of_points = [
        f"week {w + 1}, {when}, {what}"
        for w in numbers
        for what in ("before the change", "after the change", "after the doses")
        for when in ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
    ]
    settled = np.repeat([w == weeks - 1 for w in numbers], 3 * WEEK)
    return LevelResponse(names, tuple(names_of_points), base, gain, settled)


def _of_week(
    pattern: Pattern, week: int, start: FloatArray, source: FloatArray, uptake: FloatArray, top_up: FloatArray
) -> FloatArray:
    """Return all levels of week number `week` (from 0) that begins with `start` at week 0; (n_nutrients, 21)."""
    log_kept = _log_kept(pattern) - uptake * pattern.days
    brought = _one_period(pattern, np.zeros_like(start), source, uptake, top_up)[3]
    # the geometric sum 1 + a + ... + a^(week - 1); plain `week` where nothing leaves
    with np.errstate(divide="ignore", invalid="ignore"):
        summed = np.where(log_kept == 0.0, week, np.expm1(week * log_kept) / np.expm1(log_kept)) if week else 0.0
    kept = np.exp(week * log_kept) if week else 1.0  # a change of all water has no logarithm times zero
    return np.concatenate(_one_period(pattern, kept * start + summed * brought, source, uptake, top_up)[:3], axis=1)


def _log_kept(pattern: Pattern) -> float:
    """Return the logarithm of the share of old water left after one period; minus infinity where all is changed."""
    with np.errstate(divide="ignore"):
        return float(np.log1p(-pattern.share_changed).sum())


def _one_period(
    pattern: Pattern, begin: FloatArray, source: FloatArray, uptake: FloatArray, top_up: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Run a period from the level before day 0's change; return before, after change, after doses, and the end."""
    before = np.empty((begin.size, pattern.days))
    changed, dosed = np.empty_like(before), np.empty_like(before)
    level, left = begin, np.exp(-uptake)
    brought = top_up * _mean_left(uptake)
    for day in range(pattern.days):
        share = pattern.share_changed[day]
        before[:, day] = level
        changed[:, day] = source if share == 1 else level * (1.0 - share) + source * share
        dosed[:, day] = changed[:, day] + pattern.adds_mg_per_l[:, day]
        level = dosed[:, day] * left + brought
    return before, changed, dosed, level


def _mean_left(uptake: FloatArray) -> FloatArray:
    """Return (1 - exp(-k)) / k: the mean over a day of what is left, 1 where nothing is taken up."""
    safe = np.where(uptake == 0.0, 1.0, uptake)
    return np.where(uptake == 0.0, 1.0, -np.expm1(-safe) / safe)


def _mean_after(dosed: FloatArray, uptake: FloatArray, top_up: FloatArray) -> FloatArray:
    """Return the mean level over the day that follows each dose, (n_nutrients, days)."""
    mean_left = _mean_left(uptake)
    # below this the plain form loses all digits, and the level is a straight line through the day
    small = uptake < 1e-6
    safe = np.where(small, 1.0, uptake)
    brought = np.where(small, top_up / 2.0, top_up / safe * (1.0 - mean_left))
    return dosed * mean_left[:, None] + brought[:, None]


def _checked(
    pattern: Pattern, source_mg_per_l: ArrayLike, uptake_per_day: ArrayLike, top_up: ArrayLike
) -> tuple[FloatArray, FloatArray, FloatArray]:
    n = len(pattern.nutrients)
    named = {"source level": source_mg_per_l, "uptake": uptake_per_day, "top-up": top_up}
    found = []
    for name, values in named.items():
        array = np.broadcast_to(np.asarray(values, dtype=np.float64), (n,))
        if not (np.isfinite(array).all() and (array >= 0).all()):
            raise BalanceError(what=f"the {name} is below zero or no number", right="Give values of zero or more.")
        found.append(array)
    return found[0], found[1], found[2]
