"""The chart of pooled keepers: one row for each home, their average below, and what one further home may find."""

from __future__ import annotations

import math
from typing import Any

from littoral.findings.model import Interval
from littoral.findings.pooled import PooledFinding
from littoral.findings.pooled_showing import as_seen, interval_text, unit_text
from littoral.findings.showing import MINUS, decimals_for, percent
from littoral.publish.arm_line import short
from littoral.publish.chart import Chart
from littoral.publish.look import LIGHT, finished, wrapped
from littoral.quantities.counting import counted
from littoral.trial.measures import MEASURES

ROW_PX = 34
SLIM_ROW_PX = 48
NAMES_PX = 190
VALUES_PX = 172
SLIM_UNDER_PX = 560
LINE_PX = 14


def forest_chart(
    found: PooledFinding, *, arms: tuple[str, str], width_px: float = 760, currency: str = ""
) -> Chart | None:
    """Draw each keeper's difference with its interval, the larger the square the more it weighs; None without keepers.

    The diamond is the average's interval, the thin line under it the prediction interval; neither is drawn below five
    keepers. The shaded band is the margin set beforehand. `arms` are the names of first and second arm.
    """
    if not found.results:
        return None
    measure = MEASURES[found.measure].name
    joined = "against" if found.scale == "ratio" else "minus"
    title = f"{arms[1][:1].upper()}{arms[1][1:]} {joined} {arms[0]}, {counted(found.results, 'keeper')}"
    unit = unit_text(found.measure, found.scale, currency, difference=True)
    pooled = found.claim is not None
    about = (
        "The diamond is the average, the line below it what one further keeper may find."
        if pooled
        else "Too few keepers to pool: each stands by itself."
    )
    side = f"Right of the line: higher with {arms[1]}."
    subtitle = f"{measure[:1].upper()}{measure[1:]}, {unit}. {side} Bars are 95 % intervals. {about}"
    caption = (
        f"{title}; {measure}, {unit}. {side} Bars are each keeper's 95 % interval"
        f"{', squares the larger the more a keeper weighs' if pooled else ''}. "
        f"{found.rule_text}{' The shaded band was set beforehand as too small to matter.' if found.smallest else ''}"
    )
    alt = f"{measure[:1].upper()}{measure[1:]}: {' '.join(_said(found, currency))} {found.wording}"
    spec = finished(_body(found, width_px), title=title, subtitle=subtitle, alt=alt, width_px=width_px, trial=found)
    return Chart("keepers", title, caption, alt, spec)


def _said(found: PooledFinding, currency: str) -> list[str]:
    return [
        f"{one.keeper} {interval_text(found.measure, found.scale, one.effect, level=0.95, currency=currency)}."
        for one in found.results
    ]


def _seen(found: PooledFinding, value: float) -> float:
    return as_seen(found.measure, found.scale, value)


def _domain(found: PooledFinding) -> tuple[float, float]:
    """Return the axis' ends in the unit shown; zero is always in it."""
    shown = [one.effect for one in found.results] + [one for one in (found.claim, found.prediction) if one is not None]
    ends = [0.0, *(end for one in shown for end in (one.low, one.high))]
    if found.smallest is not None:
        ends += [-found.smallest, found.smallest]
    low, high = _seen(found, min(ends)), _seen(found, max(ends))
    pad = 0.04 * (high - low)
    return low - pad, high + pad


def _body(found: PooledFinding, width_px: float) -> dict[str, Any]:
    slim = width_px < SLIM_UNDER_PX
    plot_px = width_px - 28 - (0 if slim else NAMES_PX + VALUES_PX)
    row_px = SLIM_ROW_PX if slim else ROW_PX
    rows = len(found.results)
    height = row_px * (rows + (2 if found.claim is not None else 0)) + 6
    x = {
        "field": "at",
        "type": "quantitative",
        "scale": {"domain": list(_domain(found)), "nice": False},
        "axis": {
            "title": None,
            "grid": False,
            "tickCount": 4 if slim else 6,
            "labelExpr": "(datum.value > 0 ? '+' : '') + datum.label",
        },
    }
    layers: list[dict[str, Any]] = []
    if found.smallest is not None:
        less, more = (_seen(found, end) for end in (-found.smallest, found.smallest))
        layers.append(
            {
                "data": {"values": [{"at": less, "to": more}]},
                "mark": {"type": "rect", "color": LIGHT.shade},
                "encoding": {"x": x, "x2": {"field": "to"}},
            }
        )
    layers += _zero(x, rows=rows + (2 if found.claim is not None else 0), row_px=row_px, slim=slim)
    for place, one in enumerate(found.results):
        middle = (place + 0.5) * row_px + (10 if slim else 0)
        layers += _keeper(found, place, one.effect, x, middle)
        layers += _words(one.keeper, found, one.effect, middle=middle, plot_px=plot_px, slim=slim)
    if found.claim is not None:
        layers += _average(found, x, row_px=row_px, slim=slim, plot_px=plot_px)
    return {"width": round(plot_px), "height": height, "layer": layers}


def _zero(x: dict[str, Any], *, rows: int, row_px: float, slim: bool) -> list[Any]:
    """Return the line at 0: whole on a page, on a phone only beside the bars, where it crosses no words."""
    mark = {"type": "rule", "color": LIGHT.line, "strokeWidth": 1.4}
    data = {"values": [{"at": 0}]}
    if not slim:
        return [{"data": data, "mark": mark, "encoding": {"x": x}}]
    middles = [(row + 0.5) * row_px + 10 for row in range(rows)]
    return [
        {"data": data, "mark": mark, "encoding": {"x": x, "y": {"value": at - 9}, "y2": {"value": at + 12}}}
        for at in middles
    ]


