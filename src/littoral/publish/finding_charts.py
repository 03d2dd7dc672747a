"""The chart of all findings: one row per question, each in its own unit, all zeros under one another."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from littoral.findings.model import Finding
from littoral.findings.showing import GROWTH, doubt_of, percent, ranged, sentence, shown, unit_of
from littoral.publish.chart import Chart
from littoral.publish.look import LIGHT, finished, wrapped
from littoral.quantities.counting import counted
from littoral.speech.say import later, say
from littoral.trial.measures import MEASURES
from littoral.trial.model import Question, Trial

ROW_PX = 34
CHANGE_ONLY = later(
    " Where cameras are not calibrated, the row shows how much the difference changed after the regimes began: the "
    "difference itself means nothing there."
)


def effect_chart(trial: Trial, findings: Sequence[Finding], *, width_px: float = 760) -> Chart | None:
    """Differences between the arms, with their intervals, around one zero line; None where nothing was asked.

    A diamond without interval is an account of what was written down. The shaded band is what the trial file
    declares too small to matter; dotted lines are the camera's own difference, below which nothing is claimed. A
    question without answer keeps its row and says so. Growth rates are drawn in percentage points per day.
    """
    if not findings:
        return None
    questions = {question.key: question for question in trial.questions}
    rows = [_row(trial, finding, questions.get(finding.question), width_px=width_px) for finding in findings]
    first, second = trial.arms[0].name, trial.arms[1].name
    tanks = max(finding.tanks_per_arm for finding in findings)
    sample = say("one tank per arm") if tanks == 1 else say("{tanks} tanks per arm", tanks=tanks)
    bars = say("Thick bars are 95 % intervals{stricter}", stricter=_stricter(findings))
    title = say("{second} minus {first}", second=sentence(second), first=first)
    subtitle = say(
        "Right of the line: higher with {second}; left: higher with {first}. {bars}. Each "
        "row has its own unit. {sample}.",
        second=second,
        first=first,
        bars=bars,
        sample=sentence(sample),
    )
    caption = say(
        "{title} for each question; {sample}. {bars}; a diamond is an account of what was "
        "written down, without doubt of its own. All rows share the zero line; each has its "
        "own unit. A shaded band is what the trial file declares to be too small to matter; "
        "between the dotted lines a difference cannot be told from the camera.{change_only}",
        title=title,
        sample=sample,
        bars=bars,
        change_only=say(CHANGE_ONLY) if any(_only_change(finding) for finding in findings) else "",
    )
    alt = say("Differences between the arms for {findings}. ", findings=counted(findings, "question")) + " ".join(
        f"{finding.ask} {said(trial, finding)}." for finding in findings
    )
    lines = max(len(row["title"]["text"]) + len(row["title"]["subtitle"]) - 1 for row in rows)
    body = {"vconcat": rows, "spacing": 62 + 16 * (lines - 1), "bounds": "flush"}
    spec = finished(body, title=title, subtitle=subtitle, alt=alt, width_px=width_px, trial=trial)
    return Chart("findings", title, caption, alt, spec)


def said(trial: Trial, finding: Finding) -> str:
    """Return a finding's difference with its interval in words and digits; "not answered" with the reason."""
    if finding.effect_words:
        return finding.effect_words
    if finding.effect is None:
        return say("not answered: {missing}", missing=finding.missing) if finding.missing else say("not answered")
    if _only_change(finding):
        change = finding.change
        if change is None:
            return say("not calibrated: only a change from a baseline could be told")
        ends = (change.low, change.high)
        return say(
            "change {ranged}",
            ranged=ranged(finding.measure, change.value, *ends, level=finding.level, currency=trial.currency),
        )
    if finding.low is None or finding.high is None:
        return shown(finding.measure, finding.effect, doubt=doubt_of(finding), currency=trial.currency, signed=True)
    return ranged(finding.measure, finding.effect, finding.low, finding.high, level=0.95, currency=trial.currency)


def half_range(finding: Finding, question: Question | None) -> float:
    """Return half the width of a row's axis, in the finding's unit, so that zero stands in its middle."""
    reach = [_middle(finding), finding.camera_term, question.smallest if question else None]
    reach += [end for _, _, low, high in _intervals(finding) for end in (low, high)]
    finite = [abs(one) for one in reach if one is not None and math.isfinite(one)]
    return 1.15 * max([*finite, 1e-12])


def _only_change(finding: Finding) -> bool:
    return finding.effect is not None and not finding.absolute


def _middle(finding: Finding) -> float | None:
    """Return the number that a row shows: the difference, or its change where nothing else may be told."""
    if finding.effect_words and not _intervals(finding):
        return None  # said in words: a number alone would look like an account
    if not _only_change(finding):
        return finding.effect
    return finding.change.value if finding.change is not None else None


def _intervals(finding: Finding) -> list[tuple[str, float, float, float]]:
    """Return the intervals of that number as (name, width in px, low, high): at 95 % thick, at its own level thin."""
    if _only_change(finding):
        change, width = finding.change, 5.0 if finding.level == 0.95 else 1.5
        return [] if change is None else [("", width, change.low, change.high)]
    found = [] if finding.low is None or finding.high is None else [("", 5.0, finding.low, finding.high)]
    claim = finding.claim
    return found if claim is None else [*found, ("claim_", 1.5, claim.low, claim.high)]


