"""The chart of one nutrient's levels with their doubt: what was, what is expected, and what tests showed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.findings.estimates.model import Estimates, LevelEstimate
from littoral.publish.arm_line import short
from littoral.publish.bands_layers import (
    ROW_PX,
    band_layers,
    baseline_words,
    instead_layers,
    limit_layers,
    mark_rows,
    now_layers,
    reading_layers,
)
from littoral.publish.chart import Chart
from littoral.publish.end_labels import LABEL_APART_PX, LABEL_FONT_PX, apart, label_px
from littoral.publish.layers import Channel, Layer, cursor_layer
from littoral.publish.level_words import mg
from littoral.publish.look import arm_look, finished
from littoral.publish.panel import AXIS_PX, DAY_PARAM, day_ticks
from littoral.publish.words import nutrient_words, tanks_counted
from littoral.quantities.counting import counted
from littoral.speech.say import say
from littoral.trial.days import date_of
from littoral.trial.model import Trial

PLOT_PX = 250
TOP_PARAM = "top"
"""The upper end of the axis, mg/L: a page raises it where a what-if leaves the panel."""
MOST_ABOVE = 1.7
"""A reading or ceiling further above everything else than this is cut at the edge and told, or it would flatten all."""


def bands_chart(
    trial: Trial, estimates: Estimates, nutrient: str, *, width_px: float = 760, from_day: float = 0.0
) -> Chart:
    """Draw one nutrient of all tanks, mg/L from zero: median, 50 and 90 % bands, readings as ranges, what is ahead.

    The specification has an empty data set "instead-<tank>" (rows as `band_rows` gives) and a parameter "top" (mg/L)
    for each what-if that a page draws over it. Days before `from_day` are left out. Raises KeyError for a nutrient
    that is not followed.
    """
    levels = [one for one in estimates.levels if one.nutrient == nutrient]
    if not levels:
        raise KeyError(nutrient)
    title = nutrient_words(nutrient)
    readings = sum(len(one.results) for one in levels)
    last = date_of(estimates.last_day, trial)
    subtitle = say(
        "mg/L with 50 % and 90 % bands; {readings}, {tanks_counted}. Shaded: expected after "
        "{last:%Y-%m-%d} if fed as planned. Bars: readings, as their range.",
        readings=counted(readings, "reading"),
        tanks_counted=tanks_counted(trial),
        last=last,
    )
    alt = say(
        "Line chart of {name} in mg/L, day 0 to {to_day:.0f}. ",
        name=say(NUTRIENTS[nutrient].name),
        to_day=estimates.to_day,
    ) + " ".join(_say(trial, one) for one in levels)
    spec = finished(
        _body(trial, estimates, levels, width_px=width_px, from_day=from_day),
        title=title,
        subtitle=subtitle,
        alt=alt,
        width_px=width_px,
        trial=trial,
    )
    return Chart(f"bands-{nutrient}", title, _caption(trial, levels), alt, spec)


def _caption(trial: Trial, levels: Sequence[LevelEstimate]) -> str:
    flagged = any(result.surprise.flagged for one in levels for result in one.results)
    bounded = any((one.band.floor_mg_per_l, one.band.ceiling_mg_per_l) != (None, None) for one in levels)
    parts = [
        say(
            "mg/L by day since {start:%Y-%m-%d} (day 0). Line: the middle of what is likely; "
            "darker band: one in two; lighter band: nine in ten. Upright bars are readings, as "
            "the range that the test leaves open.",
            start=trial.start,
        ),
        say("A reading with a question mark is one that all else finds nearly impossible.") if flagged else "",
        say("Level lines: the floor and ceiling of the trial file.") if bounded else "",
        say(
            "Below: strokes are doses, waves are water changes; pale ones are planned. The "
            "shaded part is expected, not measured."
        ),
    ]
    return " ".join(part for part in parts if part)


def band_rows(one: Any, *, from_day: float = -math.inf) -> list[dict[str, float]]:
    """Return the rows that a band (`Bands`) is drawn from, mg/L: day, value, low and high (90 %), inner ones (50 %)."""
    columns = (one.day, one.median, one.low_90, one.high_90, one.low_50, one.high_50)
    names = ("day", "value", "low", "high", "inner_low", "inner_high")
    return [
        {name: short(float(number)) for name, number in zip(names, row, strict=True)}
        for row in zip(*columns, strict=True)
        if row[0] >= from_day
    ]


def top_of(levels: Sequence[LevelEstimate]) -> float:
    """Return the upper end of the axis, mg/L: over the bands, and over what else is not too far above them."""
    highest = max(float(one.bands.high_90.max()) for one in levels)
    readings = [result.high_mg_per_l for one in levels for result in one.results if math.isfinite(result.high_mg_per_l)]
    readings += [result.low_mg_per_l for one in levels for result in one.results]
    ceilings = [one.band.ceiling_mg_per_l for one in levels if one.band.ceiling_mg_per_l is not None]
    floors = [one.band.floor_mg_per_l for one in levels if one.band.floor_mg_per_l is not None]
    near = [value for value in (*readings, *ceilings, *floors) if value <= MOST_ABOVE * highest]
    return 1.1 * max(highest, *near, 1e-6)


def _body(
    trial: Trial, estimates: Estimates, levels: Sequence[LevelEstimate], *, width_px: float, from_day: float
) -> dict[str, Any]:
    top = top_of(levels)
    names_px = label_px(trial)
    plot_px = max(150.0, width_px - 16 - AXIS_PX - names_px - 14)
    foot_px = 2 * len(levels) * ROW_PX + 8
    y: Channel = {
        "field": "value",
        "type": "quantitative",
        "scale": {"domainMin": 0, "domainMax": {"expr": TOP_PARAM}, "nice": False, "zero": True,
                  "range": [PLOT_PX, 0]},
    }  # fmt: skip
    x: Channel = {
        "field": "day",
        "type": "quantitative",
        "scale": {"domain": [short(from_day), short(estimates.to_day)], "nice": False},
    }
    layers: list[Layer] = now_layers(estimates.now_day, estimates.to_day, x, PLOT_PX)
    if trial.baseline_days > from_day:
        layers += baseline_words(trial, x, PLOT_PX, from_day=from_day)
    for one in levels:
        layers += band_layers(
            arm_look(trial, trial.arm_of(one.tank).key).colour, band_rows(one.bands, from_day=from_day), x, y
        )
    layers += limit_layers(levels[0].band, (from_day, estimates.to_day), top, x, y)
    shown = [_within(one, from_day, estimates.to_day) for one in levels]
    for place, one in enumerate(shown):
        aside = 7.0 * (place - (len(levels) - 1) / 2)
        layers += reading_layers(arm_look(trial, trial.arm_of(one.tank).key), one.results, top, aside, x, y)
    for one in levels:
        layers += instead_layers(arm_look(trial, trial.arm_of(one.tank).key).colour, one.tank, x, y)
    layers += mark_rows(trial, shown, estimates.now_day, x, PLOT_PX)
    layers += _end_names(trial, estimates, levels, x, y, top, from_day)
    layers.append(cursor_layer(x))
    height_px = PLOT_PX + foot_px
    _title_axes(layers, from_day, estimates.to_day, plot_px)
    panel = {"title": {"text": "", "fontSize": 13}, "width": round(plot_px), "height": height_px, "layer": layers}
    return {
        "params": [DAY_PARAM, {"name": TOP_PARAM, "value": short(top)}],
        "columns": 1,
        "bounds": "flush",
        "spacing": {"row": 76, "column": AXIS_PX + names_px + 14},
        "concat": [panel],
    }


def _within(one: LevelEstimate, from_day: float, to_day: float) -> LevelEstimate:
    """Leave out what was noted for days beside the axis."""
    return replace(
        one,
        doses=tuple(dose for dose in one.doses if from_day <= dose[0] <= to_day),
        change_days=tuple(day for day in one.change_days if from_day <= day <= to_day),
        results=tuple(result for result in one.results if from_day <= result.day <= to_day),
    )


def _title_axes(layers: list[Layer], from_day: float, to_day: float, plot_px: float) -> None:
    apart_days = day_ticks(to_day - from_day, plot_px)
    step = apart_days[1] if len(apart_days) > 1 else 1.0
    ticks = [float(day) for day in np.arange(np.ceil(from_day / step) * step, to_day + 1e-9, step)]
    axes = {
        "x": {"title": say("day"), "values": ticks, "grid": False, "labelFlush": False,
              "labelOverlap": True},
        "y": {"title": "mg/L", "tickCount": 6, "grid": True, "domain": False},
    }  # fmt: skip
    for layer in layers:
        for channel, axis in axes.items():
            encoding = layer["encoding"].get(channel)
            if encoding is not None and "field" in encoding:
                encoding["axis"] = axis


def _end_names(
    trial: Trial,
    estimates: Estimates,
    levels: Sequence[LevelEstimate],
    x: Channel,
    y: Channel,
    top: float,
    from_day: float,
) -> list[Layer]:
    """Write each tank's arm where its line ends, with the arm's shape, moved apart where two would touch."""
    per_px = top / PLOT_PX
    ends = [float(one.bands.median[-1]) for one in levels]
    placed = apart(ends, least=LABEL_APART_PX * per_px, low=0.0, high=top)
    layers: list[Layer] = []
    for one, end, at in zip(levels, ends, placed, strict=True):
        arm = trial.arm_of(one.tank)
        look = arm_look(trial, arm.key)
        weekly = np.arange(3.5, estimates.to_day, 7.0)
        weekly = weekly[weekly >= from_day]
        shapes = [(float(day), float(np.interp(day, one.bands.day, one.bands.median))) for day in weekly]
        points = [{"day": short(day), "value": short(value)} for day, value in (*shapes, (estimates.to_day, end))]
        layers.append(
            {
                "data": {"values": points},
                "mark": {"type": "point", "shape": look.shape, "size": 40, "filled": True, "opacity": 1,
                         "color": look.colour},
                "encoding": {"x": dict(x), "y": dict(y)},
            }
        )  # fmt: skip
        name = arm.name if len(arm.tanks) == 1 else trial.tanks[one.tank].name
        layers.append(
            {
                "data": {"values": [{"day": short(estimates.to_day), "value": short(at)}]},
                "mark": {"type": "text", "text": name, "align": "left", "dx": 7, "fontSize": LABEL_FONT_PX,
                         "fontWeight": "bold", "color": look.colour, "limit": label_px(trial)},
                "encoding": {"x": dict(x), "y": dict(y)},
            }
        )  # fmt: skip
    return layers


def _say(trial: Trial, one: LevelEstimate) -> str:
    now, end = one.now, one.bands
    return say(
        "{name}: now {mg} (90 %: {mg_2} to {mg_3}) mg/L, at the end of the forecast {mg_4} ({mg_5} to {mg_6}) mg/L.",
        name=trial.tanks[one.tank].name,
        mg=mg(now.median),
        mg_2=mg(now.low_90),
        mg_3=mg(now.high_90),
        mg_4=mg(end.median[-1]),
        mg_5=mg(end.low_90[-1]),
        mg_6=mg(end.high_90[-1]),
    )
