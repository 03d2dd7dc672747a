"""Whether what was meant to be held equal was: volume, light, temperature, CO2, water changes and trims, arm by arm.

Equal is claimed only where it is shown: the 90 % interval of the difference lies within the margin that the trial file
states (two one-sided tests at 5 %, `stats.equivalence`). Days of the same two tanks say how those tanks were kept,
which is the question here, and no more; their likeness from day to day is in the interval (see `mean_levels`). With
three tanks or more in each arm the tanks are what is counted. What follows from the file or the entries alone, such as
volumes and counts, has no interval.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from littoral.findings.care_readings import Readings, co2_readings, gauge_readings
from littoral.findings.doses import changes_done, observed_days
from littoral.quantities.check_row import CheckRow, Verdict
from littoral.quantities.counting import counted
from littoral.stats.compare import mean_levels, mean_over, paired, tanks_per_arm
from littoral.stats.equivalence import Equality, Equivalence, two_one_sided_tests
from littoral.stats.estimate import Estimate
from littoral.stats.regression import FEWEST_POINTS
from littoral.stats.series import Series
from littoral.tank.volume import net_volume_l
from littoral.trial.days import day_of
from littoral.trial.entries import Entry, GaugeReading, Trim, WaterChange, by_tank
from littoral.trial.model import Trial
from littoral.trial.written.schedule import MARGINS

ENOUGH_TANKS = 3
"""Tanks per arm from which they are counted, and not their days."""
MOST_DAYS = 200
"""More paired days than these are averaged by the week first: the model's time grows with their cube."""
LESS_THAN_A_WEEK = "Less than a week was recorded, and it is counted per week."
"""A tank that is seen to a day after the other would else make care unequal on the first days."""
SOURCE = "margin: [same_care] of the trial file, or a rule of thumb (common practice, no source)"
_VERDICTS: dict[Equality, Verdict] = {"within": "holds", "outside": "fails", "unknown": "cannot tell"}


@dataclass(frozen=True, slots=True)
class CareItem:
    """One item of same care: the check, the 90 % interval of the difference in its unit (None: none), and its days."""

    key: str
    row: CheckRow
    low: float | None = None
    high: float | None = None
    days: int = 0


@dataclass(frozen=True, slots=True)
class Gauged:
    """How one gauge is compared: relative differences are in % of the mean of both arms."""

    key: str
    name: str
    unit: str
    relative: bool


GAUGED = (
    Gauged("temperature", "temperature", "°C", False),
    Gauged("light", "hours of light a day", "h", False),
    Gauged("par", "PAR", "%", True),
    Gauged("bubbles", "CO2 bubbles", "%", True),
    Gauged("co2", "CO2 from pH and KH", "mg/L", False),
)
GAUGE_OF = {"temperature": "temperature", "light": "light", "par": "par", "bubbles": "co2 bubbles"}


def same_care(trial: Trial, entries: Sequence[Entry]) -> tuple[CareItem, ...]:
    """Return one item for each thing held equal: the second arm minus the first.

    `entries` are all in force of the trial. A row holds where equality within the margin is shown, fails where a larger
    difference is, and cannot tell otherwise; its comment says what it rests on, or what is missing.
    """
    margins = margins_of(trial)
    read = by_tank([entry for entry in entries if isinstance(entry.payload, GaugeReading)])
    return (
        _volume(trial, margins["volume"]),
        *(_gauged(trial, read, one, margins[one.key]) for one in GAUGED),
        _changes(trial, entries, margins["changes"]),
        _trims(trial, entries, margins["trims"]),
    )


def margins_of(trial: Trial) -> Mapping[str, float]:
    """Return by key how far the arms may differ and still count as kept equal: the trial's own, else the usual ones."""
    return {**MARGINS, **trial.same_care.margins}


def rows_of(items: Iterable[CareItem]) -> tuple[CheckRow, ...]:
    """Return the check rows of items."""
    return tuple(item.row for item in items)


