"""When algae came: the first day from which they stay at a threshold, in the place of each tank that had them first."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from littoral.findings.camera import ALGAE
from littoral.findings.compared import Compared
from littoral.findings.from_photos import what_is_missing
from littoral.findings.measured import Measured
from littoral.findings.model import ArmValue, Part
from littoral.findings.parts import ALGAE_ONSET_POINTS
from littoral.findings.photo_remarks import photo_remarks
from littoral.findings.photo_series import Taken, places, taken
from littoral.findings.showing import named, sentence
from littoral.findings.tank_values import TankSeries, tank_series
from littoral.findings.waiting import Times, Words, dealt_within, described
from littoral.stats.onset import IN_A_ROW, free_until, onset_day
from littoral.stats.series import Series
from littoral.trial.measures import MEASURES
from littoral.trial.model import Question, Trial

METHOD = (
    "First day from which {in_a_row} photos in a row show algae on at least {points:g} % of a place; a tank counts "
    "from the place that had them first. A tank without them is counted as free of them until its last photo."
)
TANKS_METHOD = " Log-rank test with one day for each tank, by every dealing of the tanks to the arms{within}{until}."
UNTIL = ", all of them looked at until the last day of the one that was photographed least long: day {until}"
SWAPPED = (
    "in a crossover what grew under the former regime is still there; ask about `algae`, whose rise within each period "
    "is compared"
)
WATCHED_APART_DAYS = 1.5
"""Photos further apart than this leave a gap in which algae may have come, and tanks watched so unequally are named."""


@dataclass(frozen=True, slots=True, eq=False)
class _Seen:
    """One tank: its day of onset (None: not yet), until when it is known to be free, and where they came first."""

    tank: TankSeries
    onset: float | None
    free_until: float
    place: str
    since: float | None


def compare_onset(trial: Trial, measured: Measured, question: Question) -> Compared:
    """Compare the first two arms by the day on which algae came; where that cannot be done, `missing` says why."""
    unit = MEASURES[question.measure].unit
    if trial.plan.kind == "crossover":
        return Compared(question, unit, missing=SWAPPED)
    found = {
        tank: [taken(trial, measured, "algae", place) for place in places(trial, question, tank)]
        for arm in trial.arms[:2]
        for tank in arm.tanks
    }
    if missing := what_is_missing(trial, question, found, value="share of algae"):
        return Compared(question, unit, missing=missing)
    if few := _too_few(trial, found):
        return Compared(question, unit, missing=few)
    points = ALGAE_ONSET_POINTS if question.threshold_points is None else question.threshold_points
    arms = [[_seen(trial, found[tank], points) for tank in arm.tanks] for arm in trial.arms[:2]]
    series = {
        key: one
        for arm in arms
        for seen in arm
        for key, one in ((f"{seen.tank.tank}/{member.place.region}", member.series) for member in seen.tank.used)
    }
    fresh, before = _since_the_regimes(trial, arms)
    if not all(fresh):
        return Compared(question, unit, series=series, missing="; ".join(before))
    times = [[Times(one.tank.tank, (_day(one),), (one.onset is not None,)) for one in arm] for arm in fresh]
    said = {one.tank.tank: _said(one) for arm in fresh for one in arm}
    words = Words(
        measured=f"Algae on {points:g} % or more of a place",
        of="tanks",
        longer="later",
        shorter="earlier",
        neither="algae had not come in any of these tanks",
    )
    until, longest = map(int, _ends(fresh))
    cut = [[_times_until(one, points, before_day=until + 1) for one in arm] for arm in fresh]
    one, per_arm = described(trial, question.measure, times, words, said, watched_alike=cut)
    tanks = [seen.tank for arm in fresh for seen in arm]
    photos = {photo.entry_id: photo.day for tank in tanks for member in tank.used for photo in member.photos}
    return Compared(
        question=question,
        unit=unit,
        arms=tuple(
            ArmValue(
                arm.key, seen.tank.tank, math.nan if seen.onset is None else seen.onset, None, None,
                max(member.series.day.size for member in seen.tank.used), said[seen.tank.tank],
            )
            for arm, of_arm in zip(trial.arms, fresh, strict=False)
            for seen in of_arm
        ),
        tanks_per_arm=per_arm,
        days=tuple(sorted({float(np.floor(day)) for day in photos.values()})),
        photos=tuple(sorted(photos, key=lambda entry_id: (photos[entry_id], entry_id))),
        series=series,
        parts=_parts(trial, fresh, points),
        paired=trial.plan.kind == "pairs" and per_arm > 1,
        remarks=(
            *photo_remarks(trial, measured, tanks), *before,
            *_unequally(trial, fresh, tested=one.tested is not None),
        ),
        method=METHOD.format(in_a_row=IN_A_ROW, points=points)
        + ("" if one.tested is None else _tanks_method(trial, until, longest)),
        detail=_detail(trial, fresh, points),
        described=one,
    )  # fmt: skip


def _tanks_method(trial: Trial, until: int, longest: int) -> str:
    cut = UNTIL.format(until=until) if until < longest else ""
    return TANKS_METHOD.format(within=dealt_within(trial), until=cut)


def _too_few(trial: Trial, found: Mapping[str, Sequence[Taken]]) -> str:
    """Return which tanks have fewer photos than it takes to see that algae stay: they can be told neither way."""
    short = [
        trial.tanks[tank].name
        for tank, members in found.items()
        if max(member.series.day.size for member in members) < IN_A_ROW
    ]
    return f"{' and '.join(short)}: at least {IN_A_ROW} photos are needed to see that algae stay" if short else ""


def _seen(trial: Trial, members: Sequence[Taken], points: float) -> _Seen:
    tank = tank_series("algae", members, {}, name=trial.tanks[members[0].place.tank].name)
    onsets = [(day, member) for member in tank.used if (day := onset_day(member.series, threshold=points)) is not None]
    free = min(until for one in tank.used if (until := free_until(one.series, threshold=points)) is not None)
    if not onsets:
        return _Seen(tank, None, free, "", None)
    first, member = min(onsets, key=lambda one: one[0])
    earlier = member.series.day[member.series.day < first]
    return _Seen(tank, first, first, member.place.name, float(earlier[-1]) if earlier.size else None)


def _since_the_regimes(trial: Trial, arms: Sequence[Sequence[_Seen]]) -> tuple[list[list[_Seen]], tuple[str, ...]]:
    """Return the tanks that were free of algae when the regimes began, and of the others why they are left out."""
    fresh: list[list[_Seen]] = []
    left_out: list[str] = []
    for arm in arms:
        kept = []
        for one in arm:
            name = trial.tanks[one.tank.tank].name
            if one.onset is not None and one.onset < trial.baseline_days:
                left_out.append(f"{name}: algae had come on day {int(one.onset)}, before the regimes began")
            elif one.onset is None and one.free_until < trial.baseline_days:
                left_out.append(f"{name}: no photo since the regimes began")
            else:
                kept.append(one)
        fresh.append(kept)
    return fresh, tuple(left_out)


def _day(seen: _Seen) -> float:
    return seen.free_until if seen.onset is None else seen.onset


def _said(seen: _Seen) -> str:
    if seen.onset is None:
        return f"not by day {int(seen.free_until)}"
    if seen.since is not None and seen.onset - seen.since > WATCHED_APART_DAYS:
        return f"between day {int(seen.since)} and day {int(seen.onset)}"
    return f"from day {int(seen.onset)}"


def _ends(arms: Sequence[Sequence[_Seen]]) -> tuple[float, float]:
    """Return the last day of the tank that was photographed least long, and of the one photographed longest."""
    ends = [float(max(member.series.day[-1] for member in one.tank.used)) for arm in arms for one in arm]
    return min(ends), max(ends)


def _times_until(seen: _Seen, points: float, *, before_day: int) -> Times:
    """Return what would be told of a tank by its photos before a day: that algae stay must be seen by then, too.

    A tank whose photos begin later tells nothing: it was watched until day 0.
    """
    cut = []
    for one in seen.tank.used:
        within = one.series.day < before_day
        cut.append(replace(one.series, day=one.series.day[within], value=one.series.value[within], error=None))
    onsets = [day for one in cut if (day := onset_day(one, threshold=points)) is not None]
    free = [until for one in cut if (until := free_until(one, threshold=points)) is not None]
    return Times(seen.tank.tank, (min(onsets or free or [0.0]),), (bool(onsets),))


def _unequally(trial: Trial, arms: Sequence[Sequence[_Seen]], *, tested: bool) -> tuple[str, ...]:
    shortest, longest = _ends(arms)
    if longest - shortest <= WATCHED_APART_DAYS:
        return ()
    said = f"The tanks were not photographed equally long (until day {int(shortest)} to day {int(longest)})"
    if tested:
        said = f"{said}: the test looks at all of them until day {int(shortest)} only"
    else:
        said = f"{said}: it is taken that this has nothing to do with the {trial.factor}"
    return (f"{said}.",)


def _detail(trial: Trial, arms: Sequence[Sequence[_Seen]], points: float) -> str:
    """Return where they came first, and how far the day hangs on what photos may get wrong."""
    sentences = []
    for arm, one in ((arm, one) for arm, of in reversed(list(zip(trial.arms, arms, strict=False))) for one in of):
        name = sentence(named(trial.tanks[one.tank.tank].name, arm.name))
        first = f"first on {one.place}" if one.place else "not come"
        early, late = (_at(one.tank, points + off) for off in (-ALGAE.place, ALGAE.place))
        if points <= ALGAE.place or early == late:
            sentences += [f"{name}: {first}."] if len(one.tank.used) > 1 and one.place else []
            continue
        sentences.append(f"{name}: {first}; {early} if photos show {ALGAE.place:g} points too few, {late} if too many.")
    few = (
        f" A threshold of {points:g} % is below what photos tell (a place is usually off by {ALGAE.place:g} points)."
        if points <= ALGAE.place
        else ""
    )
    return " ".join(sentences) + few


def _at(tank: TankSeries, points: float) -> str:
    days = [day for one in tank.used if (day := onset_day(one.series, threshold=points)) is not None]
    return f"day {int(min(days))}" if days else "not yet"


def _parts(trial: Trial, arms: Sequence[Sequence[_Seen]], points: float) -> tuple[Part, ...]:
    rows: dict[str, tuple[str, list[ArmValue]]] = {}
    for arm, of_arm in zip(trial.arms, arms, strict=False):
        for one in of_arm:
            for member in one.tank.used:
                series: Series = member.series
                day = onset_day(series, threshold=points)
                free = free_until(series, threshold=points)
                text = f"not by day {int(free or 0)}" if day is None else f"from day {int(day)}"
                value = ArmValue(
                    arm.key, one.tank.tank, math.nan if day is None else day, None, None, series.day.size, text
                )
                rows.setdefault(member.place.region, (member.place.name, []))[1].append(value)
    return tuple(
        Part(
            region,
            name,
            tuple(values),
            f"{name}: {'; '.join(f'{trial.tanks[value.tank].name} {value.text}' for value in values)}",
        )
        for region, (name, values) in rows.items()
    )
