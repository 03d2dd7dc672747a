"""The layers of a chart of levels with bands: each a Vega-Lite layer with its own data inline."""

from __future__ import annotations

import math
from collections.abc import Sequence

from littoral.findings.estimates.model import LevelEstimate, TestedLevel
from littoral.publish.arm_line import short
from littoral.publish.layers import Channel, Layer, baseline_layers
from littoral.publish.look import LIGHT, ArmLook, arm_look
from littoral.speech.say import say
from littoral.trial.model import Band, Trial

ROW_PX = 12
"""Height of one row of strokes or waves under a panel."""
WAVE = "M-1,0.1Q-0.5,0.9,0,0.1Q0.5,-0.7,1,0.1"
DASHES = [5, 4]
NOTHING = {"day": 0, "value": 0, "low": 0, "high": 0}
"""The one row of a what-if that is not there: a line through one point draws nothing, and no scale is left without."""


def now_layers(now_day: float, to_day: float, x: Channel, height_px: float) -> list[Layer]:
    """Shade the days ahead, with an upright rule at now and words on both."""
    data = {"values": [{"day": short(now_day), "until": short(to_day)}]}
    words = {"type": "text", "baseline": "top", "dy": 4, "fontSize": 11, "color": LIGHT.soft}
    at = {"x": dict(x), "y": {"value": 0}}
    return [
        {
            "data": data,
            "mark": {"type": "rect", "color": LIGHT.shade},
            "encoding": {"x": dict(x), "x2": {"field": "until"}, "y": {"value": 0}, "y2": {"value": height_px}},
        },
        {
            "data": data,
            "mark": {"type": "rule", "color": LIGHT.soft, "strokeWidth": 1.5},
            "encoding": {"x": dict(x), "y": {"value": 0}, "y2": {"value": height_px}},
        },
        {"data": data, "mark": {**words, "text": say("now"), "align": "right", "dx": -4}, "encoding": at},
        {"data": data, "mark": {**words, "text": say("expected"), "align": "left", "dx": 5}, "encoding": dict(at)},
    ]


def baseline_words(trial: Trial, x: Channel, height_px: float, *, from_day: float) -> list[Layer]:
    """Say where the baseline ends: a thin rule with its word; shade is kept for what is ahead."""
    layers = baseline_layers(trial, x, height_px)[1:]
    layers[0]["mark"]["dy"] = 4
    layers[0]["data"] = {"values": [{"day": short(from_day)}]}
    edge: Layer = {
        "data": {"values": [{"day": trial.baseline_days}]},
        "mark": {"type": "rule", "color": LIGHT.grid, "strokeWidth": 1.5},
        "encoding": {"x": dict(x), "y": {"value": 0}, "y2": {"value": height_px}},
    }
    return [*layers, edge]


def band_layers(colour: str, rows: list[dict[str, float]], x: Channel, y: Channel) -> list[Layer]:
    """Draw a level: the 90 % band with thin edges, the 50 % band darker, the median as a line."""
    data = {"values": rows}

    def area(low: str, high: str, opacity: float) -> Layer:
        return {
            "data": data,
            "mark": {"type": "area", "color": colour, "opacity": opacity, "clip": True},
            "encoding": {"x": dict(x), "y": dict(y) | {"field": low}, "y2": {"field": high}},
        }

    def line(field: str, width: float, opacity: float) -> Layer:
        return {
            "data": data,
            "mark": {"type": "line", "color": colour, "strokeWidth": width, "opacity": opacity, "clip": True},
            "encoding": {"x": dict(x), "y": dict(y) | {"field": field}},
        }

    return [
        area("low", "high", 0.13),
        area("inner_low", "inner_high", 0.22),
        line("low", 0.8, 0.55),
        line("high", 0.8, 0.55),
        line("value", 2, 1),
    ]


def instead_layers(colour: str, tank: str, x: Channel, y: Channel) -> list[Layer]:
    """Draw what a page puts into the data set "instead-<tank>": a what-if, dashed, its 90 % band by its edges."""

    def line(field: str, width: float, opacity: float) -> Layer:
        return {
            "data": {"name": instead_name(tank), "values": [dict(NOTHING)]},
            "mark": {"type": "line", "color": colour, "strokeWidth": width, "strokeDash": DASHES, "opacity": opacity,
                     "clip": True},
            "encoding": {"x": dict(x), "y": dict(y) | {"field": field}},
        }  # fmt: skip

    return [line("low", 1.4, 0.9), line("high", 1.4, 0.9), line("value", 2.6, 1)]


def instead_name(tank: str) -> str:
    """Return the name of the data set that a tank's what-if is put into."""
    return f"instead-{tank}"


