"""findings.json of another keeper, read strictly: what does not follow the schema is refused with the reasons."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from functools import cache
from itertools import islice, pairwise
from typing import Any

import numpy as np

from littoral.errors import Fault
from littoral.findings.keeper_files import KeeperArm, KeeperFile
from littoral.findings.model import (
    ArmValue,
    Beside,
    CarryingDay,
    Curve,
    Evidence,
    Finding,
    Influence,
    Interval,
    LeftOut,
    LeftOutKind,
    Part,
    Way,
)
from littoral.publish.findings_json import SCHEMA, findings_schema
from littoral.stats.series import Series
from littoral.trial.measures import MEASURES

MAX_FINDINGS_BYTES = 2_000_000
"""The largest findings.json that is read; one of eight weeks has about a tenth of it."""

MOST_FAULTS = 12
"""How many mistakes of one file are told at once."""

MOST_DIGITS = 18
"""The digits of a whole number: no count or day has so many."""

RIGHT = "Write it anew with `littoral publish LOGBOOK`; findings.schema.json beside it says what every key means."


def read_findings(data: bytes, *, keeper: str, where: str) -> KeeperFile | tuple[Fault, ...]:
    """Return one keeper's file, or all that is wrong with it: at most MOST_FAULTS mistakes, each with its place."""
    if len(data) > MAX_FINDINGS_BYTES:
        what = f"has {len(data):,} bytes, more than the {MAX_FINDINGS_BYTES:,} that are read."
        return (Fault(what, "Name a findings.json, not another file.", where),)
    try:
        document = json.loads(
            data.decode("utf-8"),
            parse_constant=_refused,
            parse_float=_finite,
            parse_int=_whole,
            object_pairs_hook=_once,
        )
        json.dumps(document, ensure_ascii=False).encode()  # half a surrogate pair is no text that can be shown
    except (ValueError, RecursionError) as error:
        why = "is nested too deep" if isinstance(error, RecursionError) else f"is no JSON that can be read: {error}"
        return (Fault(f"{_cut(why)}.", RIGHT, where),)
    version = document.get("schema") if isinstance(document, dict) else None
    if version != SCHEMA:
        what = f"says it is {_cut(repr(version))}, where {SCHEMA!r} is read."
        return (Fault(what, "Name a findings.json that `littoral publish LOGBOOK` wrote.", where),)
    faults = _against_schema(document, where) or _beyond_schema(document, where)
    return faults or _file(document, keeper=keeper, where=where)


def _refused(name: str) -> float:
    raise ValueError(f"{name} is no number; what is not there is null")


