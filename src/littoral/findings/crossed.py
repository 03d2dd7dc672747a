"""Photos of a crossover: one value of each tank in each period, after its washout; tanks compared with themselves."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from littoral.findings.beside import of_drawn_order, of_pairs
from littoral.findings.model import ArmValue, Beside
from littoral.findings.showing import GROWTH
from littoral.findings.swaps import Swaps
from littoral.findings.tank_values import TankSeries
from littoral.stats.compare import mean_of
from littoral.stats.crossover import Crossover, in_blocks, one_pair, several_pairs, two_periods
from littoral.stats.estimate import Estimate
from littoral.stats.growth import trim_offsets
from littoral.stats.series import FloatArray, Series
from littoral.trial.model import Trial
from littoral.trial.periods import Period, arm_on, periods_of, washout_half_lives

PAIRS_AS_REPLICATES = 3
"""From this number of pairs on the spread between pairs is the error; below it only these pairs are described."""
FEWEST_OF_ONE_PAIR = 3
FEWEST_OF_A_SLOPE = 3
FEWEST_OF_A_MEAN = 2
MOST_DRAWN = 24
"""Periods up to which all orders of a draw are looked at: 2^12 of them."""
RISING = ("algae",)
"""Measures of what stays where it grew: not its level but its rise within a period follows the period's regime."""


