"""The picture of several aims: each regime with its doubt, those that none beats filled in; no score hidden in it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from littoral.findings.showing import percent
from littoral.publish.arm_line import short
from littoral.publish.chart import Chart
from littoral.publish.look import LIGHT, finished, wrapped
from littoral.publish.point_labels import LINE_PX, Box, place_labels
from littoral.speech.say import say
from littoral.stats.frontier import Better, Frontier, frontier
from littoral.stats.series import FloatArray

PLOT_PX = 210
AXIS_PX = 62
HEIGHT_PX = 250


@dataclass(frozen=True, slots=True)
class Aim:
    """One aim: its name and unit for a reader, and whether higher or lower is wanted."""

    name: str
    unit: str
    better: Better


@dataclass(frozen=True, slots=True)
class _Made:
    rendered: bool


def frontier_chart(
    names: Sequence[str], aims: Sequence[Aim], values: FloatArray, *, rendered: bool, width_px: float = 760
) -> Chart | None:
    """Draw regimes by their aims, `values` (draws, regimes, aims) in the aims' units; None below two regimes or aims.

    The last aims are each drawn against the first one, medians with their 95 % intervals. Filled points are beaten by
    no other regime at the medians; beside each name stands in what share of the draws that is so.
    """
    if len(names) < 2 or len(aims) < 2:
        return None
    found = frontier(values, [aim.better for aim in aims])
    title = say("What no other way beats")
    wanted = "Wanted: " + ", ".join(f"{aim.better} {aim.name}" for aim in aims)
    exact = found.draws == 1
    doubt = "" if exact else say(" Percentages: in how many of the draws none beats it. Lines are 95 % intervals.")
    subtitle = say(
        "{wanted}. Filled: beaten by none. Hollow: another is as good or better in all of it.{doubt}",
        wanted=wanted,
        doubt=doubt,
    )
    caption = say(
        "{subtitle} One way beats another where it is at least as good in everything and "
        "better in something. Nothing is weighed against anything: which of the filled ones "
        "to take is for you to say.",
        subtitle=subtitle,
    )
    alt = f"{wanted}. " + " ".join(_said(names, aims, found, i, exact=exact) for i in range(len(names)))
    columns = max(1, min(len(aims) - 1, int((width_px - 16) // (PLOT_PX + AXIS_PX))))
    plot_px = (width_px - 16 - columns * (AXIS_PX + 16)) / columns
    marks = [
        [*wrapped(name, width_px=0.45 * plot_px, font_px=12), *([] if exact else [_share(float(share))])]
        for name, share in zip(names, found.share_unbeaten, strict=True)
    ]
    panels = [
        _panel(marks, found.unbeaten.tolist(), aims[0], aims[k], values[:, :, [0, k]], plot_px=plot_px)
        for k in range(1, len(aims))
    ]
    body = {"concat": panels, "columns": columns, "spacing": {"row": 66, "column": AXIS_PX + 16}, "bounds": "flush"}
    spec = finished(body, title=title, subtitle=subtitle, alt=alt, width_px=width_px, trial=_Made(rendered))
    return Chart("aims", title, caption, alt, spec)


def _wanted(aim: Aim) -> str:
    return say("{name}, {unit} ({better} is wanted)", name=aim.name, unit=aim.unit, better=aim.better)


def _share(share: float) -> str:
    """Return a share of the draws in whole percent, that never says all or none of them where it is not."""
    if 0 < share < 0.005:
        return say("under 1 %")
    return say("over 99 %") if 0.995 <= share < 1 else percent(round(share, 2))


def _said(names: Sequence[str], aims: Sequence[Aim], found: Frontier, i: int, *, exact: bool) -> str:
    values = ", ".join(f"{aim.name} {found.middle[i, k]:.3g} {aim.unit}" for k, aim in enumerate(aims))
    share = "" if exact else say(" (by none in {share} of the draws)", share=_share(float(found.share_unbeaten[i])))
    beaten = say("beaten by none") if found.unbeaten[i] else say("beaten")
    return f"{names[i]}: {values}; {beaten}{share}."


def _panel(
    texts: Sequence[Sequence[str]],
    unbeaten: Sequence[bool],
    across: Aim,
    up: Aim,
    values: FloatArray,
    *,
    plot_px: float,
) -> dict[str, Any]:
    low, middle, high = np.quantile(values, [0.025, 0.5, 0.975], axis=0)
    axes: list[dict[str, Any]] = []
    for which, (aim, channel) in enumerate(((across, "x"), (up, "y"))):
        ends = float(low[:, which].min()), float(high[:, which].max())
        pad = 0.12 * (ends[1] - ends[0]) or 1.0
        axes.append(
            {
                "field": channel,
                "type": "quantitative",
                "scale": {"domain": [short(ends[0] - pad), short(ends[1] + pad)], "nice": False, "zero": False},
                "axis": {
                    "title": wrapped(_wanted(aim),
                                     width_px=plot_px if channel == "x" else HEIGHT_PX, font_px=12),
                    "tickCount": 5,
                },
            }
        )  # fmt: skip
    x, y = axes
    layers: list[dict[str, Any]] = []
    boxes = place_labels(
        [(_px(x, float(at), plot_px), HEIGHT_PX - _px(y, float(up), HEIGHT_PX)) for at, up in middle],
        texts,
        width_px=plot_px,
        height_px=HEIGHT_PX,
        keep_off=[*_bars(x, y, low, middle, high, plot_px)],
    )
    for i, (lines, box) in enumerate(zip(texts, boxes, strict=True)):
        row = {"x": short(middle[i, 0]), "y": short(middle[i, 1])}
        row |= {"xl": short(low[i, 0]), "xh": short(high[i, 0]), "yl": short(low[i, 1]), "yh": short(high[i, 1])}
        data = {"values": [row]}
        rule = {"type": "rule", "color": LIGHT.line, "strokeWidth": 1.5}
        point = {"type": "point", "size": 90, "opacity": 1, "stroke": LIGHT.ink, "strokeWidth": 1.6,
                 "fill": LIGHT.ink if unbeaten[i] else LIGHT.paper}  # fmt: skip
        leftward = box.right <= _px(x, row["x"], plot_px)
        text = {"type": "text", "text": list(lines), "align": "right" if leftward else "left", "baseline": "top",
                "lineHeight": LINE_PX, "color": LIGHT.ink, "fontWeight": ("normal", "bold")[unbeaten[i]]}  # fmt: skip
        at = {"x": {"value": box.right if leftward else box.left}, "y": {"value": box.top}}
        layers += [
            {"data": data, "mark": rule, "encoding": {"x": x | {"field": "xl"}, "x2": {"field": "xh"}, "y": y}},
            {"data": data, "mark": rule, "encoding": {"y": y | {"field": "yl"}, "y2": {"field": "yh"}, "x": x}},
            {"data": data, "mark": point, "encoding": {"x": x, "y": y}},
            {"data": data, "mark": text, "encoding": at},
        ]
    return {"width": round(plot_px), "height": HEIGHT_PX, "layer": layers}


def _bars(
    x: dict[str, Any], y: dict[str, Any], low: FloatArray, middle: FloatArray, high: FloatArray, plot_px: float
) -> Iterator[Box]:
    """Yield what the interval lines cover, in the plot's pixels."""
    for least, at, most in zip(low, middle, high, strict=True):
        left, across, right = (_px(x, float(one[0]), plot_px) for one in (least, at, most))
        bottom, up, top = (HEIGHT_PX - _px(y, float(one[1]), HEIGHT_PX) for one in (least, at, most))
        yield Box(left, up - 1, right, up + 1)
        yield Box(across - 1, top, across + 1, bottom)


def _px(axis: dict[str, Any], value: float, length_px: float) -> float:
    low, high = axis["scale"]["domain"]
    return float((value - low) / (high - low) * length_px)
