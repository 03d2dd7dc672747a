"""Charts of any one measure that photos give over days, a panel for each place; what is left out is shown as such."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from littoral.findings.photo_course import Course
from littoral.findings.photo_measures import PhotoMeasure
from littoral.findings.showing import sentence
from littoral.publish.arm_line import ArmLine
from littoral.publish.chart import Chart
from littoral.publish.layers import apart_layer, level_rule_layer
from littoral.publish.look import finished
from littoral.publish.panel import Panel, panels_spec
from littoral.publish.words import line_name, tanks_counted
from littoral.quantities.counting import counted
from littoral.speech.say import say
from littoral.trial.model import Trial

WHOLE = "whole photo"


def place_name(trial: Trial, place: str) -> str:
    """Return what a person calls a place: the stand's name, the region's key, or the whole photo for ""."""
    return trial.stands[place].name if place in trial.stands else place or WHOLE


def course_chart(
    trial: Trial,
    measure: PhotoMeasure,
    places: Mapping[str, Sequence[Course]],
    *,
    width_px: float = 760,
    rule: tuple[float, str] | None = None,
) -> Chart | None:
    """One measure at one or several places, by day; None without any value.

    `rule` is a level to draw in every panel, in the measure's unit, with what it means.
    """
    panels: list[Panel] = []
    said: list[str] = []
    for place, some in places.items():
        lines = [_line(one) for one in some if one.used]
        if not lines:
            continue
        panels.append(_panel(trial, measure, place_name(trial, place), some, lines, rule))
        ends = ", ".join(
            say(
                "{line_name} from {start:.3g} to {end:.3g}",
                line_name=line_name(trial, one.arm),
                start=one.start,
                end=one.end,
            )
            for one in some
            if one.start is not None and one.end is not None
        )
        said.append(f"{place_name(trial, place)}: {ends} {measure.unit}.")
    if not panels:
        return None
    every = [one for some in places.values() for one in some]
    photos = {point.photo for one in every for point in one.used}
    name, unit = say(measure.name), say(measure.unit)
    title = sentence(name)
    sample = f"{counted(photos, 'photo')}, {tanks_counted(trial)}"
    alt = say(
        "Line chart of {name} in {unit} over {length_days:g} days. ",
        name=name,
        unit=unit,
        length_days=trial.length_days,
    ) + " ".join(said)
    spec = finished(
        panels_spec(trial, panels, width_px=width_px),
        title=title,
        subtitle=say("{unit}; {sample}. A line breaks where photos are missing.", unit=unit, sample=sample),
        alt=alt,
        width_px=width_px,
        trial=trial,
    )
    caption = say(
        "{title} in {unit}, by day since {start:%Y-%m-%d} (day 0); {sample}. ",
        title=title,
        unit=unit,
        start=trial.start,
        sample=sample,
    )
    return Chart(f"series-{measure.key}", title, caption + _how_to_read(trial, measure, every, panels, rule), alt, spec)


def _how_to_read(
    trial: Trial,
    measure: PhotoMeasure,
    every: Sequence[Course],
    panels: Sequence[Panel],
    rule: tuple[float, str] | None,
) -> str:
    doubts = {one.camera.doubt for one in every if one.used}
    band = {
        "stated with each photo": say("The band holds 95 % of what a photo's own doubt allows, camera included."),
        "scatter between photos": say("The band holds 95 % of the scatter of single photos around their neighbours."),
        "repeat shots": say("The band holds 95 % of what repeat shots differ by."),
    }
    told = [say("A line breaks where photos are missing.")]
    told += [words for doubt, words in band.items() if doubt in doubts]
    if any(one.camera.common for one in every):
        told.append(
            say("It also holds what all photos of a stand share: where a plant's foot and edges are taken to be.")
        )
    if not measure.from_zero:
        told.append(say("The axis does not begin at zero."))
    if any(panel.head_marks for panel in panels):
        told.append(say("Triangles at the top are trims, where the line breaks too."))
    if any(line.flagged is not None for panel in panels for line in panel.lines):
        told.append(say("Hollow points have something wrong, or stand out from their neighbours; they count."))
    if any(not point.used and point.value is not None for one in every for point in one.points):
        told.append(say("Crosses are values that are left out."))
    if any(panel.foot_marks for panel in panels):
        told.append(say("Strokes at the foot are photos that gave no value."))
    if rule is not None:
        told.append(rule[1])
    if trial.baseline_days > 0:
        told.append(say("The shaded days are the baseline, when all tanks had the same regime."))
    return " ".join(told)


def _line(course: Course) -> ArmLine:
    points = course.used
    value = np.array([point.value for point in points], dtype=float)
    halves = [course.half_of(point) for point in points]
    half = None if any(one is None for one in halves) else np.array(halves, dtype=float)
    flagged = np.array([bool(point.marks) for point in points])
    return ArmLine(
        arm=course.arm,
        tank=course.tank,
        day=np.array([point.day for point in points], dtype=float),
        value=value,
        low=None if half is None else value - half,
        high=None if half is None else value + half,
        breaks=course.trims,
        # what is wrong with most photos is no mark of one
        flagged=flagged if flagged.any() and 2 * int(flagged.sum()) <= flagged.size else None,
    )


def _panel(
    trial: Trial,
    measure: PhotoMeasure,
    title: str,
    some: Sequence[Course],
    lines: Sequence[ArmLine],
    rule: tuple[float, str] | None,
) -> Panel:
    head: dict[str, list[float]] = {}
    foot: dict[str, list[float]] = {}
    apart: list[tuple[str, float, float]] = []
    for one in some:
        head.setdefault(one.arm, []).extend(one.trims)
        for point in one.points:
            if not point.used and point.value is None:
                foot.setdefault(one.arm, []).append(point.day)
            elif not point.used and point.value is not None:
                apart.append((one.arm, point.day, point.value))
    return Panel(
        title=title,
        y_title=measure.unit,
        y_domain=_domain(lines, from_zero=measure.from_zero, least=rule[0] if rule else None),
        lines=_within(lines, from_zero=measure.from_zero),
        head_marks={arm: sorted(set(days)) for arm, days in head.items() if days},
        foot_marks={arm: sorted(set(days)) for arm, days in foot.items() if days},
        behind=lambda x, y: [
            *([] if rule is None else [level_rule_layer(rule[0], y)]),
            *(apart_layer(trial, arm, at, value, x, y) for arm, at, value in apart),
        ],
    )


def _within(lines: Sequence[ArmLine], *, from_zero: bool) -> Sequence[ArmLine]:
    """Return the lines with bands that stay above 0 where nothing below it can be."""
    if not from_zero:
        return lines
    return [
        line
        if line.low is None
        else ArmLine(line.arm, line.tank, line.day, line.value, np.maximum(line.low, 0), line.high,
                     breaks=line.breaks, flagged=line.flagged)
        for line in lines
    ]  # fmt: skip


def _domain(lines: Sequence[ArmLine], *, from_zero: bool, least: float | None) -> tuple[float, float]:
    lows = np.concatenate([line.value if line.low is None else line.low for line in lines])
    highs = np.concatenate([line.value if line.high is None else line.high for line in lines])
    low, high = float(lows.min()), float(max(highs.max(), least or -np.inf))
    if from_zero:
        return 0.0, max(high, 1e-9) * 1.15
    room = max(0.12 * (high - low), 0.5)
    return low - room, high + room
