"""The chart of power: how many periods, pairs or keepers it takes until a difference would show."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from littoral.findings.showing import percent
from littoral.publish.arm_line import short
from littoral.publish.chart import Chart
from littoral.publish.end_labels import apart
from littoral.publish.look import LIGHT, finished
from littoral.speech.say import later, say
from littoral.stats.power import ENOUGH, TANK_PERIODS, Power
from littoral.stats.simulated_designs import DesignKind, Spreads

PLOT_PX = 150
AXIS_PX = 46
END_PX = 40
BETWEEN_PX = AXIS_PX + END_PX + 4
SHAPES = ("circle", "square", "triangle-up", "diamond")
LABEL_PX = 14

NAMES: Mapping[DesignKind, tuple[str, str]] = {
    "periods": (later("One pair, regimes swapped"), later("periods")),
    "pairs": (later("Pairs"), later("pairs")),
    "keepers": (later("Keepers pooled, a pair from each"), later("keepers")),
    "swapped pairs": (later("Pairs that swap once"), later("pairs")),
    "pairs with baseline": (later("Pairs with a baseline"), later("pairs")),
}


@dataclass(frozen=True, slots=True)
class _OfNoTank:
    """Power is of a plan, not of photos: there is nothing rendered about it."""

    rendered: bool = False


def power_chart(curves: Sequence[Sequence[Power]], *, spreads: Spreads, width_px: float = 760) -> Chart | None:
    """Draw power against size, one panel for each kind of design, one line for each difference; None without curves.

    Each curve is the power of one kind at one difference, at two sizes or more. The line at 80 % is what is commonly
    called enough. A design that settles nothing (one pair) has no size, and is said in words.
    """
    drawn = [curve for curve in curves if len(curve) > 1 and curve[0].kind in TANK_PERIODS]
    if not drawn:
        return None
    kinds = list(dict.fromkeys(curve[0].kind for curve in drawn))
    effects = sorted({curve[0].effect for curve in drawn})
    title = say("What it takes to settle it")
    subtitle = say(
        "How often a difference that is there would show (power), a line for each size of difference, at an assumed "
        "spread of {tanks} between equal tanks and of {periods} from period to period. Above the dotted line: at least "
        "{enough}. One pair as it stands cannot settle it, however long it runs.",
        tanks=percent(spreads.tanks),
        periods=percent(spreads.periods),
        enough=percent(ENOUGH),
    ).replace(" %", "\u00a0%")
    said = " ".join(_said(curve) for curve in drawn)
    caption = say(
        "{subtitle} Simulated; between keepers the difference itself is taken to spread by {percent}.",
        subtitle=subtitle,
        percent=percent(spreads.keepers),
    )
    alt = say("Power by design, in % of trials in which the difference shows. {said}", said=said)
    columns = max(1, min(len(kinds), int(width_px // (PLOT_PX + BETWEEN_PX))))
    plot_px = (width_px - 16 - AXIS_PX - END_PX - (columns - 1) * BETWEEN_PX) / columns
    panels = [
        _panel([curve for curve in drawn if curve[0].kind == kind], kind, effects, plot_px=plot_px) for kind in kinds
    ]
    body = {"concat": panels, "columns": columns, "spacing": {"row": 84, "column": BETWEEN_PX}, "bounds": "flush"}
    spec = finished(body, title=title, subtitle=subtitle, alt=alt, width_px=width_px, trial=_OfNoTank())
    return Chart("power", title, caption, alt, spec)


def _said(curve: Sequence[Power]) -> str:
    kind, effect = curve[0].kind, curve[0].effect
    name, unit = map(say, NAMES[kind])
    reached = next((one for one in curve if one.share >= ENOUGH), None)
    if reached is None:
        best = say(
            "{percent} with {size} {unit}", percent=percent(round(curve[-1].share, 2)), size=curve[-1].size, unit=unit
        )
        return say(
            "{name}: a difference of {percent} shows in {best}, not yet {percent_2}.",
            name=name,
            percent=percent(effect),
            best=best,
            percent_2=percent(ENOUGH),
        )
    return say(
        "{name}: a difference of {percent} shows in {percent_2} from {size} {unit} on.",
        name=name,
        percent=percent(effect),
        percent_2=percent(ENOUGH),
        size=reached.size,
        unit=unit,
    )


def _panel(
    curves: Sequence[Sequence[Power]], kind: DesignKind, effects: Sequence[float], *, plot_px: float
) -> dict[str, Any]:
    name, unit = map(say, NAMES[kind])
    sizes = sorted({one.size for curve in curves for one in curve})
    height = 190.0
    every = math.ceil(len(sizes) / max(2, int(plot_px / 26)))
    x = {
        "field": "size",
        "type": "quantitative",
        "scale": {"domain": [sizes[0], sizes[-1]], "nice": False},
        "axis": {"title": unit, "values": sizes[::every], "grid": False, "format": "d", "labelFlush": False},
    }
    y = {
        "field": "share",
        "type": "quantitative",
        "scale": {"domain": [0, 106], "nice": False},
        "axis": {"title": say("power, %"), "values": [0, 20, 40, 60, 80, 100], "domain": False},
    }
    enough = {"type": "rule", "color": LIGHT.ink, "strokeDash": [2, 3], "strokeWidth": 1.2}
    layers: list[dict[str, Any]] = [
        {"data": {"values": [{"share": 100 * ENOUGH}]}, "mark": enough, "encoding": {"y": dict(y)}}
    ]
    ends = sorted(((100 * curve[-1].share, curve) for curve in curves), key=lambda one: (one[0], one[1][0].effect))
    places = apart([end for end, _ in ends], least=106 * LABEL_PX / height, low=0, high=101)
    for (_, curve), place in zip(ends, places, strict=True):
        rows = [{"size": one.size, "share": short(100 * one.share)} for one in curve]
        shape = SHAPES[list(effects).index(curve[0].effect) % len(SHAPES)]
        line = {"type": "line", "color": LIGHT.soft, "strokeWidth": 1.6}
        point = {"type": "point", "shape": shape, "filled": True, "opacity": 1, "size": 44, "color": LIGHT.ink}
        label = {
            "type": "text", "text": percent(curve[0].effect), "align": "left", "baseline": "middle", "dx": 9,
            "fontWeight": "bold", "color": LIGHT.ink,
        }  # fmt: skip
        layers += [
            {"data": {"values": rows}, "mark": line, "encoding": {"x": dict(x), "y": dict(y)}},
            {"data": {"values": rows}, "mark": point, "encoding": {"x": dict(x), "y": dict(y)}},
            {
                "data": {"values": [{"size": curve[-1].size, "share": short(place)}]},
                "mark": label,
                "encoding": {"x": dict(x) | {"scale": x["scale"]}, "y": dict(y)},
            },
        ]
    return {
        "title": {"text": name, "fontSize": 13, "offset": 8, "frame": "group"},
        "width": round(plot_px),
        "height": height,
        "layer": layers,
    }