def _finite(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        raise ValueError(f"{text[:20]} is too large for a number")
    return value


def _whole(text: str) -> int:
    if len(text) > MOST_DIGITS:
        raise ValueError(f"{text[:20]}… is too large for a number")
    return int(text)


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    keys = [key for key, _ in pairs]
    if len(set(keys)) < len(keys):
        twice = next(key for key in keys if keys.count(key) > 1)
        raise ValueError(f"the key {twice[:40]!r} stands there twice")
    return dict(pairs)


@cache
def _validator() -> Any:
    from jsonschema import Draft202012Validator

    return Draft202012Validator(findings_schema(), format_checker=Draft202012Validator.FORMAT_CHECKER)


def _against_schema(document: Any, where: str) -> tuple[Fault, ...]:
    return tuple(
        Fault(f"{error.json_path}: {_cut(error.message)}.", RIGHT, where)
        for error in islice(_validator().iter_errors(document), MOST_FAULTS)
    )


def _beyond_schema(document: Mapping[str, Any], where: str) -> tuple[Fault, ...]:
    """Return what a schema cannot say: measures that are known, ends in their order, arms that are the trial's."""
    arms = {arm["key"] for arm in document["trial"]["arms"]}
    found = []
    for place, one in enumerate(document["findings"]):
        at = f"$.findings[{place}]"
        if one["measure"] not in MEASURES:
            found.append(f"{at}.measure: {_cut(repr(one['measure']))} is no measure; there are {', '.join(MEASURES)}.")
        ends, effect = one["interval"], one["effect"]
        if ends is not None and effect is not None:
            low, high = _open(ends)
            if not low <= effect <= high:
                found.append(f"{at}.interval: {low:g} to {high:g} does not hold the effect, {effect:g}.")
        strange = [value["arm"] for value in one["arms"] if value["arm"] not in arms]
        found += [f"{at}.arms: {_cut(repr(arm))} is none of the trial's arms." for arm in strange]
        for key, series in one["evidence"]["series"].items():
            lengths = {len(series[name]) for name in ("day", "value", "error") if series[name] is not None}
            if len(lengths) > 1:
                found.append(f"{at}.evidence.series: {_cut(repr(key))} has days, values and errors of unlike number.")
            if any(later < day for day, later in pairwise(series["day"])):
                found.append(f"{at}.evidence.series: the days of {_cut(repr(key))} do not ascend.")
    return tuple(Fault(what, RIGHT, where) for what in found[:MOST_FAULTS])


def _file(document: Mapping[str, Any], *, keeper: str, where: str) -> KeeperFile:
    trial = document["trial"]
    return KeeperFile(
        keeper=keeper,
        where=where,
        trial_key=trial["key"],
        title=trial["title"],
        factor=trial["factor"],
        start=trial["start"],
        rendered=trial["rendered"],
        arms=tuple(KeeperArm(arm["key"], arm["name"], arm.get("fed_mg_per_l_per_week")) for arm in trial["arms"]),
        findings=tuple(_finding(one) for one in document["findings"]),
    )


def _finding(one: Mapping[str, Any]) -> Finding:
    low, high = _ends(one["interval"])
    evidence = one["evidence"]
    same = ("question", "ask", "measure", "unit", "effect", "relative_percent", "tanks_per_arm", "design", "rule",
            "wording", "rule_text", "next_step", "method", "source", "detail", "missing", "primary", "level", "p_value",
            "camera_term", "absolute")  # fmt: skip
    return Finding(
        **{key: one[key] for key in same},
        low=low,
        high=high,
        arms=tuple(_arm(value) for value in one["arms"]),
        claim=_interval(one["claim"]),
        before=_interval(one["before"]),
        change=_interval(one["change"]),
        parts=tuple(
            Part(part["region"], part["name"], tuple(_arm(value) for value in part["arms"]), part["text"])
            for part in one["parts"]
        ),
        ways=tuple(Way(**way) for way in one.get("ways", ())),
        beside=tuple(Beside(**{**test, "p_value": _or_nan(test["p_value"])}) for test in one.get("beside", ())),
        effect_words=one.get("effect_words", ""),
        curves=tuple(_curve(curve) for curve in one.get("curves", ())),
        evidence=Evidence(
            days=tuple(evidence["days"]),
            photos=tuple(evidence["photos"]),
            entries=tuple(evidence["entries"]),
            disturbed_by=evidence["disturbed_by"],
            remarks=tuple(evidence["remarks"]),
            series={key: _series(series) for key, series in evidence["series"].items()},
            influence=tuple(_influence(told) for told in evidence.get("influence", ())),
            carrying=tuple(CarryingDay(**day) for day in evidence.get("carrying", ())),
        ),
        plain_method=tuple(one.get("plain_method", ())),
        cannot_show=one.get("cannot_show", ""),
    )


def _influence(one: Mapping[str, Any]) -> Influence:
    kind = one["kind"]
    changing = tuple(_left_out(kind, other) for other in one["changing"])
    return Influence(kind, one["tried"], _left_out(kind, one["most"]), changing, one["text"])


def _left_out(kind: LeftOutKind, one: Mapping[str, Any]) -> LeftOut:
    low, high = _ends(one["interval"])
    return LeftOut(kind, one["key"], one["name"], one["value"], low, high, one["rule"])


def _arm(one: Mapping[str, Any]) -> ArmValue:
    low, high = _ends(one["interval"])
    return ArmValue(one["arm"], one["tank"], _or_nan(one["value"]), low, high, one["days"], one.get("text", ""))


def _curve(one: Mapping[str, Any]) -> Curve:
    days = {key: tuple(map(float, one[key])) for key in ("day", "share", "censored")}
    return Curve(arm=one["arm"], of=one["of"], count=one["count"], median_day=one["median_day"], **days)


def _series(one: Mapping[str, Any]) -> Series:
    day, value = (np.array([_or_nan(at) for at in one[key]], dtype=float) for key in ("day", "value"))
    error = None if one["error"] is None else np.array([_or_nan(at) for at in one["error"]], dtype=float)
    return Series(one["name"], one["unit"], one["kind"], day, value, error)


def _interval(one: Mapping[str, Any] | None) -> Interval | None:
    return None if one is None else Interval(_or_nan(one["value"]), *_open(one["interval"]))


def _ends(one: Mapping[str, Any] | None) -> tuple[float | None, float | None]:
    return (None, None) if one is None else _open(one)


def _open(one: Mapping[str, Any]) -> tuple[float, float]:
    """Return an interval's ends; a null is an open side."""
    low, high = one["low"], one["high"]
    return -math.inf if low is None else float(low), math.inf if high is None else float(high)


def _or_nan(value: float | None) -> float:
    return math.nan if value is None else float(value)


def _cut(text: str) -> str:
    """Return a text of the file short enough to be told, in one line."""
    plain = " ".join(text.split()).rstrip(".")
    return plain if len(plain) <= 160 else f"{plain[:110]} … {plain[-45:]}"