def _row(trial: Trial, finding: Finding, question: Question | None, *, width_px: float) -> dict[str, Any]:
    growth = finding.measure in GROWTH
    scale = 100.0 if growth else 1.0
    unit = say("percentage points per day") if growth else unit_of(finding.measure, trial.currency)
    if _middle(finding) is None:
        layers = [_no_answer(trial, finding, width_px)]
    else:
        half = half_range(finding, question) * scale
        x = _x(half, ticks=5 if width_px >= 520 else 3)
        layers = _grounds(finding, question, x, scale) + _answer(trial, finding, x, half, scale)
    name = say(MEASURES[finding.measure].name) if finding.measure in MEASURES else finding.measure
    return {
        "title": {
            "text": wrapped(
                f"{finding.ask}{' (primary question)' if finding.primary else ''}", width_px=width_px, font_px=13.5
            ),
            "subtitle": wrapped(f"{name[:1].upper()}{name[1:]}, {unit}", width_px=width_px),
            "fontSize": 13,
            "subtitleFontSize": 12,
            "subtitlePadding": 2,
            "subtitleLineHeight": 14,
            "frame": "group",
            "offset": 4,
        },
        "width": round(width_px - 60),
        "height": ROW_PX,
        "layer": layers,
    }


def _x(half: float, *, ticks: int) -> dict[str, Any]:
    return {
        "field": "effect",
        "type": "quantitative",
        "scale": {"domain": [-half, half], "nice": False},
        "axis": {
            "title": None,
            "tickCount": ticks,
            "grid": False,
            "labelExpr": "(datum.value > 0 ? '+' : '') + datum.label",
        },
    }


def _grounds(finding: Finding, question: Question | None, x: dict[str, Any], scale: float) -> list[dict[str, Any]]:
    """Return what an answer is read against: what is too small to matter, the camera's own difference, and zero."""
    layers: list[dict[str, Any]] = []
    if question is not None and question.smallest is not None:
        small = question.smallest * scale
        layers.append(
            {
                "data": {"values": [{"effect": -small, "to": small}]},
                "mark": {"type": "rect", "color": LIGHT.shade},
                "encoding": {"x": dict(x), "x2": {"field": "to"}},
            }
        )
    if finding.camera_term is not None:
        term = finding.camera_term * scale
        layers.append(
            {
                "data": {"values": [{"effect": -term}, {"effect": term}]},
                "mark": {"type": "rule", "color": LIGHT.line, "strokeDash": [2, 3]},
                "encoding": {"x": dict(x)},
            }
        )
    zero = {"type": "rule", "color": LIGHT.line, "strokeWidth": 1.4}
    return [*layers, {"data": {"values": [{"effect": 0}]}, "mark": zero, "encoding": {"x": dict(x)}}]


def _answer(trial: Trial, finding: Finding, x: dict[str, Any], half: float, scale: float) -> list[dict[str, Any]]:
    effect = _middle(finding)
    assert effect is not None
    row = {"effect": effect * scale}
    drawn = _intervals(finding)
    for name, _, low, high in drawn:
        row |= {
            f"{name}low": max(low * scale, -half),
            f"{name}high": min(high * scale, half),
        }
    data = {"values": [row]}
    middle: Mapping[str, Any] = {"y": {"value": ROW_PX / 2}}
    text = shown(finding.measure, effect, doubt=doubt_of(finding), currency=trial.currency, signed=True)
    if _only_change(finding):
        text = say("change {text}", text=text)
    edge = "center" if abs(row["effect"]) < 0.5 * half else "right" if row["effect"] > 0 else "left"
    layers = [
        {
            "data": data,
            "mark": {"type": "rule", "color": LIGHT.ink, "strokeWidth": width},
            "encoding": {
                "x": dict(x) | {"field": f"{name}low"},
                "x2": {"field": f"{name}high"},
                **middle,
            },
        }
        for name, width, _, _ in drawn
    ]
    shape = "circle" if drawn else "diamond"
    point = {"type": "point", "filled": True, "opacity": 1, "color": LIGHT.ink, "size": 80, "shape": shape}
    label = {"type": "text", "text": text, "dy": -13, "align": edge, "fontWeight": "bold", "color": LIGHT.ink}
    encoding = {"x": dict(x), **middle}
    return [
        *layers,
        {"data": data, "mark": point, "encoding": encoding},
        {"data": data, "mark": label, "encoding": encoding},
    ]


def _no_answer(trial: Trial, finding: Finding, width_px: float) -> dict[str, Any]:
    return {
        "data": {"values": [{}]},
        "mark": {
            "type": "text",
            "text": said(trial, finding),
            "align": "left",
            "limit": width_px - 64,
            "fontSize": 12,
            "color": LIGHT.soft,
        },
        "encoding": {"x": {"value": 0}, "y": {"value": ROW_PX / 2}},
    }


def _stricter(findings: Sequence[Finding]) -> str:
    """Say what the thin lines are, where questions beside the primary one are held to stricter levels (Holm)."""
    levels = sorted({finding.level for finding in findings if finding.claim is not None and finding.level > 0.95})
    if not levels:
        return ""
    named = (
        percent(levels[0])
        if len(levels) == 1
        else say("{percent} to {percent_2}", percent=percent(levels[0]), percent_2=percent(levels[-1]))
    )
    return say(", thin lines the level that a question is held to ({named})", named=named)
