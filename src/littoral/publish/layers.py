"""The layers that a panel over days is drawn from, each a Vega-Lite layer with its own data inline."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from littoral.publish.arm_line import ArmLine, Row, alone, short, with_gaps
from littoral.publish.look import LIGHT, arm_look
from littoral.speech.say import say
from littoral.trial.model import Trial

Layer = dict[str, Any]
Channel = dict[str, Any]
"""The encoding of x (days) or y (the panel's unit): field, type and scale."""

MARK_ROW_PX = 9
DOTS_APART_PX = 14
"""No two points of a line come closer, so that their shape can be seen: in a dense series only some have one."""


def baseline_layers(trial: Trial, x: Channel, height_px: float) -> list[Layer]:
    """Shade the days of the baseline over the panel's whole height, and say what it is."""
    data = {"values": [{"day": 0, "until": trial.baseline_days}]}
    return [
        {
            "data": data,
            "mark": {"type": "rect", "color": LIGHT.shade},
            "encoding": {"x": dict(x), "x2": {"field": "until"}, "y": {"value": 0}, "y2": {"value": height_px}},
        },
        {
            "data": data,
            "mark": {
                "type": "text",
                "text": say("baseline"),
                "align": "left",
                "baseline": "top",
                "dx": 4,
                "dy": 4 + 2 * MARK_ROW_PX,
                "fontSize": 11,
                "color": LIGHT.soft,
            },
            "encoding": {"x": dict(x), "y": {"value": 0}},
        },
    ]


def line_layers(trial: Trial, line: ArmLine, x: Channel, y: Channel, *, width_px: float) -> list[Layer]:
    """Draw a tank's line with its band; points at as many photos as have room or stand alone, hollow where flagged."""
    look = arm_look(trial, line.arm)
    rows = with_gaps(line)
    data = {"values": rows}
    mark: dict[str, Any] = {"type": "line", "color": look.colour, "strokeWidth": 1 if line.faint else 2, "clip": True}
    if line.faint:
        mark["opacity"] = 0.65
    layers: list[Layer] = []
    if line.low is not None:
        layers.append(
            {
                "data": data,
                "mark": {"type": "area", "color": look.colour, "opacity": 0.14, "clip": True},
                "encoding": {"x": dict(x), "y": dict(y) | {"field": "low"}, "y2": {"field": "high"}},
            }
        )
    layers.append({"data": data, "mark": mark, "encoding": {"x": dict(x), "y": dict(y)}})
    dots = [] if line.faint or line.whole else _with_points(rows, at_most=width_px / DOTS_APART_PX)
    hollow = [] if line.flagged is None else [
        {"day": short(day), "value": short(value)}
        for day, value in zip(line.day[line.flagged], line.value[line.flagged], strict=True)
    ]  # fmt: skip
    for some, filled in ((dots, True), (hollow, False)):
        if some:
            point = {"type": "point", "shape": look.shape, "size": 16 if filled else 34, "color": look.colour}
            fill = {"filled": True} if filled else {"fill": LIGHT.paper, "strokeWidth": 1.3}
            layers.append(
                {
                    "data": {"values": some},
                    "mark": {**point, **fill, "opacity": 1, "clip": True},
                    "encoding": {"x": dict(x), "y": dict(y)},
                }
            )
    return layers


def _with_points(rows: Sequence[Row], *, at_most: float) -> list[Row]:
    """Return the rows that a point is drawn at: all while there are few, else every so many, and any that is alone."""
    there = [row for row in rows if row["value"] is not None]
    single = alone(rows)
    every = max(1, math.ceil(len(there) / at_most))
    return [row for place, row in enumerate(there) if place % every == 0 or row in single]


def range_layer(trial: Trial, arm: str, at: float, low: float, high: float, x: Channel, y: Channel) -> Layer:
    """Draw a reading as the range it is: a thick bar from low to high, without a middle."""
    top = y["scale"]["domain"][1]
    return {
        "data": {"values": [{"day": short(at), "low": short(low), "high": short(min(high, top))}]},
        "mark": {"type": "rule", "color": arm_look(trial, arm).colour, "strokeWidth": 5, "opacity": 0.45},
        "encoding": {"x": dict(x), "y": dict(y) | {"field": "low"}, "y2": {"field": "high"}},
    }


def apart_layer(trial: Trial, arm: str, at: float, value: float, x: Channel, y: Channel) -> Layer:
    """Draw a value that is in no line, and why not is said elsewhere: a cross, held within the panel."""
    low, high = y["scale"]["domain"]
    return {
        "data": {"values": [{"day": short(at), "value": short(min(max(value, low), high))}]},
        "mark": {"type": "point", "shape": "cross", "angle": 45, "size": 46, "filled": True, "opacity": 0.9,
                 "color": arm_look(trial, arm).colour},
        "encoding": {"x": dict(x), "y": dict(y)},
    }  # fmt: skip


def level_band_layer(band: tuple[float, float], y: Channel) -> Layer:
    """Shade a range of values over all days."""
    low, high = y["scale"]["domain"]
    return {
        "data": {"values": [{"low": short(max(band[0], low)), "high": short(min(band[1], high))}]},
        "mark": {"type": "rect", "color": LIGHT.line, "opacity": 0.3},
        "encoding": {"y": dict(y) | {"field": "low"}, "y2": {"field": "high"}},
    }


def level_rule_layer(at: float, y: Channel) -> Layer:
    """Draw a level line over all days."""
    return {
        "data": {"values": [{"value": short(at)}]},
        "mark": {"type": "rule", "color": LIGHT.line, "strokeWidth": 1.4},
        "encoding": {"y": dict(y)},
    }


def mark_layer(trial: Trial, arm: str, days: Sequence[float], x: Channel, place_px: float, shape: str) -> Layer:
    """Mark days of an arm in a row `place_px` below the panel's top: triangles, or thin strokes for many."""
    look = arm_look(trial, arm)
    mark: dict[str, Any] = (
        {"type": "point", "shape": shape, "size": 34, "filled": True, "color": look.colour, "opacity": 1}
        if shape != "stroke"
        else {"type": "tick", "orient": "vertical", "size": 7, "thickness": 1, "color": look.colour}
    )
    return {
        "data": {"values": [{"day": short(day)} for day in days]},
        "mark": mark,
        "encoding": {"x": dict(x), "y": {"value": place_px}},
    }


def cursor_layer(x: Channel) -> Layer:
    """Draw a rule at the day that the signal "day" holds; nothing while it is null."""
    return {
        "data": {"values": [{}]},
        "transform": [{"calculate": "day", "as": "day"}, {"filter": "isValid(datum.day)"}],
        "mark": {"type": "rule", "color": LIGHT.ink, "strokeWidth": 1.2, "clip": True},
        "encoding": {"x": dict(x)},
    }