def _keeper(found: PooledFinding, place: int, effect: Interval, x: dict[str, Any], middle: float) -> list[Any]:
    weight = found.pooled.weight[place] * len(found.results) if found.pooled is not None else 1.0
    row = {
        "at": short(_seen(found, effect.value)),
        "low": short(_seen(found, effect.low)),
        "high": short(_seen(found, effect.high)),
    }
    y = {"y": {"value": middle}}
    return [
        {
            "data": {"values": [row]},
            "mark": {"type": "rule", "color": LIGHT.ink, "strokeWidth": 2},
            "encoding": {"x": x | {"field": "low"}, "x2": {"field": "high"}, **y},
        },
        {
            "data": {"values": [row]},
            "mark": {
                "type": "point", "shape": "square", "filled": True, "opacity": 1, "color": LIGHT.ink,
                "size": short(min(220.0, max(14.0, 70.0 * weight))),
            },
            "encoding": {"x": x, **y},
        },
    ]  # fmt: skip


def _average(found: PooledFinding, x: dict[str, Any], *, row_px: float, slim: bool, plot_px: float) -> list[Any]:
    assert found.claim is not None
    rows, claim = len(found.results), found.claim
    top = rows * row_px + 2
    middle = (rows + 0.5) * row_px + (10 if slim else 0)
    corners = [(claim.low, 0.0), (claim.value, -8.0), (claim.high, 0.0), (claim.value, 8.0), (claim.low, 0.0)]
    diamond = [{"at": short(_seen(found, at)), "y": middle + dy, "turn": i} for i, (at, dy) in enumerate(corners)]
    height = row_px * (rows + 2) + 6
    y = {"field": "y", "type": "quantitative", "scale": {"domain": [height, 0], "nice": False}, "axis": None}
    rule = {"type": "rule", "color": LIGHT.grid, "strokeWidth": 1}
    layers: list[Any] = [
        {"data": {"values": [{}]}, "mark": rule, "encoding": {"y": {"value": top}}},
        {
            "data": {"values": diamond},
            "mark": {"type": "line", "interpolate": "linear-closed", "fill": LIGHT.ink, "stroke": LIGHT.ink,
                     "strokeWidth": 1},
            "encoding": {"x": x, "y": y, "order": {"field": "turn", "type": "quantitative"}},
        },
        *_words(f"Average ({percent(found.level)} interval)", found, claim, middle=middle, plot_px=plot_px, slim=slim,
                bold=True),
    ]  # fmt: skip
    if found.prediction is not None:
        lower = middle + row_px
        ends = found.prediction.low, found.prediction.high
        row = {"at": short(_seen(found, ends[0])), "high": short(_seen(found, ends[1]))}
        encoding = {"x": x, "x2": {"field": "high"}, "y": {"value": lower}}
        layers.append(
            {
                "data": {"values": [row]},
                "mark": {"type": "rule", "color": LIGHT.soft, "strokeWidth": 1.5},
                "encoding": encoding,
            }
        )
        layers += [
            {
                "data": {"values": [row]},
                "mark": {"type": "tick", "color": LIGHT.soft, "size": 9, "thickness": 1.5, "orient": "vertical"},
                "encoding": {"x": x | {"field": end}, "y": {"value": lower}},
            }
            for end in ("at", "high")
        ]
        layers += _words(
            "One further keeper", found, found.prediction, middle=lower, plot_px=plot_px, slim=slim, ends_only=True
        )
    return layers


def _words(
    name: str,
    found: PooledFinding,
    one: Interval,
    *,
    middle: float,
    plot_px: float,
    slim: bool,
    bold: bool = False,
    ends_only: bool = False,
) -> list[Any]:
    """Return a row's name and numbers: beside the bars on a page, above them on a phone."""
    value, *ends = (_seen(found, at) for at in (one.value, one.low, one.high))
    doubt = (ends[1] - ends[0]) / 2
    low, high = (_number(end, doubt) for end in ends)
    numbers = f"{low} to {high}" if ends_only else f"{_number(value, doubt)} ({low} to {high})"
    room = plot_px - 7 * len(numbers) if slim else NAMES_PX - 16
    lines = wrapped(name, width_px=room, font_px=12)
    if slim or len(lines) > 2:
        lines = lines[:1] if len(lines) == 1 else [*lines[: 0 if slim else 1], _shortened(name, lines, slim=slim)]
    text = {"type": "text", "fontSize": 12, "color": LIGHT.ink, "fontWeight": "bold" if bold else "normal"}
    above = middle - 17
    first = above if slim else middle - (len(lines) - 1) * LINE_PX / 2
    return [
        {
            "data": {"values": [{}]},
            "mark": text | {"text": lines, "align": "left", "baseline": "middle", "lineHeight": LINE_PX},
            "encoding": {"x": {"value": 0 if slim else -NAMES_PX}, "y": {"value": first}},
        },
        {
            "data": {"values": [{}]},
            "mark": text | {"text": numbers, "align": "right" if slim else "left", "baseline": "middle"},
            "encoding": {"x": {"value": plot_px if slim else plot_px + 12}, "y": {"value": above if slim else middle}},
        },
    ]


def _shortened(name: str, lines: list[str], *, slim: bool) -> str:
    """Return the last line that there is room for, with an ellipsis where the name goes on; the alt has it whole."""
    line = lines[0 if slim else 1]
    return line if name.endswith(line) else f"{line.rstrip(' ,')}…"


def _number(value: float, doubt: float) -> str:
    """Return a difference with its sign, with the digits that its doubt leaves (both in the unit shown)."""
    digits = decimals_for(doubt) if math.isfinite(doubt) else 2
    rounded = round(value, digits) + 0.0
    return (f"{rounded:+.{digits}f}" if rounded else f"{rounded:.{digits}f}").replace("-", MINUS)
