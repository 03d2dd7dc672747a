"""Panels over the days of a trial: the arms' lines with their gaps, the baseline, events, and the day cursor.

Days are days since the trial's start, as everywhere; the axis always spans the whole trial.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from littoral.publish.arm_line import ArmLine
from littoral.publish.end_labels import end_labels, label_px
from littoral.publish.layers import (
    MARK_ROW_PX,
    Channel,
    Layer,
    baseline_layers,
    cursor_layer,
    line_layers,
    mark_layer,
    range_layer,
)
from littoral.speech.say import say
from littoral.trial.model import Trial

TICKS_APART_PX = 30
AXIS_PX = 54
DAY_PARAM: dict[str, Any] = {"name": "day", "value": None}
"""The day cursor: a page sets the signal "day" to a day, and every chart draws a rule there."""


@dataclass(frozen=True, slots=True)
class Panel:
    """What one panel shows. `y_domain` is in the lines' unit.

    `head_marks` are days of trims and `foot_marks` days of doses, keyed by arm; `ranges` are readings as
    (arm, day, low, high). `behind` gives further layers for the channels x and y, drawn before the lines.
    """

    title: str
    y_title: str
    y_domain: tuple[float, float]
    lines: Sequence[ArmLine]
    head_marks: Mapping[str, Sequence[float]] = field(default_factory=dict)
    foot_marks: Mapping[str, Sequence[float]] = field(default_factory=dict)
    ranges: Sequence[tuple[str, float, float, float]] = ()
    behind: Callable[[Channel, Channel], Sequence[Layer]] | None = None


def panels_spec(
    trial: Trial, panels: Sequence[Panel], *, width_px: float, height_px: float | None = None
) -> dict[str, Any]:
    """Return the body of a specification with all panels in as many columns as fit `width_px`, and the day cursor.

    `height_px` is the height of one panel; None chooses it by their number.
    """
    most = 1 if width_px < 520 else 2 if width_px < 1000 else 3
    columns = math.ceil(len(panels) / math.ceil(len(panels) / most))  # four are two rows of two, not three and one
    names_px = label_px(trial)
    between_px = AXIS_PX + names_px + 14
    plot_px = max(150.0, (width_px - 16 - columns * between_px) / columns)
    height_px = height_px or (150 if len(panels) > 1 else 240)
    return {
        "params": [DAY_PARAM],
        "columns": columns,
        "bounds": "flush",
        "spacing": {"row": 76, "column": between_px},
        "concat": [_panel(trial, panel, width_px=plot_px, height_px=height_px) for panel in panels],
    }


def _panel(trial: Trial, panel: Panel, *, width_px: float, height_px: float) -> dict[str, Any]:
    layers: list[Layer] = []
    y_scale = {"domain": list(panel.y_domain), "nice": False, "zero": False}
    y = {"field": "value", "type": "quantitative", "scale": y_scale}
    x = {"field": "day", "type": "quantitative", "scale": {"domain": [0, trial.length_days], "nice": False}}
    if trial.baseline_days > 0:
        layers += baseline_layers(trial, x, height_px)
    if panel.behind is not None:
        layers += panel.behind(x, y)
    for line in panel.lines:
        layers += line_layers(trial, line, x, y, width_px=width_px)
    for arm, at, low, high in panel.ranges:
        layers.append(range_layer(trial, arm, at, low, high, x, y))
    for marks, rank, shape in ((panel.head_marks, 0, "triangle-down"), (panel.foot_marks, 1, "stroke")):
        for row, (arm, days) in enumerate(sorted(marks.items())):
            place = 5 + row * MARK_ROW_PX if rank == 0 else height_px - 4 - row * MARK_ROW_PX
            layers.append(mark_layer(trial, arm, days, x, place, shape))
    layers += end_labels(trial, panel.lines, x, y, height_px)
    layers.append(cursor_layer(x))
    _title_axes(layers, trial, panel, width_px=width_px, height_px=height_px)
    return {
        "title": {"text": panel.title, "fontSize": 13, "offset": 6, "frame": "group"},
        "width": round(width_px),
        "height": height_px,
        "layer": layers,
    }


def _title_axes(layers: list[Layer], trial: Trial, panel: Panel, *, width_px: float, height_px: float) -> None:
    """Give every layer the same axes, written out, so that none of them adds a title of its own."""
    axes = {
        "x": {
            "title": say("day"),
            "values": day_ticks(trial.length_days, width_px),
            "grid": False,
            "labelFlush": False,
            "labelOverlap": True,
        },
        "y": {"title": panel.y_title, "tickCount": max(3, int(height_px / 36)), "grid": True, "domain": False},
    }
    for layer in layers:
        for channel, axis in axes.items():
            encoding = layer["encoding"].get(channel)
            if encoding is not None and "field" in encoding:
                encoding["axis"] = axis


def day_ticks(length_days: float, width_px: float) -> list[float]:
    """Return the axis' days: whole weeks where the trial is long, no closer than a label needs."""
    fit = max(2.0, width_px / TICKS_APART_PX)
    steps = (0.25, 0.5, 1, 2, 7, 14, 28, 56, 91, 182, 364)
    step = next((one for one in steps if length_days / one <= fit), steps[-1])
    return [float(tick) for tick in np.arange(0, length_days + 1e-9, step)]
