"""One picture of plant or camera: the arms' difference by day beside what the camera alone can make of it."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from littoral.findings.photo_digits import plain_number
from littoral.findings.plant_or_camera import DayDifference, StandColour
from littoral.findings.showing import sentence
from littoral.publish.arm_line import ArmLine, short, with_gaps
from littoral.publish.chart import Chart
from littoral.publish.layers import Channel, Layer, level_band_layer, level_rule_layer
from littoral.publish.look import LIGHT, finished
from littoral.publish.panel import Panel, panels_spec
from littoral.publish.words import tanks_counted
from littoral.quantities.counting import counted
from littoral.speech.say import say
from littoral.trial.model import Trial


def camera_chart(trial: Trial, colour: StandColour, *, width_px: float = 760) -> Chart | None:
    """The difference between the arms by day, and each tank's course from its own start; None without any pair."""
    difference = colour.difference
    if difference is None:
        return None
    first, second = trial.arms[0].name, trial.arms[1].name
    title = say("{name}: plant or camera?", name=sentence(colour.name))
    panels = [_difference_panel(difference, title=say("{second} minus {first}", second=second, first=first))]
    own = _own_lines(trial, colour)
    if own:
        panels.append(_own_panel(own, colour, title="each tank from its own start"))
    pairs = say("{days} with photos of both", days=counted(difference.day, "day"))
    alt = say(
        "Difference in a* of the {name}, {second} minus {first}, over {length_days:g} days, "
        "from {plain_number} to {plain_number_2}. {outside}",
        name=colour.name,
        second=second,
        first=first,
        length_days=trial.length_days,
        plain_number=plain_number(difference.value[0], 1, signed=True),
        plain_number_2=plain_number(difference.value[-1], 1, signed=True),
        outside=colour.outside,
    )
    spec = finished(
        panels_spec(trial, panels, width_px=width_px, height_px=210),
        title=title,
        subtitle=say("CIELAB a*; {pairs}, {tanks_counted}.", pairs=pairs, tanks_counted=tanks_counted(trial)),
        alt=alt,
        width_px=width_px,
        trial=trial,
    )
    return Chart(f"camera-{colour.stand}", title, _caption(trial, colour, difference, pairs), alt, spec)


def _caption(trial: Trial, colour: StandColour, difference: DayDifference, pairs: str) -> str:
    told = [
        say(
            "First panel: {name} minus {name_2} in CIELAB a*, by day; {pairs}.",
            name=trial.arms[1].name,
            name_2=trial.arms[0].name,
            pairs=pairs,
        )
    ]
    if difference.centre is None:
        told.append(say("Without a card and a baseline there is nothing that it could be held against."))
    else:
        about = "0" if difference.centre == 0 else say("the difference of the baseline")
        told.append(
            say(
                "The inner band around {about} (± {band:.1f} a*) is what camera and light can make "
                "however many photos are taken; the outer one adds what two single photos leave open "
                "(95 %).",
                about=about,
                band=difference.band,
            )
        )
        if difference.outside(-math.inf)[0]:
            told.append(say("Rings are days outside both."))
    start = say("the mean of its baseline") if trial.baseline_days > 0 else say("its first three photos")
    told.append(say("Second panel: each tank from {start} on, with what a single photo leaves open.", start=start))
    if any(one.trims for one in colour.courses):
        told.append(say("Triangles at the top are trims: other leaves are seen after them."))
    if trial.baseline_days > 0:
        told.append(say("The shaded days are the baseline, when all tanks had the same regime."))
    return " ".join(told)


def _difference_panel(difference: DayDifference, *, title: str) -> Panel:
    value, centre = difference.value, difference.centre
    reach = np.hypot(difference.band, difference.half)
    ends = [value] if centre is None else [value, centre + reach, centre - reach]
    low, high = float(np.min([one.min() for one in ends])), float(np.max([one.max() for one in ends]))
    room = max(0.08 * (high - low), 0.3)

    def behind(x: Channel, y: Channel) -> list[Layer]:
        layers: list[Layer] = []
        outside = np.zeros(value.shape, dtype=bool)
        if centre is not None:
            wide = _line(difference.day, np.full(value.shape, centre), low=centre - reach, high=centre + reach)
            layers.append(
                {
                    "data": {"values": with_gaps(wide)},
                    "mark": {"type": "area", "color": LIGHT.line, "opacity": 0.22, "clip": True},
                    "encoding": {"x": dict(x), "y": dict(y) | {"field": "low"}, "y2": {"field": "high"}},
                }
            )
            layers.append(level_band_layer((centre - difference.band, centre + difference.band), y))
            layers.append(level_rule_layer(centre, y))
            outside = np.abs(value - centre) > reach
        rows = with_gaps(_line(difference.day, value))
        line = {"type": "line", "color": LIGHT.ink, "strokeWidth": 1.6, "clip": True}
        layers.append({"data": {"values": rows}, "mark": line, "encoding": {"x": dict(x), "y": dict(y)}})
        for some, colour, size in ((~outside, LIGHT.ink, 14), (outside, LIGHT.warning, 44)):
            if some.any():
                point = {"type": "point", "color": colour, "size": size, "opacity": 1, "clip": True}
                fill = {"fill": LIGHT.paper, "strokeWidth": 1.8} if size > 20 else {"filled": True}
                days = zip(difference.day[some], value[some], strict=True)
                layers.append(
                    {
                        "data": {"values": [{"day": short(day), "value": short(one)} for day, one in days]},
                        "mark": {**point, **fill},
                        "encoding": {"x": dict(x), "y": dict(y)},
                    }
                )
        return layers

    return Panel(title=title, y_title="a*", y_domain=(low - room, high + room), lines=(), behind=behind)


def _line(
    day: NDArray[np.float64],
    value: NDArray[np.float64],
    *,
    low: NDArray[np.float64] | None = None,
    high: NDArray[np.float64] | None = None,
) -> ArmLine:
    return ArmLine("", "", day, value, low, high)


def _own_lines(trial: Trial, colour: StandColour) -> list[ArmLine]:
    lines = []
    for one in colour.courses:
        points = one.used
        if len(points) < 2:
            continue
        day = np.array([point.day for point in points], dtype=float)
        value = np.array([point.value for point in points], dtype=float)
        half = np.array([one.half_of(point) or 0.0 for point in points], dtype=float)
        early = day < trial.baseline_days
        start = float(np.mean(value[early])) if early.any() else float(np.median(value[:3]))
        band = half.any()
        lines.append(
            ArmLine(
                one.arm,
                one.tank,
                day,
                value - start,
                value - start - half if band else None,
                value - start + half if band else None,
                breaks=one.trims,
            )
        )
    return lines


def _own_panel(lines: list[ArmLine], colour: StandColour, *, title: str) -> Panel:
    trims: dict[str, list[float]] = {}
    for one in colour.courses:
        if one.trims:
            trims.setdefault(one.arm, []).extend(one.trims)
    low = min(float((line.value if line.low is None else line.low).min()) for line in lines)
    high = max(float((line.value if line.high is None else line.high).max()) for line in lines)
    room = max(0.08 * (high - low), 0.3)
    return Panel(
        title=title,
        y_title="a*",
        y_domain=(low - room, high + room),
        lines=lines,
        head_marks={arm: sorted(set(days)) for arm, days in trims.items()},
        behind=lambda _x, y: [level_rule_layer(0.0, y)],
    )