def _arms(trial: Trial) -> tuple[tuple[str, ...], tuple[str, ...]]:
    return trial.arms[0].tanks, trial.arms[1].tanks


def _volume(trial: Trial, margin: float) -> CareItem:
    vessels = {tank: trial.tanks[tank].vessel for arm in _arms(trial) for tank in arm}
    known = {tank: net_volume_l(vessel) for tank, vessel in vessels.items() if vessel is not None}
    if len(known) < len(vessels):
        return _unknown("volume", "net volume", margin * 100, "%", "Not every tank's water is described in the file.")
    means = _means(known, trial)
    shown = f"{means[0]:.3g} L and {means[1]:.3g} L by the trial file."
    return _account("volume", "net volume", _relative(means), margin * 100, "%", shown)


def _changes(trial: Trial, entries: Sequence[Entry], margin: float) -> CareItem:
    seen = observed_days(trial, entries)
    weeks = seen / 7
    name, unit = "water changed per week", "% of the water"
    if weeks <= 0:
        return _unknown("changes", name, margin * 100, unit, "Nothing has been recorded yet.")
    if weeks < 1:
        return _unknown("changes", name, margin * 100, unit, LESS_THAN_A_WEEK)
    done = by_tank([entry for entry in entries if isinstance(entry.payload, WaterChange)])
    share = {
        tank: 100 * math.fsum(one.share for one in changes_done(trial, done.get(tank, ()), tank, to_day=seen)) / weeks
        for arm in _arms(trial)
        for tank in arm
    }
    means = _means(share, trial)
    noted = {entry.tank for entry in entries if isinstance(entry.payload, WaterChange)}
    comment = f"{means[0]:.3g} % and {means[1]:.3g} % over {counted(seen, 'day')}."
    planned = [trial.tanks[tank].name for tank in share if tank not in noted]
    if planned:
        comment += f" None was noted for {', '.join(planned)}: taken as planned."
        return _unknown("changes", name, margin * 100, unit, comment)
    return _account("changes", name, means[1] - means[0], margin * 100, unit, comment)


def _trims(trial: Trial, entries: Sequence[Entry], margin: float) -> CareItem:
    weeks = observed_days(trial, entries) / 7
    days: dict[str, set[int]] = {tank: set() for arm in _arms(trial) for tank in arm}
    for entry in entries:
        if isinstance(entry.payload, Trim) and entry.tank in days:
            days[entry.tank].add(int(day_of(entry.at, trial)))
    name, unit = "days with a trim per week", "per week"
    if weeks <= 0 or not any(days.values()):
        return _unknown("trims", name, margin, unit, "No trim was noted; that may mean that none was done.")
    if weeks < 1:
        return _unknown("trims", name, margin, unit, LESS_THAN_A_WEEK)
    means = _means({tank: len(those) / weeks for tank, those in days.items()}, trial)
    return _account("trims", name, means[1] - means[0], margin, unit, f"{means[0]:.2g} and {means[1]:.2g}.")


def _gauged(trial: Trial, entries: Mapping[str | None, Sequence[Entry]], one: Gauged, margin: float) -> CareItem:
    tanks = [tank for arm in _arms(trial) for tank in arm]
    if one.key == "co2":
        read = {tank: co2_readings(trial, entries.get(tank, ()), tank) for tank in tanks}
    else:
        read = {tank: gauge_readings(trial, entries.get(tank, ()), tank, gauge=GAUGE_OF[one.key]) for tank in tanks}
    limit = 100 * margin if one.relative else margin
    without = [trial.tanks[tank].name for tank in tanks if not read[tank].series.day.size]
    if without:
        return _unknown(one.key, one.name, limit, one.unit, f"Not read in {', '.join(without)}.")
    level = float(np.mean(np.concatenate([read[tank].series.value for tank in tanks])))
    scale = 100 / level if one.relative and level > 0 else 1.0
    found = _difference(trial, read, one)
    doubt = scale * max(reading.half_range for reading in read.values())
    if isinstance(found, str):
        return _unknown(one.key, one.name, limit, one.unit, found)
    estimate, days, basis = found
    tested = two_one_sided_tests(estimate.times(scale), margin=limit)
    return _judged(one, tested, limit, days, basis, doubt)


