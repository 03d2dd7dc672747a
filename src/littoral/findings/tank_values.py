"""One tank's series for a question, its value after (and before) the regimes began, and the arms' difference."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from littoral.findings.one_frame import SHARED_IN_FRAME
from littoral.findings.photo_series import Taken
from littoral.findings.repeats import at_least, mean_spread, rate_spread
from littoral.stats import compare
from littoral.stats.compare import mean_levels, mean_over, paired
from littoral.stats.crossover import several_pairs
from littoral.stats.estimate import Estimate
from littoral.stats.growth import growth_rate
from littoral.stats.mixed_model import arm_effect
from littoral.stats.series import BoolArray, Series
from littoral.stats.trims import Step, placed, steps_down

GROWTH = ("height growth", "cover growth")
ENOUGH_PAIRS = 0.8
"""Share of the sparser tank's photos that must have a partner for the arms to be compared day by day."""

SELDOM = 0.5
"""A stand with fewer than this share of the best stand's photos is left out of its tank's mean."""


@dataclass(frozen=True, slots=True, eq=False)
class Value:
    """A number after the regimes began, before them, and its change (None without a baseline).

    Of an arms' difference, `units` are the numbers after the regimes began that it was taken over: one of each pair, or
    those of the second arm's tanks and those of the first's.
    """

    after: Estimate
    before: Estimate | None
    change: Estimate | None
    days: int
    units: tuple[tuple[float, ...], ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class TankSeries:
    """One tank's series over all its stands or regions, with the trims in it (days), and what was noticed on the way.

    `trims_of` holds each region's own trims, `recorded` those of all regions that were written down, without the
    presumed ones of `steps`.
    """

    tank: str
    series: Series
    trims: tuple[float, ...]
    trims_of: Mapping[str, tuple[float, ...]]
    recorded: tuple[float, ...]
    used: tuple[Taken, ...]
    steps: tuple[tuple[Taken, Step], ...]
    left_out: tuple[Taken, ...]


def tank_series(
    measure: str, members: Sequence[Taken], recorded: Mapping[str, tuple[float, ...]], *, name: str
) -> TankSeries:
    """Return the mean series of a tank's stands or regions (geometric for growth) on the days that all were measured.

    `recorded` holds the days of the trims written down for each region. A stand measured on less than half as many
    photos as the best one is left out, so that it does not cost the others their days. Stands seen by several views
    are photographed minutes or hours apart, so they meet on whole days. Needs at least one member.
    """
    most = max(member.series.day.size for member in members)
    used = tuple(member for member in members if member.series.day.size >= SELDOM * most and member.series.day.size)
    growth = measure in GROWTH
    trims_of: dict[str, tuple[float, ...]] = {member.place.region: () for member in used}
    recorded_of: set[float] = set()
    steps: list[tuple[Taken, Step]] = []
    for member in used if growth else ():
        own = placed(member.series, recorded.get(member.place.region, ()))
        recorded_of.update(own)
        found = steps_down(member.series, own)
        at = {*own, *((step.before_day + step.after_day) / 2 for step in found)}
        trims_of[member.place.region] = tuple(sorted(at))
        steps += [(member, step) for step in found]
    series = _mean_series(used, name=name, logs=growth)
    left_out = tuple(member for member in members if member not in used)
    trims = tuple(sorted({day for days in trims_of.values() for day in days}))
    return TankSeries(
        tank=members[0].place.tank,
        series=series,
        trims=trims,
        trims_of=trims_of,
        recorded=tuple(sorted(recorded_of)),
        used=used,
        steps=tuple(steps),
        left_out=left_out,
    )


def without_place(measure: str, tank: TankSeries, region: str) -> TankSeries:
    """Return a tank's series without one of its stands or regions; at least one other must be left."""
    used = tuple(member for member in tank.used if member.place.region != region)
    trims_of = {key: days for key, days in tank.trims_of.items() if key != region}
    return replace(
        tank,
        series=_mean_series(used, name=tank.series.name, logs=measure in GROWTH),
        trims=tuple(sorted({day for days in trims_of.values() for day in days})),
        trims_of=trims_of,
        used=used,
        steps=tuple(step for step in tank.steps if step[0].place.region != region),
    )


def _mean_series(used: Sequence[Taken], *, name: str, logs: bool) -> Series:
    views = {photo.view for member in used for photo in member.photos}
    members = {member.place.region: member.series for member in used}
    return mean_over(members, name=name, logs=logs, by_day=len(views) > 1)


def value_of(measure: str, series: Series, trims: Sequence[float], *, change_day: float) -> Value:
    """Return the value of a series: its growth rate (1/day) for a growth measure, its mean level otherwise.

    Its doubt is at least what repeat shots of a series show (`series.error`). Raises TooFewPointsError where the days
    after the change do not carry it.
    """
    if measure in GROWTH:
        growth = growth_rate(series, trims, change_day=change_day or None)
        value = Value(growth.rate_per_day, growth.before_per_day, growth.change, growth.values)
        return _with_repeats(value, series, rate_spread, change_day)
    levels = mean_levels(series, change_day=change_day)
    value = Value(levels.after, levels.before, levels.change, levels.values_after)
    return _with_repeats(value, series, mean_spread, change_day)


def _with_repeats(
    value: Value, series: Series, spread_of: Callable[[Series, BoolArray], float], change_day: float
) -> Value:
    """Return a value no surer than repeat shots of these days allow; as it is where there are none."""
    if series.error is None:
        return value
    later = series.day >= change_day
    after, before = spread_of(series, later), spread_of(series, ~later)
    return replace(
        value,
        after=at_least(value.after, after),
        before=None if value.before is None else at_least(value.before, before),
        change=None if value.change is None else at_least(value.change, float(np.hypot(after, before))),
    )


def difference(
    measure: str,
    second: Sequence[TankSeries],
    first: Sequence[TankSeries],
    *,
    change_day: float,
    block_of: Mapping[str, str] | None = None,
) -> tuple[Value, int]:
    """Return second arm minus first arm, and the number of tanks per arm it rests on.

    With one tank each, days that both have are compared with each other where nearly all of them pair, so that what
    they share cancels; otherwise each tank's value is taken by itself. From three tanks per arm on, the spread between
    tanks is the error; with two it cannot be estimated well enough, and only these tanks are described. Where
    `block_of` names each tank's block, what blocks share is taken out (`mixed_model.arm_effect`).
    Raises TooFewPointsError where a tank's days do not carry its value.
    """
    tanks = min(len(second), len(first))
    if len(second) == len(first) == 1:
        return _of_a_pair(measure, second[0], first[0], change_day=change_day), 1
    values = [
        [value_of(measure, tank.series, tank.trims, change_day=change_day) for tank in arm] for arm in (second, first)
    ]
    blocks = [[block_of[tank.tank] for tank in arm] for arm in (second, first)] if block_of else None
    after = _between([[value.after for value in arm] for arm in values], tanks, blocks)
    before = _between_known([[value.before for value in arm] for arm in values], tanks, blocks)
    change = _between_known([[value.change for value in arm] for arm in values], tanks, blocks)
    units = tuple(tuple(value.after.value for value in arm) for arm in values)
    return Value(after, before, change, min(value.days for arm in values for value in arm), units), tanks


def difference_of_pairs(measure: str, pairs: Sequence[tuple[TankSeries, TankSeries]], *, change_day: float) -> Value:
    """Return second arm minus first over pairs (first arm's tank, second arm's), each pair one number.

    From three pairs on, the spread between pairs is the error (t on pairs - 1); with fewer only these pairs are
    described. Raises TooFewPointsError where a tank's days do not carry its value.
    """
    values = [_of_a_pair(measure, second, first, change_day=change_day) for first, second in pairs]
    before, change = ([one.before for one in values], [one.change for one in values])
    return Value(
        after=mean_of_pairs([one.after for one in values]),
        before=_over_known_pairs(before),
        change=_over_known_pairs(change),
        days=min(one.days for one in values),
        units=(tuple(one.after.value for one in values),),
    )


def mean_of_pairs(values: Sequence[Estimate]) -> Estimate:
    """Return the mean difference over pairs, one number each: with t on pairs - 1 from three pairs on."""
    return several_pairs(values)[0] if len(values) >= 3 else compare.mean_of(values)


def _over_known_pairs(values: Sequence[Estimate | None]) -> Estimate | None:
    known = [value for value in values if value is not None]
    return mean_of_pairs(known) if len(known) == len(values) else None


def _of_a_pair(measure: str, second: TankSeries, first: TankSeries, *, change_day: float) -> Value:
    both = day_by_day(measure, second, first, change_day=change_day)
    if both is not None:
        return value_of(measure, both, sorted({*second.trims, *first.trims}), change_day=change_day)
    values = [value_of(measure, tank.series, tank.trims, change_day=change_day) for tank in (second, first)]
    return Value(
        after=values[0].after.minus(values[1].after),
        before=_minus(values[0].before, values[1].before),
        change=_minus(values[0].change, values[1].change),
        days=min(value.days for value in values),
    )


def day_by_day(measure: str, second: TankSeries, first: TankSeries, *, change_day: float) -> Series | None:
    """Return second minus first (over it, for growth) on the days that both have; None where too few days pair."""
    both = paired(second.series, first.series, how="ratio" if measure in GROWTH else "difference")
    if both.error is not None and measure == "redness" and in_one_frame(second, first):
        both = replace(both, error=both.error * (1 - SHARED_IN_FRAME) ** 0.5)
    fewer = min(_after(second.series, change_day), _after(first.series, change_day))
    return both if fewer and _after(both, change_day) >= ENOUGH_PAIRS * fewer else None


def in_one_frame(second: TankSeries, first: TankSeries) -> bool:
    """Tell whether all photos of one tank show the other too, so that both were seen by one camera at one moment."""
    photos = [{photo.entry_id for member in tank.used for photo in member.photos} for tank in (second, first)]
    return bool(photos[0]) and photos[0] == photos[1]


def _after(series: Series, change_day: float) -> int:
    return int(np.count_nonzero(series.day >= change_day))


def _minus(second: Estimate | None, first: Estimate | None) -> Estimate | None:
    return None if second is None or first is None else second.minus(first)


def _between(arms: Sequence[Sequence[Estimate]], tanks: int, blocks: Sequence[Sequence[str]] | None) -> Estimate:
    if tanks >= 3 and blocks is not None:
        second, first = arms
        return arm_effect(
            np.array([one.value for one in (*second, *first)]),
            tank=np.arange(len(second) + len(first)),
            second_arm=np.arange(len(second) + len(first)) < len(second),
            block=np.array([*blocks[0], *blocks[1]]),
        )
    if tanks >= 3:
        return compare.tanks_per_arm(arms[0], arms[1])
    return compare.mean_of(arms[0]).minus(compare.mean_of(arms[1]))


def _between_known(
    arms: Sequence[Sequence[Estimate | None]], tanks: int, blocks: Sequence[Sequence[str]] | None
) -> Estimate | None:
    known = [[value for value in arm if value is not None] for arm in arms]
    whole = all(len(k) == len(arm) for k, arm in zip(known, arms, strict=True))
    return _between(known, tanks, blocks) if whole else None
