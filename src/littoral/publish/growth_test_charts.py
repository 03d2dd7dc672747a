"""Charts of a growth test: each dose's curves beside the control's on a logarithmic axis, and one number per vessel."""

from __future__ import annotations

import json
import textwrap
from typing import Any

from littoral.findings.growth_test.model import Compared, GrowthTest, MeasuredGrowth, values_of
from littoral.publish.arm_line import short
from littoral.publish.chart import Chart
from littoral.publish.look import ARM_LOOKS, LIGHT, finished
from littoral.speech.say import say

PANEL_PX = 150
GAP_PX = 14
AXIS_PX = 48
PANEL_HEIGHT_PX = 130
VERSUS_HEIGHT_PX = 240
MOST_PANELS = 24


def curves_chart(found: GrowthTest, result: MeasuredGrowth, *, width_px: float = 760) -> Chart:
    """Draw every vessel's sizes against days, one panel for each dose, with the control's vessels behind in grey.

    On a logarithmic axis an even growth rate is a straight line. Nothing of 0 can be drawn on it; such a day is left
    out and said so.
    """
    name, unit = result.measured.name, result.measured.unit
    groups = found.table.groups
    columns = max(2, int((width_px - 16 - AXIS_PX + GAP_PX) // (PANEL_PX + GAP_PX)))
    columns = min(columns, max(len(groups), 1))
    panel_px = (width_px - 16 - AXIS_PX - (columns - 1) * GAP_PX) / columns
    sizes = [float(size) for vessel in found.table.vessels for size in vessel.sizes[name].size]
    nothing = any(size <= 0 for size in sizes)
    low, high = min(size for size in sizes if size > 0), max(sizes)
    panels = [
        _panel(found, result, at, first=at % columns == 0, last=at >= min(len(groups), MOST_PANELS) - columns,
               domain=(low * 0.9, high * 1.15), panel_px=panel_px)
        for at in range(min(len(groups), MOST_PANELS))
    ]  # fmt: skip
    of = f"{name}, {unit}" if unit else name
    title = f"{name[:1].upper()}{name[1:]} in each vessel"
    subtitle = (
        f"{of[:1].upper()}{of[1:]}, against days, on a logarithmic axis: an even growth rate is a straight line. Each "
        f"line is a vessel; grey is the control.{' Where nothing was left the line ends.' if nothing else ''}"
    )
    alt = f"{title}. {' '.join(_said(result, group.name, found.table.unit) for group in groups)}"
    body = {"concat": panels, "columns": columns, "spacing": {"row": 66, "column": GAP_PX}, "bounds": "flush"}
    spec = finished(body, title=title, subtitle=subtitle, alt=alt, width_px=width_px, trial=found)
    return Chart(f"curves-{name.replace(' ', '-')}", title, subtitle, alt, spec)


def _said(result: MeasuredGrowth, group: str, unit: str) -> str:
    own = [one for one in result.vessels if one.group == group]
    start = sum(one.start for one in own) / len(own)
    end = sum(one.end for one in own) / len(own)
    called = f"{group} {unit}".strip()
    return f"{called}: from {start:.3g} to {end:.3g} on average of {len(own)} vessels."


def _panel(
    found: GrowthTest, result: MeasuredGrowth, at: int, *, first: bool, last: bool, domain: tuple[float, float],
    panel_px: float,
) -> dict[str, Any]:  # fmt: skip
    groups = found.table.groups
    name = result.measured.name
    days = [float(day) for vessel in found.table.vessels for day in vessel.sizes[name].day]
    x = {
        "field": "day", "type": "quantitative", "scale": {"domain": [min(days), max(days)], "nice": False},
        "axis": {"title": say("days") if last else None, "tickCount": 4, "grid": False, "labels": True},
    }  # fmt: skip
    y = {
        "field": "size", "type": "quantitative", "scale": {"type": "log", "domain": list(domain), "nice": False},
        "axis": {"title": None, "tickCount": 4, "labels": first, "ticks": first, "domain": first, "grid": True},
    }  # fmt: skip
    layers = [_lines(found, name, groups[0].name, x, y, colour=LIGHT.line, width=1.2)]
    if at:
        layers.append(_lines(found, name, groups[at].name, x, y, colour=ARM_LOOKS[0].colour, width=1.8))
    unit = f" {found.table.unit}" if found.table.unit and groups[at].amount is not None else ""
    head = "control" if at == 0 else f"{groups[at].name}{unit}"
    label = {
        "data": {"values": [{}]},
        "mark": {"type": "text", "align": "left", "baseline": "bottom", "fontWeight": "bold", "fontSize": 12,
                 "color": LIGHT.ink, "lineHeight": 13, "text": _fitting(head, panel_px)},
        "encoding": {"x": {"value": 0}, "y": {"value": -5}},
    }  # fmt: skip
    return {"width": round(panel_px), "height": PANEL_HEIGHT_PX, "layer": [*layers, label]}


def _fitting(name: str, width_px: float) -> list[str]:
    """Return a name in at most two lines of a panel's width, shortened in its middle."""
    most = 2 * max(8, int(width_px / 7.5))
    return textwrap.wrap(_shortened(name, most - 4), most // 2)


def _shortened(name: str, most: int) -> str:
    """Return a name of at most `most` characters: names that begin alike differ at their ends, so the middle goes."""
    head = most // 3
    return name if len(name) <= most else f"{name[:head].rstrip()}…{name[head + 1 - most :].lstrip()}"


def _labels(names: list[str], width_px: float, *, slim: bool) -> list[Any]:
    """Return what stands under the axis: on a page in lines of its own room, on a phone (slanted) in one line."""
    if slim:
        return [_shortened(name, 22) for name in names]
    room = max(6, int(width_px / len(names) / 7))
    return [textwrap.wrap(_shortened(name, 3 * room), room) for name in names]


def _lines(found: GrowthTest, name: str, group: str, x: Any, y: Any, *, colour: str, width: float) -> dict[str, Any]:
    rows = [
        {"vessel": at, "day": short(float(day)), "size": short(float(size))}
        for at, vessel in enumerate(found.table.vessels)
        if vessel.group == group
        for day, size in zip(vessel.sizes[name].day, vessel.sizes[name].size, strict=True)
        if size > 0
    ]
    mark = {
        "type": "line", "color": colour, "strokeWidth": width, "opacity": 1,
        "point": {"color": colour, "size": 14, "opacity": 1, "filled": True},
    }  # fmt: skip
    return {"data": {"values": rows}, "mark": mark, "encoding": {"x": x, "y": y, "detail": {"field": "vessel"}}}


def versus_chart(found: GrowthTest, result: MeasuredGrowth, of: Compared, *, width_px: float = 760) -> Chart:
    """Draw one number of each vessel by dose: a point a vessel, the mean as a bar, the control's mean across."""
    groups = found.table.groups
    unit = of.unit
    name = result.measured.name
    title = f"{of.of[:1].upper()}{of.of[1:]} of {name}"
    tested = any(one.reach is not None for one in of.doses)
    which_end = "at either end of its" if of.side is None else "at the end of its one-sided"
    about = (
        f" Thin bars: what the mean would be if its difference from the control were {which_end} 95 % interval "
        "(Dunnett; all hold together)."
        if tested
        else " Too few vessels for a test, so there are no intervals."
    )
    subtitle = f"{unit[:1].upper()}{unit[1:]}. Each point is a vessel, the short line their mean; the long line is the "
    subtitle += f"control's mean.{about}"
    rows, means = [], []
    control = of.control.mean
    for at, (group, one) in enumerate(zip(groups, (of.control, *of.doses), strict=True)):
        values = values_of(result.vessels, group.name, of.of)
        wide = min(0.18, 0.5 / max(len(values), 1))
        rows += [
            {"at": short(at + 1 + (i - (len(values) - 1) / 2) * wide), "value": short(float(value)), "dose": at > 0}
            for i, value in enumerate(values)
        ]
        if one.mean is not None:
            mean: dict[str, Any] = {"at": at + 1, "left": at + 0.72, "right": at + 1.28, "value": short(one.mean)}
            if one.difference is not None and one.reach is not None and control is not None:
                low, high = (one.difference if end is None else end for end in (one.low, one.high))
                mean |= {"low": short(control + low), "high": short(control + high)}
            means.append(mean)
    names = ["control", *(group.name for group in groups[1:])]
    slim = width_px < 560
    angled = slim and (len(names) > 4 or max(map(len, names)) > 8)
    x = {
        "field": "at", "type": "quantitative", "scale": {"domain": [0.5, len(groups) + 0.5], "nice": False},
        "axis": {
            "title": found.table.unit if found.table.ordered and found.table.unit else None, "grid": False,
            "values": list(range(1, len(groups) + 1)), "ticks": False,
            "labelExpr": f"{json.dumps(_labels(names, width_px - 80, slim=slim))}[datum.value - 1]",
            "labelAngle": -40 if angled else 0, "labelLimit": 150, "labelOverlap": False,
        },
    }  # fmt: skip
    y = {"field": "value", "type": "quantitative", "scale": {"zero": False, "nice": True}, "axis": {"title": unit}}
    ends = [row for row in means if "low" in row]
    layers: list[dict[str, Any]] = []
    if control is not None:
        layers.append({
            "data": {"values": [{"value": short(control)}]},
            "mark": {"type": "rule", "color": LIGHT.line, "strokeWidth": 1.2}, "encoding": {"y": y},
        })  # fmt: skip
    layers += [
        {
            "data": {"values": ends},
            "mark": {"type": "rule", "color": LIGHT.ink, "strokeWidth": 1.2},
            "encoding": {"x": x, "y": y | {"field": "low"}, "y2": {"field": "high"}},
        },
        {
            "data": {"values": means},
            "mark": {"type": "rule", "color": LIGHT.ink, "strokeWidth": 2.4},
            "encoding": {"x": x | {"field": "left"}, "x2": {"field": "right"}, "y": y},
        },
        *(
            {
                "data": {"values": [row for row in rows if row["dose"] is dose]},
                "mark": {"type": "point", "filled": True, "size": 52, "opacity": 1, "color": colour},
                "encoding": {"x": x, "y": y},
            }
            for dose, colour in ((False, LIGHT.soft), (True, ARM_LOOKS[0].colour))
        ),
    ]
    alt = f"{title}, {unit}. " + " ".join(
        f"{name}: {one.mean:.3g} on average of {one.vessels} vessels."
        for name, one in zip(names, (of.control, *of.doses), strict=True)
        if one.mean is not None
    )
    body = {"width": round(width_px - 80), "height": VERSUS_HEIGHT_PX, "layer": layers}
    spec = finished(body, title=title, subtitle=subtitle, alt=alt, width_px=width_px, trial=found)
    return Chart(f"{of.of.replace(' ', '-')}-{name.replace(' ', '-')}", title, subtitle, alt, spec)
