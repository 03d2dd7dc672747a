"""What is fixed when a trial begins: its design as plain data, the hash of it, and what differs between two of them."""

from __future__ import annotations

import hashlib
import json
from typing import Any

from littoral.feeding.regimes import WEEKDAYS, EveryDays
from littoral.trial.model import Arm, Question, Trial
from littoral.trial.plan import Plan

VERSION = 1
"""Version of what `design_part` holds: the hash of a design is comparable only within one version."""


def design_part(trial: Trial) -> dict[str, Any]:
    """Return questions, factor, arms with their regimes, baseline, length, draw and design as plain data.

    Names for readers, prices, photos and the drawing of regions are no part of it: they may be mended at any time.
    """
    plan = trial.plan
    return {
        "version": VERSION,
        "factor": trial.factor,
        "start": trial.start.isoformat(),
        "zone": trial.zone,
        "length_days": float(trial.length_days),
        "baseline": {"days": float(trial.baseline_days), "regime": _regime(trial, trial.baseline_regime)},
        "arms": [_arm(trial, arm) for arm in trial.arms],
        "draw": {"how": trial.drawn, "seed": trial.draw_seed},
        "held_equal": list(trial.held_equal),
        "questions": [_question(question) for question in trial.questions],
        "design": {
            "kind": plan.kind,
            "period_days": float(plan.period_days),
            "washout_days": float(plan.washout_days),
            "swapped": list(plan.swapped),
            "order": plan.order,
            "order_seed": plan.order_seed,
            "half_life_days": plan.half_life_days,
            "pairs": [list(pair) for pair in plan.pairs],
            "paired_by": plan.paired_by,
            "looks_days": list(plan.looks_days),
            "stopping": plan.stopping,
            "trimming": plan.trimming,
            "spread": plan.spread,
            **_later_keys(plan),
        },
    }


def _later_keys(plan: Plan) -> dict[str, Any]:
    """Return what designs of before could not hold, only where it is there: so their hashes stay what they were."""
    found: dict[str, Any] = {}
    if plan.blocks:
        found["blocks"] = [[name, *sorted(tanks)] for name, tanks in plan.blocks]
        found["blocked_by"] = plan.blocked_by
    if plan.start_drawn_from:
        found["start_drawn_from"] = list(plan.start_drawn_from)
        found["start_seed"] = plan.start_seed
    return found


def design_hash(trial: Trial) -> str:
    """Return the SHA-256 of the design part as 64 hexadecimal digits.

    It is taken of the part as JSON (RFC 8259) in UTF-8, keys sorted, without spaces, numbers with the fewest digits
    that give them back.
    """
    text = json.dumps(design_part(trial), sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    return hashlib.sha256(text.encode()).hexdigest()


def design_changes(before: Trial, after: Trial) -> tuple[str, ...]:
    """Return what differs between two designs of a trial, one sentence each; none where the hashes are equal."""
    old, new = design_part(before), design_part(after)
    said = [
        f"{name}: was {_shown(old[key])}, now {_shown(new[key])}."
        for key, name in (
            ("factor", "Factor"),
            ("start", "Start"),
            ("zone", "Time zone"),
            ("length_days", "Length in days"),
            ("held_equal", "Held equal"),
        )
        if old[key] != new[key]
    ]
    said += _inside(old, new, "baseline", {"days": "Days of the baseline", "regime": "Regime of the baseline"})
    said += _inside(old, new, "draw", {"how": "The draw", "seed": "Seed of the draw"})
    keys = {**old["design"], **new["design"]}
    said += _inside(old, new, "design", {key: f"Design, {key.replace('_', ' ')}" for key in keys})
    said += _listed(old["arms"], new["arms"], "Arm")
    said += _listed(old["questions"], new["questions"], "Question")
    return tuple(said)


def _arm(trial: Trial, arm: Arm) -> dict[str, Any]:
    return {"key": arm.key, "tanks": sorted(arm.tanks), "regime": _regime(trial, arm.regime)}


def _regime(trial: Trial, key: str | None) -> dict[str, Any] | None:
    if key is None:
        return None
    regime = trial.regimes[key]
    doses = [
        {"of": dose.of, "ml": dose.ml, "g": dose.g, "on": list(dose.weekdays), "every": _every(dose.every)}
        for dose in regime.doses
    ]
    changes = [
        {"share": change.share, "on": list(change.weekdays), "every": _every(change.every)} for change in regime.changes
    ]
    return {"key": key, "doses": doses, "changes": changes}


def _every(every: EveryDays | None) -> list[int]:
    return [] if every is None else [every.days, every.offset]


def _question(question: Question) -> dict[str, Any]:
    # only where it is given, so that the hashes of designs without it stay what they were
    threshold = {} if question.threshold_points is None else {"threshold_points": question.threshold_points}
    return {
        "key": question.key,
        "ask": question.ask,
        "measure": question.measure,
        "of": list(question.of),
        "expect": None if question.expect is None else list(question.expect),
        "smallest": question.smallest,
        "primary": question.primary,
        **threshold,
    }


_FIELDS = {
    "ask": "its words",
    "measure": "its measure",
    "of": "what it is asked about",
    "expect": "what was expected",
    "smallest": "the smallest difference that matters",
    "primary": "whether it is the primary one",
    "threshold_points": "its threshold in percent points",
    "tanks": "its tanks",
    "regime": "its regime",
}


def _inside(old: dict[str, Any], new: dict[str, Any], key: str, names: dict[str, str]) -> list[str]:
    return [
        f"{name}: was {_shown(old[key].get(inner))}, now {_shown(new[key].get(inner))}."
        for inner, name in names.items()
        if old[key].get(inner) != new[key].get(inner)
    ]


def _listed(old: list[dict[str, Any]], new: list[dict[str, Any]], kind: str) -> list[str]:
    before = {one["key"]: one for one in old}
    after = {one["key"]: one for one in new}
    said = [f"{kind} “{key}” was taken out." for key in before if key not in after]
    for key, one in after.items():
        if key not in before:
            said.append(f"{kind} “{key}” was added.")
            continue
        said += [
            f"{kind} “{key}”, {name}: was {_shown(before[key].get(field))}, now {_shown(one.get(field))}."
            for field, name in _FIELDS.items()
            if before[key].get(field) != one.get(field)
        ]
    both = [key for key in before if key in after]
    if both != [key for key in after if key in before]:
        said.append(f"{kind}s stand in another order.")
    return said


def _shown(value: Any) -> str:
    """Return a value of the design part in words."""
    if value is None or value in ("", []):
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, str):
        return f"“{value}”"
    if isinstance(value, dict):  # a regime
        doses = "; ".join(_dose_shown(dose) for dose in value["doses"]) or "no doses"
        changes = "; ".join(f"{100 * one['share']:g} % changed {_when(one)}" for one in value["changes"])
        return f"“{value['key']}” ({doses}{'; ' if changes else ''}{changes})"
    if isinstance(value, list):
        return ", ".join(_shown(one) if isinstance(one, bool | list) else str(one) for one in value)
    return str(value)


def _dose_shown(dose: dict[str, Any]) -> str:
    amount = f"{dose['ml']:.3g} mL" if dose["ml"] is not None else f"{dose['g'] or 0.0:.3g} g"
    return f"{amount} of {dose['of']} {_when(dose)}"


def _when(act: dict[str, Any]) -> str:
    if act["every"]:
        days, offset = act["every"]
        return f"every {days} days from day {offset}"
    return "on " + ", ".join(WEEKDAYS[day] for day in act["on"])
