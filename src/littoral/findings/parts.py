"""Each stand or region of a question by itself: described, never claimed."""

from __future__ import annotations

from collections.abc import Sequence

from littoral.findings.camera import Camera
from littoral.findings.model import ArmValue, Part
from littoral.findings.photo_series import Taken
from littoral.findings.showing import sentence, shown
from littoral.findings.tank_values import TankSeries, value_of
from littoral.stats.onset import onset_day
from littoral.stats.regression import TooFewPointsError
from littoral.trial.model import Trial

ALGAE_ONSET_POINTS = 5.0
"""Algae count as come once they stay above this share of a region (points): just over the error of the measure."""


def parts_of(trial: Trial, measure: str, arms: Sequence[Sequence[TankSeries]], camera: Camera) -> tuple[Part, ...]:
    """Return each region of a question with its value in every tank, with 95 % intervals, and a sentence about it."""
    regions = dict.fromkeys(member.place.region for arm in arms for tank in arm for member in tank.used)
    rows: list[tuple[str, list[tuple[Taken, ArmValue]]]] = []
    for region in regions:
        row: list[tuple[Taken, ArmValue]] = []
        for arm, of_arm in zip(trial.arms, arms, strict=False):
            for tank in of_arm:
                member = next((member for member in tank.used if member.place.region == region), None)
                value = None if member is None else _value(trial, measure, arm.key, tank, member, camera)
                if member is not None and value is not None:
                    row.append((member, value))
        if row:
            rows.append((region, row))
    # One number of digits for all of them, that of the least certain: they stand side by side.
    doubt = max((_doubt(value) for _, row in rows for _, value in row), default=0.0)
    found: list[Part] = []
    for region, row in rows:
        name = row[0][0].place.name
        said = "; ".join(_said(trial, measure, member, value, doubt=doubt) for member, value in row)
        found.append(Part(region, name, tuple(value for _, value in row), f"{name}: {said}"))
    return tuple(found)


def where_algae_came(trial: Trial, arms: Sequence[Sequence[TankSeries]], camera: Camera) -> str:
    """Return a sentence for each tank, second arm first: when algae came and where most stood; empty without values.

    A place is named as the one with most only where its 95 % interval lies clear of the second's.
    """
    sentences: list[str] = []
    for arm, tank in (
        (arm, tank) for arm, of_arm in reversed(list(zip(trial.arms, arms, strict=False))) for tank in of_arm
    ):
        name = trial.tanks[tank.tank].name
        onsets = {member.place.name: _onset(member) for member in tank.used}
        first = min((day for day in onsets.values() if day is not None), default=None)
        values = {
            member.place.name: value
            for member in tank.used
            if (value := _value(trial, "algae", arm.key, tank, member, camera)) is not None
        }
        if not values:
            continue
        if first is None:
            sentences.append(f"{sentence(name)}: no place stayed above {ALGAE_ONSET_POINTS:g} points.")
            continue
        earliest = " and ".join(place for place, day in onsets.items() if day == first)
        said = f"{sentence(name)}: they came first on {earliest}, from day {int(first)}"
        sentences.append(f"{said}; {_where_most(values)}.")
    return " ".join(sentences)


def _where_most(values: dict[str, ArmValue]) -> str:
    """Return which place had most, or the places that may have been it."""
    ranked = sorted(values, key=lambda place: values[place].value, reverse=True)
    most = values[ranked[0]]
    level = [place for place in ranked[1:] if (values[place].high or 0.0) >= (most.low or 0.0)]
    if not level:
        return f"most stood on {ranked[0]}, {most.value:.0f} points on average"
    points = ", ".join(f"{place} {values[place].value:.0f}" for place in (ranked[0], *level))
    return f"where most stood cannot be told ({points} points on average)"


def _onset(member: Taken) -> float | None:
    return onset_day(member.series, threshold=ALGAE_ONSET_POINTS)


def _value(trial: Trial, measure: str, arm: str, tank: TankSeries, member: Taken, camera: Camera) -> ArmValue | None:
    trims = tank.trims_of[member.place.region]
    try:
        value = value_of(measure, member.series, trims, change_day=trial.baseline_days)
    except TooFewPointsError:
        return None
    low, high = camera.of_place(value.after).interval()
    return ArmValue(arm, tank.tank, value.after.value, low, high, value.days)


def _doubt(value: ArmValue) -> float:
    return abs((value.high or 0.0) - (value.low or 0.0)) / 2


def _said(trial: Trial, measure: str, member: Taken, value: ArmValue, *, doubt: float) -> str:
    text = f"{trial.tanks[value.tank].name} {shown(measure, value.value, doubt=doubt)}"
    if measure == "algae":
        onset = _onset(member)
        text += f", {f'from day {int(onset)}' if onset is not None else 'not yet come'}"
    return text