@dataclass(frozen=True, slots=True, eq=False)
class Crossed:
    """What a crossover gave: second arm minus first, each arm's value in each tank, and what was left out and why."""

    effect: Estimate
    arms: tuple[ArmValue, ...]
    pairs: int
    swaps: Swaps
    remarks: tuple[str, ...]
    measured_days: float
    beside: tuple[Beside, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class _Pair:
    """One pair's values in the periods that both tanks have: the first arm's tank is the left one here."""

    periods: tuple[Period, ...]
    left: FloatArray
    right: FloatArray
    names: tuple[str, str]
    photos: tuple[tuple[int, ...], tuple[int, ...]]


def crossed(trial: Trial, measure: str, pairs: Sequence[tuple[TankSeries, TankSeries]]) -> Crossed | str:
    """Compare the regimes within each pair (first arm's tank, second arm's); where that cannot be done, say why.

    Each pair needs three periods with enough photos after the washout, or two where three pairs or more swap.
    """
    remarks: list[str] = []
    seen = [_pair(trial, measure, *pair, remarks=remarks) for pair in pairs]
    least = 2 if len(seen) >= PAIRS_AS_REPLICATES else FEWEST_OF_ONE_PAIR
    for pair in seen:
        if len(pair.periods) < least or len({period.swapped for period in pair.periods}) < 2:
            return _too_few(trial, measure, pair, least=least)
    found = [_effect(pair) for pair in seen]
    several = len(found) >= PAIRS_AS_REPLICATES
    effect = several_pairs(found)[0] if several else mean_of(found)
    fitted = [_fitted(pair) for pair in seen if len(pair.periods) >= FEWEST_OF_ONE_PAIR]
    swaps = _swaps(trial, seen, trend=bool(fitted) and all(one.trend is not None for one in fitted))
    if several and swaps.carries_over:
        remarks.append(
            f"{swaps.carries_over[0].upper()}{swaps.carries_over[1:]}: traces of the former regime in each period may "
            "hide a part of the effect."
        )
    return Crossed(
        effect=effect,
        arms=_arm_values(trial, seen),
        pairs=len(seen),
        swaps=swaps,
        remarks=tuple(dict.fromkeys(remarks)),
        measured_days=trial.plan.period_days - trial.plan.washout_days,
        beside=of_pairs([one.value for one in found]) if several else _of_the_draw(trial, seen),
    )


def _of_the_draw(trial: Trial, seen: Sequence[_Pair]) -> tuple[Beside, ...]:
    """Return the exact test over the orders that could have been drawn: of one pair, with every period in it."""
    whole = len(seen) == 1 and len(seen[0].periods) == len(trial.plan.swapped)
    if trial.plan.order != "drawn by lot" or not whole or len(trial.plan.swapped) > MOST_DRAWN:
        return ()
    # the first arm's tank is the left one: it has the second regime in the periods that are swapped
    return of_drawn_order(seen[0].left - seen[0].right, _swapped(seen[0]))


def _pair(trial: Trial, measure: str, left: TankSeries, right: TankSeries, *, remarks: list[str]) -> _Pair:
    used: list[tuple[Period, float, float, int, int]] = []
    for period in periods_of(trial):
        values = [_value(measure, tank, period) for tank in (left, right)]
        sides = list(zip((left, right), values, strict=True))
        poor = [trial.tanks[tank.tank].name for tank, (value, _) in sides if value is None]
        if poor:
            remarks.append(f"period {period.number} has too few photos of {' and '.join(poor)}; it is left out")
            continue
        (first, first_photos), (second, second_photos) = values
        assert first is not None
        assert second is not None
        used.append((period, first, second, first_photos, second_photos))
    return _Pair(
        periods=tuple(row[0] for row in used),
        left=np.array([row[1] for row in used]),
        right=np.array([row[2] for row in used]),
        names=(left.tank, right.tank),
        photos=(tuple(row[3] for row in used), tuple(row[4] for row in used)),
    )


def _value(measure: str, tank: TankSeries, period: Period) -> tuple[float | None, int]:
    """Return a tank's value in a period after its washout (None: too few photos), and how many photos it rests on.

    Days within a period are no replicates and need no doubt of their own: the spread between periods is the error.
    """
    series = _within(tank.series, period)
    days = series.day
    if measure in GROWTH:
        offsets = trim_offsets(days, tank.trims)
        design = np.column_stack([np.ones(days.size), days - period.measured_from, offsets])
        if days.size < max(FEWEST_OF_A_SLOPE, design.shape[1]) or np.linalg.matrix_rank(design) < design.shape[1]:
            return None, days.size
        return float(np.linalg.lstsq(design, np.log(series.value), rcond=None)[0][1]), days.size
    if measure in RISING:
        if days.size < FEWEST_OF_A_SLOPE or np.ptp(days) == 0:
            return None, days.size
        slope = float(np.polynomial.polynomial.polyfit(days - days.mean(), series.value, 1)[1])
        return slope * (period.to_day - period.measured_from), days.size
    return (float(series.value.mean()) if days.size >= FEWEST_OF_A_MEAN else None), days.size


def _within(series: Series, period: Period) -> Series:
    inside = (series.day >= period.measured_from) & (series.day < period.to_day)
    return Series(series.name, series.unit, series.kind, series.day[inside], series.value[inside])


def _swapped(pair: _Pair) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    return np.array([period.swapped for period in pair.periods], dtype=np.bool_)


def _fitted(pair: _Pair) -> Crossover:
    return one_pair(pair.left - pair.right, _swapped(pair))


def _effect(pair: _Pair) -> Estimate:
    """Return second arm minus first of one pair; two periods give a number without a doubt of its own."""
    if len(pair.periods) < FEWEST_OF_ONE_PAIR:
        return Estimate.exact(two_periods(pair.left - pair.right, _swapped(pair)))
    return _fitted(pair).effect


def _swaps(trial: Trial, seen: Sequence[_Pair], *, trend: bool) -> Swaps:
    fewest = min(seen, key=lambda pair: len(pair.periods))
    order = _swapped(fewest)
    alternates = bool(np.all(order[1:] != order[:-1]))
    return Swaps(
        periods=len(fewest.periods),
        washout_half_lives=washout_half_lives(trial),
        order="blocks"
        if in_blocks(order)
        else "drawn"
        if trial.plan.order == "drawn by lot"
        else "alternating"
        if alternates
        else "mixed",
        trend_removed=trend,
    )


def _arm_values(trial: Trial, seen: Sequence[_Pair]) -> tuple[ArmValue, ...]:
    """Return each arm's mean over its periods in every tank, with the spread between those periods as the doubt."""
    found: list[ArmValue] = []
    for arm in trial.arms[:2]:
        for pair in seen:
            for tank, values, photos in zip(pair.names, (pair.left, pair.right), pair.photos, strict=True):
                mine = [arm_on(trial, tank, period.from_day).key == arm.key for period in pair.periods]
                own = values[np.array(mine)]
                low, high = _interval(own)
                counted = sum(count for count, counts in zip(photos, mine, strict=True) if counts)
                found.append(ArmValue(arm.key, tank, float(own.mean()), low, high, counted))
    return tuple(found)


def _interval(values: FloatArray) -> tuple[float | None, float | None]:
    if values.size < 2:
        return None, None
    one = np.ones(1)
    spread = float(values.std(ddof=1)) / math.sqrt(values.size)
    return Estimate(float(values.mean()) * one, spread * one, (values.size - 1) * one, one).interval()


def _too_few(trial: Trial, measure: str, pair: _Pair, *, least: int) -> str:
    names = " and ".join(trial.tanks[tank].name for tank in pair.names)
    photos = FEWEST_OF_A_SLOPE if measure in (*GROWTH, *RISING) else FEWEST_OF_A_MEAN
    counted = f"{len(pair.periods)} period{'' if len(pair.periods) == 1 else 's'}"
    return (
        f"{names}: {counted} with at least {photos} photos of both after the washout; {least} are needed, with each "
        "regime in one or more"
    )
