"""Questions answered by photos: growth, compactness, redness, algae."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from littoral.findings.beside import of_a_pair, of_pairs, of_tanks
from littoral.findings.camera import Camera, camera_of
from littoral.findings.compared import Compared
from littoral.findings.crossed import RISING, crossed
from littoral.findings.measured import Measured
from littoral.findings.model import ArmValue
from littoral.findings.parts import parts_of, where_algae_came
from littoral.findings.photo_remarks import in_pairs, photo_remarks, presumed_trims, without_presumed_trims
from littoral.findings.photo_series import Taken, places, taken
from littoral.findings.rules import TANKS_FOR_A_REGIME
from littoral.findings.tank_values import (
    GROWTH,
    TankSeries,
    difference,
    difference_of_pairs,
    tank_series,
    value_of,
)
from littoral.stats.regression import FEWEST_POINTS, TooFewPointsError
from littoral.stats.series import Series
from littoral.trial.days import day_of
from littoral.trial.entries import Entry, Trim
from littoral.trial.measures import MEASURES
from littoral.trial.model import Arm, Question, Trial
from littoral.trial.periods import periods_of

METHOD = {
    "height growth": "Slope of the logarithm of canopy height on days, with an offset at each trim",
    "cover growth": "Slope of the logarithm of cover on days, with an offset at each trim",
    "compactness": "Mean of cover divided by canopy height",
    "redness": "Mean of CIELAB a* of the leaves' mid-tones, camera corrected",
    "algae": "Mean share of stone, wood and glass that turned green since the first days",
}

PAIRED_METHOD = " Each pair gives one difference; paired t-test over them."
CROSSOVER_METHOD = (
    "in each period after its washout. Within each pair the tanks' difference is set against which of them had which "
    "regime: days are no replicates, periods are (t on periods − 2, and one fewer for a trend where the order ran in "
    "blocks; Jones & Kenward 2014). From three pairs on the pairs are (t on pairs − 1)."
)
RISE = (
    "In a crossover the rise within the {days} measured days of a period is compared, not the level: what grew in an "
    "earlier period is still there."
)


def compare_photos(trial: Trial, measured: Measured, entries: Sequence[Entry], question: Question) -> Compared:
    """Compare the first two arms on a measure taken from photos; where that cannot be done, `missing` says why."""
    unit = MEASURES[question.measure].unit
    found = {
        tank: [taken(trial, measured, question.measure, place) for place in places(trial, question, tank)]
        for arm in trial.arms[:2]
        for tank in arm.tanks
    }
    missing = what_is_missing(trial, question, found)
    if missing:
        return Compared(question, unit, missing=missing)
    arms: list[list[TankSeries]] = []
    for arm in trial.arms[:2]:
        tanks: list[TankSeries] = []
        for tank in arm.tanks:
            members = found[tank]
            recorded = {member.place.region: trim_days(trial, entries, tank, member.place.region) for member in members}
            one = tank_series(question.measure, members, recorded, name=trial.tanks[tank].name)
            missing = _seldom_together(one)
            if missing:
                return Compared(question, unit, missing=missing)
            tanks.append(one)
        arms.append(tanks)
    try:
        return _compared(trial, measured, entries, question, arms)
    except TooFewPointsError as error:
        return Compared(question, unit, series=_series(arms), missing=str(error))


def _compared(
    trial: Trial, measured: Measured, entries: Sequence[Entry], question: Question, arms: list[list[TankSeries]]
) -> Compared:
    if trial.plan.kind == "crossover":
        return _of_a_crossover(trial, measured, entries, question, arms)
    measure, change_day = question.measure, trial.baseline_days
    pairs = in_pairs(trial, arms)
    block_of = {tank: name for name, tanks in trial.plan.blocks for tank in tanks}
    alone = pairs[0] if len(pairs) == 1 else (arms[0][0], arms[1][0]) if len(arms[0]) == len(arms[1]) == 1 else None
    if pairs:
        value, per_arm = difference_of_pairs(measure, pairs, change_day=change_day), len(pairs)
        beside = of_pairs(value.units[0])
    else:
        value, per_arm = difference(measure, arms[1], arms[0], change_day=change_day, block_of=block_of)
        blocks = [block_of[tank.tank] for tank in (*arms[1], *arms[0])] if block_of else None
        beside = of_tanks(value.units[0], value.units[1], blocks) if value.units else ()
    step = None
    if measure == "algae":  # counted from the first days on, so there is no baseline to it
        value = replace(value, before=None, change=None)
    elif alone is not None and value.change is not None:
        further = of_a_pair(trial, measure, alone[1], alone[0])
        step, beside = further.step, further.tests
    tanks = [tank for arm in arms for tank in arm]
    photos = {photo.entry_id: photo.day for tank in tanks for member in tank.used for photo in member.photos}
    camera = camera_of(trial, measure, tanks)
    return Compared(
        question=question,
        unit=MEASURES[measure].unit,
        arms=tuple(
            _arm_value(trial, arm, tank, measure, camera)
            for arm, of_arm in zip(trial.arms, arms, strict=False)
            for tank in of_arm
        ),
        effect=camera.of_difference(value.after),
        before=None if value.before is None else camera.of_difference(value.before),
        change=value.change,
        step=step,
        beside=beside,
        blocks=len(trial.plan.blocks) if per_arm >= TANKS_FOR_A_REGIME else 0,
        tanks_per_arm=per_arm,
        paired=len(pairs) > 1,
        camera_term=camera.least,
        absolute=camera.absolute,
        days=tuple(sorted({float(np.floor(day)) for day in photos.values()})),
        photos=tuple(sorted(photos, key=lambda entry_id: (photos[entry_id], entry_id))),
        entries=trim_entries(entries, tanks) if measure in GROWTH else (),
        series=_series(arms),
        tanks=tuple(tuple(arm) for arm in arms),
        parts=parts_of(trial, measure, arms, camera),
        disturbed=presumed_trims(trial, tanks),
        remarks=(*photo_remarks(trial, measured, tanks), *without_presumed_trims(trial, question, arms)),
        method=_method(measure) + (PAIRED_METHOD if len(pairs) >= TANKS_FOR_A_REGIME else ""),
        detail=where_algae_came(trial, arms, camera) if measure == "algae" else "",
    )


def _of_a_crossover(
    trial: Trial, measured: Measured, entries: Sequence[Entry], question: Question, arms: list[list[TankSeries]]
) -> Compared:
    """Compare the regimes within each pair of tanks, period by period (`findings.crossed`).

    What two cameras see differently all the time cancels when the regimes are swapped, but not what each makes of the
    scene: so the measure's own doubt, and the card it needs, stay as they are for tanks side by side.
    """
    measure, unit = question.measure, MEASURES[question.measure].unit
    pairs = in_pairs(trial, arms)
    found = crossed(trial, measure, pairs)
    if isinstance(found, str):
        return Compared(question, unit, series=_series(arms), missing=found)
    tanks = [tank for arm in arms for tank in arm]
    periods = periods_of(trial)
    photos = {
        photo.entry_id: photo.day
        for tank in tanks
        for member in tank.used
        for photo in member.photos
        if any(period.measured_from <= photo.day < period.to_day for period in periods)
    }
    camera = camera_of(trial, measure, tanks)
    return Compared(
        question=question,
        unit=unit,
        arms=found.arms,
        effect=camera.of_difference(found.effect),
        tanks_per_arm=found.pairs,
        camera_term=camera.least,
        absolute=camera.absolute,
        days=tuple(sorted({float(np.floor(day)) for day in photos.values()})),
        photos=tuple(sorted(photos, key=lambda entry_id: (photos[entry_id], entry_id))),
        entries=trim_entries(entries, tanks) if measure in GROWTH else (),
        series=_series(arms),
        tanks=tuple(tuple(arm) for arm in arms),
        paired=found.pairs > 1,
        swaps=found.swaps,
        beside=found.beside,
        disturbed=presumed_trims(trial, tanks),
        remarks=(*found.remarks, *photo_remarks(trial, measured, tanks)),
        method=f"{METHOD[measure]}, {CROSSOVER_METHOD}",
        detail=RISE.format(days=f"{found.measured_days:g}") if measure in RISING else "",
    )


def what_is_missing(trial: Trial, question: Question, found: Mapping[str, Sequence[Taken]], *, value: str = "") -> str:
    """Return what is missing to answer at all, naming every tank that lacks it, or nothing.

    `value` is what photos give (such as "canopy height"), the measure itself unless given.
    """
    lacking: dict[str, list[str]] = {}
    for tank, members in found.items():
        if why := _missing(question, members, value or MEASURES[question.measure].name):
            lacking.setdefault(why, []).append(trial.tanks[tank].name)
    return "; ".join(f"{' and '.join(names)}: {why}" for why, names in lacking.items())


def _missing(question: Question, members: Sequence[Taken], value: str) -> str:
    """Return what is missing in one tank to answer at all, or nothing."""
    kinds = " or ".join(MEASURES[question.measure].of)
    if not members:
        return f"no {kinds} of this question is drawn on a view"
    if any(member.series.day.size for member in members):
        return ""
    if any(member.unusable for member in members):
        if question.measure == "compactness":
            return "no width in cm was given with the view, so there is no height in cm"
        return f"no photo gave a {value}"
    return "no photo was measured"


def _seldom_together(tank: TankSeries) -> str:
    """Return that a tank's stands have too few days in common to answer at all, or nothing."""
    days = tank.series.day.size
    if days >= FEWEST_POINTS or min(member.series.day.size for member in tank.used) < FEWEST_POINTS:
        return ""  # where one stand's own values are too few, the message about them says more
    names = " and ".join(member.place.name for member in tank.used)
    counted = "on 1 day" if days == 1 else f"on {days} days" if days else "on no day"
    return f"{tank.series.name}: {names} were photographed together {counted}, at least {FEWEST_POINTS} are needed"


