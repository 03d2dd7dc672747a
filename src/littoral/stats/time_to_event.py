"""Time to an event, such as the first algae: tanks in which it has not happened yet are censored, not left out.

One tank is one time. What is seen only on photo days is known to the day of the photo; give the day it was first seen.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from littoral.stats.permutation import Permutation, judged, over_choices
from littoral.stats.regression import TooFewPointsError
from littoral.stats.series import FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Survival:
    """The share of tanks still without the event after each `day` (k,) on which it happened somewhere.

    `at_risk`, `events`, `share`, its Greenwood standard `error`, and its 95 % ends `low`, `high` (not a number where
    the share is 0), all (k,). `median_day` is None where half of the tanks have not come to it.
    """

    day: FloatArray
    at_risk: NDArray[np.int64]
    events: NDArray[np.int64]
    share: FloatArray
    error: FloatArray
    low: FloatArray
    high: FloatArray
    median_day: float | None


@dataclass(frozen=True, slots=True)
class LogRank:
    """Events seen in the second arm, those expected if the arms were alike, the chi-square and the exact test.

    `test.statistic` is seen minus expected: above 0 the event comes earlier in the second arm.
    """

    seen: float
    expected: float
    chi_square: float
    test: Permutation


def kaplan_meier(day: FloatArray, happened: NDArray[np.bool_], *, level: float = 0.95) -> Survival:
    """Return the Kaplan–Meier estimate (1958, J Am Stat Assoc 53:457-481) of times `day` (n,), any order.

    `happened` (n,) is False where the tank was last looked at on that day and nothing had happened. The interval is
    taken on the log-log scale, which stays within 0 and 1. Raises TooFewPointsError where nothing happened anywhere.
    """
    from scipy.special import ndtri

    day, happened = np.asarray(day, dtype=float), np.asarray(happened, dtype=bool)
    if not happened.any():
        raise TooFewPointsError(points=0, needed=1, what="events")
    when, events = np.unique(day[happened], return_counts=True)
    at_risk = (day[None, :] >= when[:, None]).sum(axis=1)
    share = np.cumprod(1 - events / at_risk)
    left = at_risk - events
    with np.errstate(divide="ignore", invalid="ignore"):
        greenwood = np.sqrt(np.cumsum(np.where(left > 0, events / (at_risk * left), np.nan)))
        reach = float(ndtri((1 + level) / 2)) * greenwood / np.log(share)
        low, high = share ** np.exp(-reach), share ** np.exp(reach)
    half = np.flatnonzero(share <= 0.5 + 1e-12)
    return Survival(
        day=when,
        at_risk=at_risk,
        events=events,
        share=share,
        error=share * greenwood,
        low=low,
        high=high,
        median_day=float(when[half[0]]) if half.size else None,
    )


def log_rank(
    day: FloatArray,
    happened: NDArray[np.bool_],
    second_arm: NDArray[np.bool_],
    *,
    rng: np.random.Generator | None = None,
) -> LogRank:
    """Return the log-rank test (Mantel 1966, Cancer Chemother Rep 50:163-170) with its exact permutation p value.

    `day`, `happened`, `second_arm` (n,). Every dealing of the tanks' days to the arms is looked at, which needs tanks
    of both arms to be watched equally long. Above 200,000 dealings `rng` is needed. Raises TooFewPointsError where
    nothing happened or an arm is empty.
    """
    day, happened, second = np.asarray(day, dtype=float), np.asarray(happened, dtype=bool), np.asarray(second_arm)
    in_second = int(second.sum())
    if not happened.any() or in_second in (0, day.size):
        raise TooFewPointsError(points=int(happened.sum()), needed=1, what="events with tanks in both arms")
    score = log_rank_scores(day, happened)
    found, exact = over_choices(
        lambda chosen: np.asarray(score[chosen].sum(axis=1)), total=day.size, chosen=in_second, rng=rng
    )
    difference = float(score[second].sum())
    test = judged(difference, found, exact=exact, smallest_p=(1 + (2 * in_second == day.size)) / found.size)
    seen = float(happened[second].sum())
    variance = _variance(day, happened, second)
    return LogRank(seen, seen - difference, difference**2 / variance if variance > 0 else 0.0, test)


def log_rank_of_tanks(
    day: FloatArray,
    happened: NDArray[np.bool_],
    tank: NDArray[np.intp],
    second_arm: NDArray[np.bool_],
    *,
    rng: np.random.Generator | None = None,
) -> Permutation:
    """Return the exact test of seen minus expected where a tank may have several times, such as one for each trim.

    `day`, `happened`, `tank` (n,): the time's tank as a number from 0; `second_arm` (k,) one for each tank. Tanks are
    dealt to the arms with all their times, for several of one tank are no more tanks. Above 200,000 dealings `rng` is
    needed. Raises TooFewPointsError where nothing happened or an arm is empty.
    """
    second = np.asarray(second_arm, dtype=bool)
    score = log_rank_tank_scores(day, happened, tank, tanks=second.size)
    in_second = int(second.sum())
    if in_second in (0, second.size):
        raise TooFewPointsError(points=in_second, needed=1, what="tanks in both arms")
    found, exact = over_choices(
        lambda chosen: np.asarray(score[chosen].sum(axis=1)), total=second.size, chosen=in_second, rng=rng
    )
    smallest_p = (1 + (2 * in_second == second.size)) / found.size
    return judged(float(score[second].sum()), found, exact=exact, smallest_p=smallest_p)


def log_rank_tank_scores(
    day: FloatArray, happened: NDArray[np.bool_], tank: NDArray[np.intp], *, tanks: int
) -> FloatArray:
    """Return each tank's (tanks,) events less those expected of it, over all its times `day` (n,).

    Raises TooFewPointsError where nothing happened.
    """
    day, happened = np.asarray(day, dtype=float), np.asarray(happened, dtype=bool)
    if not happened.any():
        raise TooFewPointsError(points=0, needed=1, what="events")
    sums = np.bincount(tank, weights=log_rank_scores(day, happened), minlength=tanks)
    return np.asarray(sums, dtype=np.float64)


def log_rank_scores(day: FloatArray, happened: NDArray[np.bool_]) -> FloatArray:
    """Return for each tank (n,) its event (0 or 1) less those expected of it: an arm's sum is seen minus expected."""
    when, events = np.unique(day[happened], return_counts=True)
    at_risk = (day[None, :] >= when[:, None]).sum(axis=1)
    expected = (day[:, None] >= when[None, :]) @ (events / at_risk)
    return np.asarray(happened - expected, dtype=np.float64)


def _variance(day: FloatArray, happened: NDArray[np.bool_], second: NDArray[Any]) -> float:
    """Return the hypergeometric variance of events seen in the second arm."""
    when, events = np.unique(day[happened], return_counts=True)
    alive = day[None, :] >= when[:, None]
    total, of_second = alive.sum(axis=1), alive[:, second].sum(axis=1)
    several = total > 1
    share = of_second / total
    parts = events * share * (1 - share) * (total - events) / np.where(several, total - 1, 1)
    return float(parts[several].sum())
