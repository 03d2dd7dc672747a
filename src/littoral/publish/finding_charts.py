"""The chart of all findings: one row per question, each in its own unit, all zeros under one another."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from littoral.findings.model import Finding
from littoral.publish.chart import Chart
from littoral.publish.look import LIGHT, finished, wrapped
from littoral.trial.measures import MEASURES
from littoral.trial.model import Question, Trial

ROW_PX = 34


def effect_chart(trial: Trial, findings: Sequence[Finding], *, width_px: float = 760) -> Chart:
    """Differences between the arms, with their intervals, around one zero line.

    A diamond without interval is an account of what was written down. The shaded band is what was declared too small
    to matter before the start. A question without answer keeps its row and says so.
    """
    questions = {question.key: question for question in trial.questions}
    rows = [_row(finding, questions.get(finding.question), width_px=width_px) for finding in findings]
    first, second = trial.arms[0].name, trial.arms[1].name
    answered = [finding for finding in findings if finding.effect is not None]
    tanks = max((finding.tanks_per_arm for finding in findings), default=1)
    counted = "one tank per arm" if tanks == 1 else f"{tanks} tanks per arm"
    levels = _levels(findings)
    title = f"{_upper(second)} minus {first}"
    subtitle = (
        f"Points right of the line: higher with {second}; left: higher with {first}. "
        f"Bars are {levels} intervals; each row has its own unit. {counted[0].upper()}{counted[1:]}."
    )
    caption = (
        f"{second} minus {first} for each question, with {levels} intervals where it is an estimate and a diamond "
        f"where it is an account of what was written down; {counted}. "
        "All rows share the zero line; each has its own unit. A shaded band is what was declared before the "
        "start to be too small to matter."
    )
    alt = f"Differences between the arms for {len(findings)} questions. " + " ".join(
        f"{finding.ask} {finding.effect:+.3g} {finding.unit}{_interval_said(finding)}."
        if finding.effect is not None
        else f"{finding.ask} Not answered."
        for finding in findings
    )
    lines = max((len(row["title"]["text"]) for row in rows), default=1)
    body = {"vconcat": rows, "spacing": 62 + 16 * (lines - 1), "bounds": "flush"}
    spec = finished(body, title=title, subtitle=subtitle, alt=alt, width_px=width_px, trial=trial)
    return Chart("findings", f"{title} ({len(answered)} of {len(findings)} questions answered)", caption, alt, spec)


def half_range(finding: Finding, question: Question | None) -> float:
    """Return half the width of a row's axis, in the finding's unit, so that zero stands in its middle."""
    reach = [finding.effect, finding.low, finding.high, question.smallest if question else None]
    finite = [abs(one) for one in reach if one is not None and math.isfinite(one)]
    return 1.15 * max([*finite, 1e-12])


def _row(finding: Finding, question: Question | None, *, width_px: float) -> dict[str, Any]:
    half = half_range(finding, question)
    x: dict[str, Any] = {
        "field": "effect",
        "type": "quantitative",
        "scale": {"domain": [-half, half], "nice": False},
        "axis": {
            "title": None,
            "tickCount": 5 if width_px >= 520 else 3,
            "grid": False,
            "labelExpr": "(datum.value > 0 ? '+' : '') + datum.label",
        },
    }
    middle = {"y": {"value": ROW_PX / 2}}
    layers: list[dict[str, Any]] = []
    if question is not None and question.smallest is not None:
        layers.append(
            {
                "data": {"values": [{"effect": -question.smallest, "to": question.smallest}]},
                "mark": {"type": "rect", "color": LIGHT.shade},
                "encoding": {"x": dict(x), "x2": {"field": "to"}},
            }
        )
    layers.append(
        {
            "data": {"values": [{"effect": 0}]},
            "mark": {"type": "rule", "color": LIGHT.line, "strokeWidth": 1.4},
            "encoding": {"x": dict(x)},
        }
    )
    layers = [*layers, *_answer(finding, x, middle)] if finding.effect is not None else [_no_answer(finding, width_px)]
    primary = " (primary question)" if question is not None and question.primary else ""
    return {
        "title": {
            "text": wrapped(f"{finding.ask}{primary}", width_px=width_px, font_px=13),
            "subtitle": f"{_measured_as(finding)} ({finding.unit})",
            "fontSize": 13,
            "subtitleFontSize": 12,
            "subtitlePadding": 2,
            "frame": "group",
            "offset": 4,
        },
        "width": round(width_px - 60),
        "height": ROW_PX,
        "layer": layers,
    }


def _answer(finding: Finding, x: dict[str, Any], middle: Mapping[str, Any]) -> list[dict[str, Any]]:
    estimated = finding.low is not None and finding.high is not None
    data = {"values": [{"effect": finding.effect, "low": finding.low, "high": finding.high}]}
    point = {"type": "point", "filled": True, "opacity": 1, "color": LIGHT.ink, "size": 80}
    layers: list[dict[str, Any]] = []
    if estimated:
        layers.append(
            {
                "data": data,
                "mark": {"type": "rule", "color": LIGHT.ink, "strokeWidth": 3},
                "encoding": {"x": dict(x) | {"field": "low"}, "x2": {"field": "high"}, **middle},
            }
        )
    layers.append(
        {
            "data": data,
            "mark": {**point, "shape": "circle" if estimated else "diamond"},
            "encoding": {"x": dict(x), **middle},
        }
    )
    layers.append(
        {
            "data": data,
            "mark": {
                "type": "text",
                "text": f"{finding.effect:+.3g} {finding.unit}",
                "dy": -13,
                "align": "center" if abs(finding.effect or 0) < 0.5 * half_range_of(x) else "right",
                "fontSize": 12,
                "fontWeight": "bold",
                "color": LIGHT.ink,
            },
            "encoding": {"x": dict(x), **middle},
        }
    )
    return layers


def half_range_of(x: Mapping[str, Any]) -> float:
    """Return half the width of an axis that is even around zero."""
    return float(x["scale"]["domain"][1])


def _no_answer(finding: Finding, width_px: float) -> dict[str, Any]:
    return {
        "data": {"values": [{}]},
        "mark": {
            "type": "text",
            "text": f"not answered: {finding.missing}" if finding.missing else "not answered",
            "align": "left",
            "limit": width_px - 64,
            "fontSize": 12,
            "color": LIGHT.soft,
        },
        "encoding": {"x": {"value": 4}, "y": {"value": ROW_PX / 2}},
    }


def _measured_as(finding: Finding) -> str:
    return MEASURES[finding.measure].name if finding.measure in MEASURES else finding.measure


def _interval_said(finding: Finding) -> str:
    if finding.low is None or finding.high is None:
        return ""
    return f" ({percent(finding.level)} interval {finding.low:+.3g} to {finding.high:+.3g})"


def percent(level: float) -> str:
    """Return an interval's level as a person writes it: 0.95 is "95 %", 0.9833 is "98.3 %"."""
    return f"{100 * level:.3g} %"


def _levels(findings: Sequence[Finding]) -> str:
    """Name the levels of the intervals shown; the questions that are not primary have stricter ones (Holm)."""
    found = sorted({percent(finding.level) for finding in findings if finding.low is not None})
    if len(found) > 1:
        return f"{found[0]} to {found[-1]}"
    return found[0] if found else "95 %"


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]