def _arm_value(trial: Trial, arm: Arm, tank: TankSeries, measure: str, camera: Camera) -> ArmValue:
    value = value_of(measure, tank.series, tank.trims, change_day=trial.baseline_days)
    low, high = camera.of_tank(value.after).interval()
    return ArmValue(arm.key, tank.tank, value.after.value, low, high, value.days)


def trim_days(trial: Trial, entries: Sequence[Entry], tank: str, region: str) -> tuple[float, ...]:
    """Return the days of the trims written down for a stand of a tank, or for the whole tank."""
    return tuple(
        day_of(entry.at, trial)
        for entry in entries
        if isinstance(entry.payload, Trim) and entry.tank == tank and entry.payload.stand in (None, region)
    )


def trim_entries(entries: Sequence[Entry], tanks: Sequence[TankSeries]) -> tuple[str, ...]:
    """Return the ids of the trims written down for the stands of some tanks, or for the whole tanks."""
    asked: set[tuple[str | None, str | None]] = {(tank.tank, None) for tank in tanks}
    asked |= {(tank.tank, member.place.region) for tank in tanks for member in tank.used}
    return tuple(
        entry.id for entry in entries if isinstance(entry.payload, Trim) and (entry.tank, entry.payload.stand) in asked
    )


def _series(arms: Sequence[Sequence[TankSeries]]) -> dict[str, Series]:
    """Return each tank's series, and each of its regions' where there are several."""
    found: dict[str, Series] = {}
    for tank in (tank for arm in arms for tank in arm):
        found[tank.tank] = tank.series
        for member in tank.used:
            found[f"{tank.tank}/{member.place.region}"] = member.series
    return found


def _method(measure: str) -> str:
    if measure in GROWTH:
        return (
            f"{METHOD[measure]}; several stands count as one geometric mean of their tank, for stands in one tank are "
            "not replicates. The interval averages over white, autocorrelated and random-walk errors, for days of one "
            "series are not replicates either."
        )
    return (
        f"{METHOD[measure]} after the regimes began, with a straight trend; several places count as one mean of their "
        "tank. The interval averages over white and autocorrelated errors, for days of one series are not replicates."
    )