def _difference(trial: Trial, read: Mapping[str, Readings], one: Gauged) -> tuple[Estimate, int, str] | str:
    """Return the difference of the arms, the days it rests on and in words on what; or what is missing."""
    first, second = ({tank: read[tank].series for tank in arm} for arm in _arms(trial))
    if min(len(first), len(second)) >= ENOUGH_TANKS:
        means = [[Estimate.exact(float(its.value.mean())) for its in arm.values()] for arm in (second, first)]
        days = min(its.day.size for arm in (first, second) for its in arm.values())
        return tanks_per_arm(*means), days, f"{len(first)} and {len(second)} tanks"
    arms = [mean_over(arm, name=one.name, by_day=True) for arm in (first, second)]
    both = paired(arms[1], arms[0])
    if both.day.size < FEWEST_POINTS:
        gap = f" The mean difference was {both.value.mean():+.3g}." if both.day.size else ""
        return f"Read in both arms on {counted(both.day.size, 'day')}; at least {FEWEST_POINTS} are needed.{gap}"
    if np.ptp(both.value) == 0:
        return Estimate.exact(float(both.value[0])), both.day.size, f"{both.day.size} days, always the same"
    thinned = _by_week(both) if both.day.size > MOST_DAYS else both
    return mean_levels(thinned, change_day=-math.inf).after, both.day.size, counted(both.day.size, "day")


def _by_week(series: Series) -> Series:
    week = np.floor(series.day / 7)
    _, first = np.unique(week, return_index=True)
    counts = np.diff([*first, week.size])
    day, value = (np.add.reduceat(part, first) / counts for part in (series.day, series.value))
    return Series(series.name, series.unit, series.kind, day, value)


def _judged(one: Gauged, tested: Equivalence, limit: float, days: int, basis: str, doubt: float) -> CareItem:
    verdict = _VERDICTS[tested.equality]
    comment = f"90 % interval {tested.low:+.2g} to {tested.high:+.2g} {one.unit}, from {basis}."
    if verdict == "holds" and doubt > limit:
        verdict = "cannot tell"
        comment += f" But each reading may be off by {doubt:.2g} {one.unit}, more than the margin: read it finer."
    elif verdict == "cannot tell":
        comment += " Neither equal nor unequal is shown: read both arms more often, on the same days."
    elif verdict == "fails":
        comment += " This differs besides the factor; say so beside every finding."
    row = CheckRow(one.name, tested.value, "within ±", limit, one.unit, verdict, comment, SOURCE)
    return CareItem(one.key, row, tested.low, tested.high, days)


def _account(key: str, name: str, value: float, limit: float, unit: str, comment: str) -> CareItem:
    equal = abs(value) <= limit * (1 + 1e-9)
    if not equal:
        comment += " This differs besides the factor; say so beside every finding."
    row = CheckRow(name, value, "within ±", limit, unit, "holds" if equal else "fails", comment, SOURCE)
    return CareItem(key, row)


def _unknown(key: str, name: str, limit: float, unit: str, comment: str) -> CareItem:
    return CareItem(key, CheckRow(name, None, "within ±", limit, unit, "cannot tell", comment, SOURCE))


def _means(values: Mapping[str, float], trial: Trial) -> tuple[float, float]:
    first, second = (math.fsum(values[tank] for tank in arm) / len(arm) for arm in _arms(trial))
    return first, second


def _relative(means: tuple[float, float]) -> float:
    """Return the second less the first in % of their mean."""
    return 200 * (means[1] - means[0]) / (means[0] + means[1])
