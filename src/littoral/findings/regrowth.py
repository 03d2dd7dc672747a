"""How long stands take to be as high again as before a trim, from photos; each trim is one time of its tank."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from littoral.findings.compared import Compared
from littoral.findings.from_photos import trim_days, trim_entries, what_is_missing
from littoral.findings.measured import Measured
from littoral.findings.model import ArmValue, Part
from littoral.findings.photo_remarks import photo_remarks, presumed_trims
from littoral.findings.photo_series import Taken, places, taken
from littoral.findings.tank_values import TankSeries, tank_series
from littoral.findings.waiting import Times, Words, dealt_within, described, median_of
from littoral.quantities.counting import counted
from littoral.stats.regrowth import Regrowth, regrowths
from littoral.trial.days import day_of
from littoral.trial.entries import Entry
from littoral.trial.measures import MEASURES
from littoral.trial.model import Question, Trial

SIZE = "height growth"
METHOD = (
    "Days from each trim since the regimes began until a straight line between photos reaches the canopy height of the "
    "last photo before it. What was trimmed again first, or had not come back at the last photo, counts as not back so "
    "long. Trims that took less than 14 % of the height are left out. Median: Kaplan & Meier."
)
TANKS_METHOD = (
    " Log-rank test in which each tank keeps its trims together, by every dealing of the tanks to the arms{within}: "
    "several trims of one tank are no more tanks."
)
SWAPPED = (
    "in a crossover stands grow back across the swaps; ask about `height growth`, which is compared within each period"
)
NO_TRIM = "no trim since the regimes began that took 14 % of the canopy height or more"


@dataclass(frozen=True, slots=True, eq=False)
class _Tank:
    tank: TankSeries
    of_stand: tuple[tuple[Taken, tuple[Regrowth, ...]], ...]
    small: int

    @property
    def times(self) -> Times:
        all_of = [one for _, some in self.of_stand for one in some]
        return Times(self.tank.tank, tuple(one.days for one in all_of), tuple(one.back for one in all_of))


def compare_regrowth(trial: Trial, measured: Measured, entries: Sequence[Entry], question: Question) -> Compared:
    """Compare the first two arms by how long stands took to grow back; `missing` says why where that cannot be done."""
    unit = MEASURES[question.measure].unit
    if trial.plan.kind == "crossover":
        return Compared(question, unit, missing=SWAPPED)
    found = {
        tank: [taken(trial, measured, SIZE, place) for place in places(trial, question, tank)]
        for arm in trial.arms[:2]
        for tank in arm.tanks
    }
    if missing := what_is_missing(trial, question, found, value="canopy height"):
        return Compared(question, unit, missing=missing)
    every = [[_tank(trial, entries, found[tank]) for tank in arm.tanks] for arm in trial.arms[:2]]
    arms = [[one for one in arm if one.times.days] for arm in every]
    series = {
        f"{one.tank.tank}/{member.place.region}": member.series
        for arm in every
        for one in arm
        for member in one.tank.used
    }
    without = [trial.tanks[one.tank.tank].name for arm in every for one in arm if not one.times.days]
    if not all(arms):
        return Compared(question, unit, series=series, missing=f"{' and '.join(without)}: {NO_TRIM}")
    words = Words(
        measured="Canopy as high again as before the trim",
        of="trims",
        longer="longer",
        shorter="sooner",
        neither="no stand had grown back in either arm",
    )
    said = {one.tank.tank: _said(one.times) for arm in arms for one in arm}
    compared, per_arm = described(trial, question.measure, [[one.times for one in arm] for arm in arms], words, said)
    tanks = [one.tank for arm in arms for one in arm]
    photos = {photo.entry_id: photo.day for tank in tanks for member in tank.used for photo in member.photos}
    return Compared(
        question=question,
        unit=unit,
        arms=tuple(
            _value(arm.key, one, said[one.tank.tank])
            for arm, of_arm in zip(trial.arms, arms, strict=False)
            for one in of_arm
        ),
        tanks_per_arm=per_arm,
        days=tuple(sorted({float(np.floor(day)) for day in photos.values()})),
        photos=tuple(sorted(photos, key=lambda entry_id: (photos[entry_id], entry_id))),
        entries=tuple(
            entry.id
            for entry in entries
            if entry.id in trim_entries(entries, tanks) and day_of(entry.at, trial) >= trial.baseline_days
        ),
        series=series,
        parts=_parts(trial, arms),
        paired=trial.plan.kind == "pairs" and per_arm > 1,
        disturbed=presumed_trims(trial, tanks),
        remarks=(
            *photo_remarks(trial, measured, tanks),
            *(f"{name}: {NO_TRIM}; left out" for name in without),
            *(
                f"{trial.tanks[one.tank.tank].name}: left out, for less than 14 % of the height was taken: "
                f"{counted(range(one.small), 'trim')}"
                for arm in arms for one in arm if one.small
            ),
        ),
        method=METHOD + ("" if compared.tested is None else TANKS_METHOD.format(within=dealt_within(trial))),
        described=compared,
    )  # fmt: skip


def _tank(trial: Trial, entries: Sequence[Entry], members: Sequence[Taken]) -> _Tank:
    key = members[0].place.tank
    recorded = {one.place.region: trim_days(trial, entries, key, one.place.region) for one in members}
    tank = tank_series(SIZE, members, recorded, name=trial.tanks[key].name)
    rows, small = [], 0
    for member in tank.used:
        presumed = [(step.before_day + step.after_day) / 2 for of, step in tank.steps if of is member]
        days = [*recorded[member.place.region], *presumed]
        found, few = regrowths(member.series, days, from_day=trial.baseline_days)
        rows.append((member, found))
        small += len(few)
    return _Tank(tank, tuple(rows), small)


def _value(arm: str, one: _Tank, text: str) -> ArmValue:
    median = median_of([one.times])
    photos = max(member.series.day.size for member in one.tank.used)
    return ArmValue(arm, one.tank.tank, math.nan if median is None else median, None, None, photos, text)


def _said(times: Times) -> str:
    """Return what came of a tank's trims: "12.3 days (4 trims, all back)"."""
    total, back = len(times.days), sum(times.came)
    if total == 1:
        return f"after {times.days[0]:.1f} days (1 trim)" if back else f"not {times.days[0]:.1f} days after the 1 trim"
    if not back:
        return f"after none of {total} trims (watched up to {max(times.days):.1f} days)"
    median = median_of([times])
    middle = "half not back yet" if median is None else f"half after {median:.1f} days"
    return f"{middle} ({total} trims, {'all' if back == total else back} back)"


def _parts(trial: Trial, arms: Sequence[Sequence[_Tank]]) -> tuple[Part, ...]:
    rows: dict[str, tuple[str, list[ArmValue]]] = {}
    for arm, of_arm in zip(trial.arms, arms, strict=False):
        for one in of_arm:
            for member, some in one.of_stand:
                if not some:
                    continue
                times = Times(one.tank.tank, tuple(r.days for r in some), tuple(r.back for r in some))
                median = median_of([times])
                value = ArmValue(
                    arm.key, one.tank.tank, math.nan if median is None else median, None, None,
                    member.series.day.size, "; ".join(_trim_said(r) for r in some),
                )  # fmt: skip
                rows.setdefault(member.place.region, (member.place.name, []))[1].append(value)
    return tuple(
        Part(
            region,
            name,
            tuple(values),
            f"{name}: {'. '.join(f'{trial.tanks[value.tank].name}: {value.text}' for value in values)}",
        )
        for region, (name, values) in rows.items()
    )


def _trim_said(one: Regrowth) -> str:
    day = f"trim of day {int(one.trim_day)}"
    return f"{day} {f'back after {one.days:.1f} days' if one.back else f'not back in {one.days:.1f} days'}"