def limit_layers(band: Band, days: tuple[float, float], top: float, x: Channel, y: Channel) -> list[Layer]:
    """Draw floor and ceiling as level lines with their words; one that is above the panel is left to the words."""
    layers: list[Layer] = []
    for name, value in (("ceiling", band.ceiling_mg_per_l), ("floor", band.floor_mg_per_l)):
        if value is None or value > top:
            continue
        data = {"values": [{"day": short(days[0]), "until": short(days[1]), "value": short(value)}]}
        layers.append(
            {
                "data": data,
                "mark": {"type": "rule", "color": LIGHT.ink, "strokeWidth": 1, "opacity": 0.75},
                "encoding": {"x": dict(x), "x2": {"field": "until"}, "y": dict(y)},
            }
        )
        layers.append(
            {
                "data": data,
                "mark": {"type": "text", "text": f"{name} {value:g}", "align": "left", "dx": 4,
                         "dy": -4 if name == "ceiling" else 5, "baseline": "bottom" if name == "ceiling" else "top",
                         "fontSize": 11, "color": LIGHT.ink},
                "encoding": {"x": dict(x), "y": dict(y)},
            }
        )  # fmt: skip
    return layers


def reading_layers(
    look: ArmLook, results: Sequence[TestedLevel], top: float, aside_px: float, x: Channel, y: Channel
) -> list[Layer]:
    """Draw readings as the ranges they are, an exact one as the arm's shape; a question mark over a flagged one.

    A range that leaves the panel ends at its edge, with the reading in words there.
    """
    layers: list[Layer] = []
    for flagged in (False, True):
        some = [one for one in results if one.surprise.flagged == flagged]
        width = 2.5 if flagged else 5
        bars = [one for one in some if one.low_mg_per_l < one.high_mg_per_l]
        inside = [one for one in bars if one.low_mg_per_l < top]
        if inside:
            rows = [
                {"day": short(one.day), "low": short(one.low_mg_per_l), "high": short(min(one.high_mg_per_l, top))}
                for one in inside
            ]
            layers.append(
                {
                    "data": {"values": rows},
                    "mark": {"type": "rule", "color": look.colour, "strokeWidth": width, "opacity": 0.9,
                             "xOffset": aside_px, "clip": True},
                    "encoding": {"x": dict(x), "y": dict(y) | {"field": "low"}, "y2": {"field": "high"}},
                }
            )  # fmt: skip
        exact = [one for one in some if one.low_mg_per_l == one.high_mg_per_l and one.low_mg_per_l <= top]
        if exact:
            layers.append(
                {
                    "data": {"values": [{"day": short(one.day), "value": short(one.low_mg_per_l)} for one in exact]},
                    "mark": {"type": "point", "shape": look.shape, "size": 60, "fill": LIGHT.paper, "opacity": 1,
                             "color": look.colour, "strokeWidth": 2, "xOffset": aside_px},
                    "encoding": {"x": dict(x), "y": dict(y)},
                }
            )  # fmt: skip
        layers += [_said(one, top, aside_px, x, y) for one in some if flagged or one.low_mg_per_l >= top]
    return layers


def _said(one: TestedLevel, top: float, aside_px: float, x: Channel, y: Channel) -> Layer:
    """Say over a reading what must be asked of it, or what it reads where it is above the panel."""
    beyond = one.low_mg_per_l >= top
    range_words = (
        f"over {one.low_mg_per_l:.3g}"
        if math.isinf(one.high_mg_per_l)
        else f"{one.low_mg_per_l:.3g}–{one.high_mg_per_l:.3g}"
    )
    text = f"{'? ' if one.surprise.flagged else ''}{range_words} ↑" if beyond else "?"
    place = top if beyond else min(one.high_mg_per_l, top)
    return {
        "data": {"values": [{"day": short(one.day), "value": short(place)}]},
        "mark": {"type": "text", "text": text, "fontSize": 12 if beyond else 15, "fontWeight": "bold",
                 "color": LIGHT.warning, "xOffset": aside_px, "dy": 18 if beyond else -3,
                 "baseline": "top" if beyond else "bottom"},
        "encoding": {"x": dict(x), "y": dict(y)},
    }  # fmt: skip


def mark_rows(trial: Trial, levels: Sequence[LevelEstimate], now_day: float, x: Channel, plot_px: float) -> list[Layer]:
    """Mark each tank's doses and changes in rows under the panel; those still ahead are pale."""
    layers: list[Layer] = []
    for row, one in enumerate(levels):
        colour = arm_look(trial, trial.arm_of(one.tank).key).colour
        place = plot_px + 8 + 2 * row * ROW_PX
        doses = [day for day, _ in one.doses]
        for ahead, opacity in ((False, 1.0), (True, 0.5)):
            strokes = [{"day": short(day)} for day in doses if (day >= now_day) == ahead]
            waves = [{"day": short(day)} for day in one.change_days if (day >= now_day) == ahead]
            if strokes:
                layers.append(
                    {
                        "data": {"values": strokes},
                        "mark": {"type": "tick", "orient": "vertical", "size": 8, "thickness": 1.5, "color": colour,
                                 "opacity": opacity},
                        "encoding": {"x": dict(x), "y": {"value": place}},
                    }
                )  # fmt: skip
            if waves:
                layers.append(
                    {
                        "data": {"values": waves},
                        "mark": {"type": "point", "shape": WAVE, "size": 60, "filled": False, "color": colour,
                                 "strokeWidth": 1.8, "opacity": opacity},
                        "encoding": {"x": dict(x), "y": {"value": place + ROW_PX - 1}},
                    }
                )  # fmt: skip
    return layers
