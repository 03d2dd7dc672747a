"""Questions answered by photos: growth, compactness, redness, algae."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from littoral.findings.compared import Compared
from littoral.findings.measured import Measured
from littoral.findings.model import ArmValue
from littoral.findings.parts import parts_of, where_algae_came
from littoral.findings.photo_series import Taken, places, taken
from littoral.findings.tank_values import GROWTH, TankSeries, difference, tank_series, value_of
from littoral.stats.estimate import Estimate
from littoral.stats.regression import TooFewPointsError
from littoral.stats.series import Series
from littoral.trial.days import day_of
from littoral.trial.entries import Entry, Trim
from littoral.trial.measures import MEASURES
from littoral.trial.model import Arm, Question, Trial

# The method study on rendered photos with known truth: no difference in a* below 1.5 is claimed between two tanks
# photographed apart, and 0.2 to 0.5 never averages out; both tanks in one frame share the camera. Algae cover is off by
# 4.6 points on average.
LEAST_REDNESS_APART, LEAST_REDNESS_ONE_FRAME = 1.5, 0.5
SYSTEMATIC_REDNESS_APART, SYSTEMATIC_REDNESS_ONE_FRAME = 0.5, 0.2
LEAST_ALGAE_POINTS = 4.6

METHOD = {
    "height growth": "Slope of the logarithm of canopy height on days, with an offset at each trim",
    "cover growth": "Slope of the logarithm of cover on days, with an offset at each trim",
    "compactness": "Mean of cover divided by canopy height",
    "redness": "Mean of CIELAB a* of the leaves' mid-tones, camera corrected",
    "algae": "Mean share of stone, wood and glass that turned green since the first days",
}


def compare_photos(trial: Trial, measured: Measured, entries: Sequence[Entry], question: Question) -> Compared:
    """Compare the first two arms on a measure taken from photos; where that cannot be done, `missing` says why."""
    unit = MEASURES[question.measure].unit
    arms: list[list[TankSeries]] = []
    for arm in trial.arms[:2]:
        tanks: list[TankSeries] = []
        for tank in arm.tanks:
            members = [taken(trial, measured, question.measure, place) for place in places(trial, question, tank)]
            missing = _missing(trial, question, tank, members)
            if missing:
                return Compared(question, unit, missing=missing)
            recorded = {
                member.place.region: _trim_days(trial, entries, tank, member.place.region) for member in members
            }
            tanks.append(tank_series(question.measure, members, recorded, name=trial.tanks[tank].name))
        arms.append(tanks)
    try:
        return _compared(trial, measured, entries, question, arms)
    except TooFewPointsError as error:
        return Compared(question, unit, series=_series(arms), missing=str(error))


def _compared(
    trial: Trial, measured: Measured, entries: Sequence[Entry], question: Question, arms: list[list[TankSeries]]
) -> Compared:
    measure, change_day = question.measure, trial.baseline_days
    value, per_arm = difference(measure, arms[1], arms[0], change_day=change_day)
    if measure == "algae":  # counted from the first days on, so there is no baseline to it
        value = replace(value, before=None, change=None)
    tanks = [tank for arm in arms for tank in arm]
    photos = {photo.entry_id: photo.day for tank in tanks for member in tank.used for photo in member.photos}
    systematic, least, absolute = _camera(trial, measure, tanks)
    shaken = Estimate.normal(0.0, spread=systematic)
    return Compared(
        question=question,
        unit=MEASURES[measure].unit,
        arms=tuple(
            _arm_value(trial, arm, tank, measure)
            for arm, of_arm in zip(trial.arms, arms, strict=False)
            for tank in of_arm
        ),
        effect=value.after.plus(shaken),
        before=None if value.before is None else value.before.plus(shaken),
        change=value.change,
        tanks_per_arm=per_arm,
        camera_term=least,
        absolute=absolute,
        days=tuple(sorted({float(np.floor(day)) for day in photos.values()})),
        photos=tuple(sorted(photos, key=lambda entry_id: (photos[entry_id], entry_id))),
        entries=_trim_entries(entries, tanks) if measure in GROWTH else (),
        series=_series(arms),
        parts=parts_of(trial, measure, arms),
        remarks=_remarks(trial, measured, tanks),
        method=_method(measure),
        detail=where_algae_came(trial, arms) if measure == "algae" else "",
    )


def _missing(trial: Trial, question: Question, tank: str, members: Sequence[Taken]) -> str:
    """Return what is missing in a tank to answer at all, or nothing."""
    name = trial.tanks[tank].name
    kinds = " or ".join(MEASURES[question.measure].of)
    if not members:
        return f"{name}: no {kinds} of this question is drawn on a view"
    if any(member.series.day.size for member in members):
        return ""
    if any(member.unusable for member in members):
        if question.measure == "compactness":
            return f"{name}: its view has no width in cm, so there is no height in cm"
        return f"{name}: no photo gave a {MEASURES[question.measure].name}"
    return f"{name}: no photo was measured"


def _arm_value(trial: Trial, arm: Arm, tank: TankSeries, measure: str) -> ArmValue:
    value = value_of(measure, tank.series, tank.trims, change_day=trial.baseline_days)
    low, high = value.after.interval()
    return ArmValue(arm.key, tank.tank, value.after.value, low, high, value.days)


def _camera(trial: Trial, measure: str, tanks: Sequence[TankSeries]) -> tuple[float, float | None, bool]:
    """Return the systematic error (SD), the least difference claimed, and whether absolute values may be compared."""
    if measure == "algae":
        return 0.0, LEAST_ALGAE_POINTS, True
    if measure != "redness":
        return 0.0, None, True
    keys = {tank.tank for tank in tanks}
    seen = {photo.view for tank in tanks for member in tank.used for photo in member.photos}
    panes = [pane for view in seen for pane in trial.views[view].panes if pane.tank in keys]
    # light falls differently on two places of one frame, so there, too, each tank needs its own card
    cards = all(any(region.kind == "card" for region in pane.regions) for pane in panes)
    if len(seen) == 1:
        return SYSTEMATIC_REDNESS_ONE_FRAME, LEAST_REDNESS_ONE_FRAME, cards
    errors = [error for tank in tanks for member in tank.used for error in member.errors]
    typical = float(np.median(errors)) if errors else 0.0
    return SYSTEMATIC_REDNESS_APART, max(LEAST_REDNESS_APART, typical), cards


def _trim_days(trial: Trial, entries: Sequence[Entry], tank: str, region: str) -> tuple[float, ...]:
    return tuple(
        day_of(entry.at, trial)
        for entry in entries
        if isinstance(entry.payload, Trim) and entry.tank == tank and entry.payload.stand in (None, region)
    )


def _trim_entries(entries: Sequence[Entry], tanks: Sequence[TankSeries]) -> tuple[str, ...]:
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


def _remarks(trial: Trial, measured: Measured, tanks: Sequence[TankSeries]) -> tuple[str, ...]:
    views = {photo.view for tank in tanks for member in tank.used for photo in member.photos}
    remarks: list[str] = []
    aside = [photo for photo in measured.photos if photo.excluded and photo.view in views]
    if aside:
        reasons = Counter(photo.excluded for photo in aside)
        counted = "1 photo was" if len(aside) == 1 else f"{len(aside)} photos were"
        said = [why if len(reasons) == 1 else f"{why} ({count})" for why, count in reasons.items()]
        remarks.append(f"{counted} set aside: {'; '.join(said)}")
    for tank in tanks:
        name = trial.tanks[tank.tank].name
        for member, step in tank.steps:
            remarks.append(
                f"{member.place.name}, {name}: between days {step.before_day:.1f} and {step.after_day:.1f} its size "
                f"fell to {100 * step.left:.0f} % and no trim was written down. Was it one? It was taken for one."
            )
        remarks += [
            f"{member.place.name}, {name}: measured on too few photos, left out of the tank's mean."
            for member in tank.left_out
        ]
        unusable = sum(member.unusable for member in tank.used)
        if unusable:
            remarks.append(f"{name}: {unusable} values could not be measured or were 0 and are left out.")
    return tuple(remarks)
