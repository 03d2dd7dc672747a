"""findings.json: what was found, for machines. `schemas/findings.schema.json` says what each key means."""

from __future__ import annotations

import importlib.resources
import json
import math
from collections.abc import Iterable, Sequence
from typing import Any, cast

import littoral
from littoral.findings.model import ArmValue, Curve, Evidence, Finding, Interval, LeftOut
from littoral.findings.several import SOURCE, Several, several
from littoral.publish.planned_week import planned_mg_per_l_per_week
from littoral.stats.series import Series
from littoral.trial.model import Arm, Trial

SCHEMA = "littoral findings 1"
SCHEMA_FILE = "findings.schema.json"
"""Where findings.json says that its schema lies: beside it."""


def findings_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of findings.json."""
    return cast("dict[str, Any]", json.loads(schema_text()))


def schema_text() -> str:
    """Return the text of that schema, as it is published beside findings.json."""
    return importlib.resources.files("littoral.publish").joinpath("schemas", SCHEMA_FILE).read_text("utf-8")


def findings_json(trial: Trial, findings: Sequence[Finding]) -> dict[str, Any]:
    """Return the findings of a trial as plain data that follows the schema. Numbers are not rounded."""
    return {
        "$schema": SCHEMA_FILE,
        "schema": SCHEMA,
        "software": {"name": "littoral", "version": littoral.__version__},
        "trial": {
            "key": trial.key,
            "title": trial.title,
            "factor": trial.factor,
            "start": trial.start.isoformat(),
            "zone": trial.zone,
            "baseline_days": trial.baseline_days,
            "length_days": trial.length_days,
            "rendered": trial.rendered,
            "arms": [
                {"key": arm.key, "name": arm.name, "tanks": list(arm.tanks), "regime": arm.regime, **_fed(trial, arm)}
                for arm in trial.arms
            ],
        },
        "findings": [_finding(finding) for finding in findings],
        "several": _several(several(findings)),
    }  # fmt: skip


def _several(found: Several) -> dict[str, Any]:
    return {
        "tested": found.tested,
        "called": found.called,
        "passing": found.passing,
        "false_share": found.false_share,
        "by_luck": found.by_luck,
        "adjusted": [{"question": question, "p_value": _number(p)} for question, p in found.adjusted],
        "text": found.text,
        "source": SOURCE,
    }


def _fed(trial: Trial, arm: Arm) -> dict[str, dict[str, float]]:
    """Return what the arm's regime plans, so that others can see whether theirs is the same; {} where not known."""
    planned = planned_mg_per_l_per_week(trial, arm.tanks, arm.regime)
    return {} if planned is None else {"fed_mg_per_l_per_week": planned}


def findings_text(trial: Trial, findings: Sequence[Finding]) -> str:
    """Return findings.json as text: keys in the order of the schema, two spaces, a newline at its end."""
    return json.dumps(findings_json(trial, findings), indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def _finding(finding: Finding) -> dict[str, Any]:
    return {
        "question": finding.question,
        "ask": finding.ask,
        "measure": finding.measure,
        "primary": finding.primary,
        "unit": finding.unit,
        "effect": _number(finding.effect),
        "interval": _interval(finding.low, finding.high),
        "level": finding.level,
        "p_value": _number(finding.p_value),
        "relative_percent": _number(finding.relative_percent),
        "claim": _with_interval(finding.claim),
        "before": _with_interval(finding.before),
        "change": _with_interval(finding.change),
        "camera_term": _number(finding.camera_term),
        "absolute": finding.absolute,
        "arms": [_arm(value) for value in finding.arms],
        "parts": [
            {"region": part.region, "name": part.name, "arms": [_arm(value) for value in part.arms], "text": part.text}
            for part in finding.parts
        ],
        "tanks_per_arm": finding.tanks_per_arm,
        "design": finding.design,
        "rule": finding.rule,
        "rule_text": finding.rule_text,
        "wording": finding.wording,
        "detail": finding.detail,
        "missing": finding.missing,
        "next_step": finding.next_step,
        "ways": [
            {"design": way.design, "size": way.size, "difference_percent": way.difference_percent}
            for way in finding.ways
        ],
        "beside": [
            {
                "name": one.name,
                "p_value": _number(one.p_value),
                "smallest_p": _number(one.smallest_p),
                "needed": one.needed,
                "text": one.text,
                "source": one.source,
            }
            for one in finding.beside
        ],
        "effect_words": finding.effect_words,
        "curves": [_curve(one) for one in finding.curves],
        "method": finding.method,
        "source": finding.source,
        "plain_method": list(finding.plain_method),
        "cannot_show": finding.cannot_show,
        "evidence": _evidence(finding.evidence),
    }


def _arm(value: ArmValue) -> dict[str, Any]:
    return {
        "arm": value.arm,
        "tank": value.tank,
        "value": _number(value.value),
        "interval": _interval(value.low, value.high),
        "days": value.days,
        **({"text": value.text} if value.text else {}),
    }


def _curve(curve: Curve) -> dict[str, Any]:
    return {
        "arm": curve.arm,
        "of": curve.of,
        "count": curve.count,
        "day": _numbers(curve.day),
        "share": _numbers(curve.share),
        "censored": _numbers(curve.censored),
        "median_day": _number(curve.median_day),
    }


def _evidence(evidence: Evidence) -> dict[str, Any]:
    return {
        "days": _numbers(evidence.days),
        "photos": list(evidence.photos),
        "entries": list(evidence.entries),
        "disturbed_by": dict(evidence.disturbed_by),
        "remarks": list(evidence.remarks),
        "series": {key: _series(series) for key, series in evidence.series.items()},
        "influence": [
            {
                "kind": one.kind,
                "tried": one.tried,
                "most": _left_out(one.most),
                "changing": [_left_out(other) for other in one.changing],
                "text": one.text,
            }
            for one in evidence.influence
        ],
        "carrying": [{"day": one.day, "why": one.why} for one in evidence.carrying],
    }


def _left_out(one: LeftOut) -> dict[str, Any]:
    return {
        "key": one.key,
        "name": one.name,
        "value": _number(one.value),
        "interval": _interval(one.low, one.high),
        "rule": one.rule,
    }


def _series(series: Series) -> dict[str, Any]:
    return {
        "name": series.name,
        "unit": series.unit,
        "kind": series.kind,
        "day": _numbers(series.day),
        "value": _numbers(series.value),
        "error": None if series.error is None else _numbers(series.error),
    }


def _with_interval(one: Interval | None) -> dict[str, Any] | None:
    return None if one is None else {"value": _number(one.value), "interval": _interval(one.low, one.high)}


def _interval(low: float | None, high: float | None) -> dict[str, float | None] | None:
    """Return an interval; a side that is open (infinite) is null, and no sides at all is no interval."""
    return None if low is None and high is None else {"low": _number(low), "high": _number(high)}


def _number(value: float | None) -> float | None:
    """Return a number that JSON can hold: not a number and infinity become null."""
    return None if value is None or not math.isfinite(value) else float(value)


def _numbers(values: Iterable[float]) -> list[float | None]:
    return [_number(value) for value in values]
