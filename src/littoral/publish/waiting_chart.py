"""Charts of waiting times: how many of an arm's tanks or trims are still waiting, as steps (Kaplan & Meier 1958)."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from littoral.findings.model import Curve, Finding
from littoral.findings.showing import sentence
from littoral.publish.arm_line import short
from littoral.publish.chart import Chart
from littoral.publish.end_labels import apart
from littoral.publish.look import LIGHT, arm_look, finished
from littoral.publish.panel import day_ticks
from littoral.quantities.counting import counted
from littoral.speech.say import say
from littoral.trial.measures import MEASURES
from littoral.trial.model import Trial

FEWEST_STEPS = 3
"""Of fewer tanks or trims in the larger arm a curve would be a single drop, which the words say better."""
PLOT_PX = 190
LABEL_PX = 15
AXIS_PX = 58


def waiting_charts(trial: Trial, findings: Sequence[Finding], *, width_px: float = 760) -> tuple[Chart, ...]:
    """Return a chart for each finding with curves of three tanks or trims and more in an arm; none for the others."""
    return tuple(
        _chart(trial, finding, width_px=width_px)
        for finding in findings
        if max((curve.count for curve in finding.curves), default=0) >= FEWEST_STEPS
    )


def _chart(trial: Trial, finding: Finding, *, width_px: float) -> Chart:
    of = finding.curves[0].of
    what = say("not yet back") if of == "trims" else say("still without algae")
    since = say("days since the trim") if of == "trims" else say("day")
    names = {arm.key: arm.name for arm in trial.arms}
    title = finding.ask
    sample = ", ".join(f"{names[curve.arm]} {_counted(curve)}" for curve in finding.curves)
    subtitle = say(
        "{text} {what}, % by {since}; {sample}. A tick on a line: watched so long, and not come.",
        text=sentence(of),
        what=what,
        since=since,
        sample=sample,
    )
    if of == "trims":
        subtitle += " " + say("Several trims of one tank are no more tanks.")
    said = " ".join(f"{names[curve.arm]}: {_median(curve)}." for curve in finding.curves)
    end = max(max((*curve.day, *curve.censored)) for curve in finding.curves)
    plot_px = width_px - AXIS_PX - max(8 * len(names[curve.arm]) for curve in finding.curves) - 34
    body = {"width": round(plot_px), "height": PLOT_PX, "layer": _layers(trial, finding.curves, since, end, plot_px)}
    name = say(MEASURES[finding.measure].name) if finding.measure in MEASURES else finding.measure
    caption = say(
        "{text}: the share of {of} {what}, by {since} (Kaplan-Meier); {sample}. {said} A "
        "tick: watched so long, and not come.",
        text=sentence(name),
        of=of,
        what=what,
        since=since,
        sample=sample,
        said=said,
    )
    alt = say("Step chart of the share of {of} {what} by {since}. {said}", of=of, what=what, since=since, said=said)
    spec = finished(body, title=title, subtitle=subtitle, alt=alt, width_px=width_px, trial=trial)
    return Chart(f"waiting-{finding.question}", title, caption, alt, spec)


def _counted(curve: Curve) -> str:
    return counted(range(curve.count), curve.of.removesuffix("s"))


def _median(curve: Curve) -> str:
    if curve.median_day is None:
        return say("less than half of {counted}", counted=_counted(curve))
    by = (
        say("{median_day:.1f} days", median_day=curve.median_day)
        if curve.of == "trims"
        else say("day {curve}", curve=int(curve.median_day))
    )
    return say("half of {counted} by {by}", counted=_counted(curve), by=by)


def _layers(trial: Trial, curves: Sequence[Curve], since: str, end: float, plot_px: float) -> list[dict[str, Any]]:
    whole = [day for day in day_ticks(end, plot_px) if day == int(day)]
    x = {
        "field": "day",
        "type": "quantitative",
        "scale": {"domain": [0, end], "nice": False},
        "axis": {
            "title": since,
            "values": whole,
            "grid": False,
            "labelFlush": False,
        },
    }
    y = {
        "field": "share",
        "type": "quantitative",
        "scale": {"domain": [0, 104], "nice": False},
        "axis": {"title": "%", "values": [0, 25, 50, 75, 100], "domain": False},
    }
    half = {"type": "rule", "color": LIGHT.line, "strokeDash": [2, 3]}
    layers: list[dict[str, Any]] = [{"data": {"values": [{"share": 50}]}, "mark": half, "encoding": {"y": dict(y)}}]
    ordered = sorted(curves, key=lambda curve: curve.share[-1])
    places = apart([100 * one.share[-1] for one in ordered], least=104 * LABEL_PX / PLOT_PX, low=2, high=100)
    for curve, place in zip(ordered, places, strict=True):
        look = arm_look(trial, curve.arm)
        last = max((*curve.day, *curve.censored))
        steps = [*zip(curve.day, curve.share, strict=True), (last, curve.share[-1])]
        ticks = [(day, _at(curve, day)) for day in curve.censored]
        line = {"type": "line", "interpolate": "step-after", "color": look.colour, "strokeWidth": 2}
        tick = {"type": "tick", "orient": "vertical", "color": look.colour, "thickness": 2, "size": 12}
        name = next(arm.name for arm in trial.arms if arm.key == curve.arm)
        label = {
            "type": "text", "text": name, "align": "left", "baseline": "middle", "dx": 8, "fontWeight": "bold",
            "color": look.colour,
        }  # fmt: skip
        layers += [
            {"data": {"values": _rows(steps)}, "mark": line, "encoding": {"x": dict(x), "y": dict(y)}},
            {"data": {"values": _rows(ticks)}, "mark": tick, "encoding": {"x": dict(x), "y": dict(y)}},
            {
                "data": {"values": [{"day": short(end), "share": short(place)}]},
                "mark": label,
                "encoding": {"x": dict(x), "y": dict(y)},
            },
        ]
    return [layer for layer in layers if layer["data"]["values"]]


def _rows(points: Sequence[tuple[float, float]]) -> list[dict[str, float]]:
    return [{"day": short(day), "share": short(100 * share)} for day, share in points]


def _at(curve: Curve, day: float) -> float:
    return [share for at, share in zip(curve.day, curve.share, strict=True) if at <= day][-1]
