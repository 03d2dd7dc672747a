"""A bench at a glance: a strip for each trial, week by week, with baseline, arms, gaps, trims and its end."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from littoral.findings.bench_year import TrialWeek, TrialYear
from littoral.publish.chart import Chart
from littoral.publish.look import ARM_LOOKS, LIGHT, finished, wrapped
from littoral.quantities.counting import counted
from littoral.speech.say import say

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
LEAST_DAYS = 26 * 7
"""A bench of one short trial is still drawn over half a year, so that weeks look alike from bench to bench."""
LANE_PX, STRIP_PX, TOP_PX, SIDE_PX = 74, 24, 40, 8
GAP_PX = 1.5
MONTH_LABEL_PX = 34


@dataclass(frozen=True, slots=True)
class _Made:
    rendered: bool


def bench_year_chart(strips: Sequence[TrialYear], *, today: date, width_px: float = 760) -> Chart | None:
    """Draw the trials, the oldest first, over the days from the first one's start; None without a trial.

    `width_px` is the width of the whole drawing.
    """
    if not strips:
        return None
    first = min(one.start for one in strips)
    days = max(LEAST_DAYS, max((one.end - first).days + 1 for one in strips), _ahead(strips, first, today))
    plot_px = width_px - 2 * SIDE_PX
    px = plot_px / days
    ordered = sorted(strips, key=lambda one: (one.start, one.key))
    layers: list[dict[str, Any]] = [
        *_months(first, days, px, len(ordered)),
        *_today(first, days, today, px, len(ordered)),
    ]
    for place, one in enumerate(ordered):
        layers += _lane(one, place, first, px, plot_px)
    body = {"width": round(plot_px), "height": TOP_PX + LANE_PX * len(ordered), "layer": layers}
    said = " ".join(_said(one) for one in ordered)
    title = say("The bench at a glance")
    subtitle = say(
        "Each box is a week. Grey: baseline, all tanks alike. Hollow: nothing was written down. A triangle: a trim."
    )
    caption = say("{subtitle} Each half of a box is an arm; a bar ends the trial.", subtitle=subtitle)
    spec = finished(
        body,
        title=title,
        subtitle=subtitle,
        alt=said,
        width_px=width_px,
        trial=_Made(all(one.rendered for one in ordered)),
    )
    return Chart("bench-year", title, f"{caption} {said}", say("Strips of weeks. {said}", said=said), spec)


def _ahead(strips: Sequence[TrialYear], first: date, today: date) -> int:
    """Return how many days are needed to show today, where a trial is still going on."""
    return (today - first).days + 1 if any(not one.ended for one in strips) and today >= first else 0


def _said(one: TrialYear) -> str:
    gaps = sum(week.gap for week in one.weeks)
    trims = sum(week.trims for week in one.weeks)
    until = say("{start} to {end}{one_}", start=one.start, end=one.end, one_=say(", ended") if one.ended else "")
    halves = say(" (above {arms}, below {arms_2})", arms=one.arms[0], arms_2=one.arms[1]) if len(one.arms) > 1 else ""
    return say(
        "{title}{halves}: {until}, {one_}, {gaps} without an entry, {trims}.",
        title=one.title,
        halves=halves,
        until=until,
        one_=counted(one.weeks, "week"),
        gaps=counted(gaps, "week"),
        trims=counted(trims, "trim"),
    )


def _value(number: float) -> dict[str, float]:
    return {"value": round(number, 2)}


def _rect(x: float, x2: float, y: float, y2: float, fill: str | None, stroke: str) -> dict[str, Any]:
    mark = {"type": "rect", "aria": False, "stroke": stroke, "strokeWidth": 1, "fill": fill or LIGHT.paper}
    return {
        "data": {"values": [{}]},
        "mark": mark,
        "encoding": {"x": _value(x), "x2": _value(x2), "y": _value(y), "y2": _value(y2)},
    }


def _text(x: float, y: float, words: str, **mark: Any) -> dict[str, Any]:
    look = {
        "type": "text",
        "aria": False,
        "text": words,
        "align": "left",
        "baseline": "middle",
        "color": LIGHT.soft,
        **mark,
    }
    return {"data": {"values": [{}]}, "mark": look, "encoding": {"x": _value(x), "y": _value(y)}}


def _rule(x: float, y: float, y2: float, colour: str, width: float) -> dict[str, Any]:
    mark = {"type": "rule", "aria": False, "color": colour, "strokeWidth": width}
    return {"data": {"values": [{}]}, "mark": mark, "encoding": {"x": _value(x), "y": _value(y), "y2": _value(y2)}}


def _months(first: date, days: int, px: float, lanes: int) -> list[dict[str, Any]]:
    layers: list[dict[str, Any]] = []
    free_from = -1.0
    bottom = TOP_PX + LANE_PX * lanes - 14
    for ahead in range(days):
        day = first + timedelta(days=ahead)
        if day.day != 1:
            continue
        layers.append(_rule(ahead * px, TOP_PX - 14, bottom, LIGHT.grid, 1))
        if ahead * px >= free_from and ahead * px < days * px - MONTH_LABEL_PX:
            name = f"{MONTHS[day.month - 1]} {day.year}" if day.month == 1 or free_from < 0 else MONTHS[day.month - 1]
            layers.append(_text(ahead * px + 3, TOP_PX - 22, name))
            free_from = ahead * px + MONTH_LABEL_PX + (30 if len(name) > 3 else 0)
    return layers


def _today(first: date, days: int, today: date, px: float, lanes: int) -> list[dict[str, Any]]:
    ahead = (today - first).days
    if not 0 <= ahead < days:
        return []
    x, right = ahead * px, ahead > days / 2
    label = _text(x + (-4 if right else 4), 6, say("today"), color=LIGHT.ink, align="right" if right else "left")
    return [_rule(x, 0, TOP_PX + LANE_PX * lanes - 14, LIGHT.ink, 1), label]


def _lane(one: TrialYear, place: int, first: date, px: float, plot_px: float) -> list[dict[str, Any]]:
    top = TOP_PX + LANE_PX * place
    strip = top + 20
    start = (one.start - first).days * px
    end = ((one.end - first).days + 1) * px
    right = start > plot_px / 2
    room = (end if right else plot_px - start) - 4
    name = wrapped(one.title, width_px=max(room, 60), font_px=13)
    shown = name[0] if len(name) == 1 else f"{name[0].rstrip(' ,;:')} …"
    layers = [
        _text(
            end if right else start,
            top + 8,
            shown,
            fontWeight="bold",
            color=LIGHT.ink,
            align="right" if right else "left",
        )
    ]
    for week in one.weeks:
        layers += _week(week, one, first, strip, px)
    layers.append(
        _rule(end, strip - 4, strip + STRIP_PX + 4, LIGHT.ink if one.ended else LIGHT.line, 3 if one.ended else 1)
    )
    return layers


def _week(week: TrialWeek, one: TrialYear, first: date, strip: float, px: float) -> list[dict[str, Any]]:
    x = (week.first - first).days * px
    x2 = x + week.days * px - GAP_PX
    half = strip + STRIP_PX / 2
    layers: list[dict[str, Any]] = []
    if week.gap or not week.begun:
        layers.append(_rect(x, x2, strip, strip + STRIP_PX, None, LIGHT.line if week.gap else LIGHT.grid))
    elif week.stage == "baseline":
        layers.append(_rect(x, x2, strip, strip + STRIP_PX, LIGHT.line, LIGHT.line))
    else:
        looks = [ARM_LOOKS[place % len(ARM_LOOKS)] for place in range(max(2, len(one.arms)))]
        upper, lower = looks[0].colour, looks[1].colour
        if week.stage == "arms swapped":
            upper, lower = lower, upper
        layers.append(_rect(x, x2, strip, half, upper, upper))
        layers.append(_rect(x, x2, half, strip + STRIP_PX, lower, lower))
    if week.trims:
        mark = {
            "type": "point",
            "aria": False,
            "shape": "triangle-up",
            "size": 46,
            "filled": True,
            "color": LIGHT.ink,
            "opacity": 1,
        }
        at = {"x": _value((x + x2) / 2), "y": _value(strip + STRIP_PX + 9)}
        layers.append({"data": {"values": [{}]}, "mark": mark, "encoding": at})
    return layers
