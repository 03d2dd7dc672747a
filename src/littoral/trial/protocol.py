"""A protocol: what somebody else needs to run the same trial in their own tanks, with their own bottles.

Regimes are what they add, mg/L of each nutrient a week, not products; tanks, water, prices, photos and dates are the
other keeper's own. A feed is what one line of a regime gives on its days.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from littoral.errors import LittoralError
from littoral.feeding.adds import dose_adds_mg
from littoral.feeding.regimes import WEEKDAYS, PlannedChange, PlannedDose, times_per_week
from littoral.tank.volume import net_volume_l
from littoral.trial.model import Trial

FORMAT = "littoral protocol 1"
DIGITS = 4
"""Digits of an amount: more than any keeper measures."""
KEPT = ("schedule", "bands", "same_care", "design", "questions")
"""Tables of a trial file that go along as they were written."""
NOT_OURS = {"schedule": ("bench",), "design": ("pairs", "seed")}
"""What of them belongs to the one trial: its tanks, its draw."""


class ProtocolError(LittoralError):
    """A trial that no protocol can be made of, or a file that is no protocol; says what is wrong and would be right."""


def protocol_of(trial: Trial, values: Mapping[str, Any]) -> dict[str, Any]:
    """Return the protocol of a trial as plain data; `values` is its file as it was read (`written.document`).

    ProtocolError where a regime doses from a bottle of which nothing is known, or into tanks without a volume.
    """
    regimes = dict.fromkeys([*(arm.regime for arm in trial.arms), trial.baseline_regime])
    return {
        "format": FORMAT,
        "title": trial.title,
        "factor": trial.factor,
        "length_days": trial.length_days,
        "baseline": {"days": trial.baseline_days, "regime": trial.baseline_regime},
        "arms": [{"key": arm.key, "name": arm.name, "regime": arm.regime} for arm in trial.arms],
        "tanks_per_arm": max(len(arm.tanks) for arm in trial.arms),
        "regimes": {key: _regime(trial, key) for key in regimes if key is not None},
        "held_equal": list(trial.held_equal),
        "stands": {key: stand.name for key, stand in trial.stands.items()},
        "regions": _regions(trial),
        **{key: _own(key, values[key]) for key in KEPT if key in values},
    }


def read_protocol(plain: Any) -> Mapping[str, Any]:
    """Return a protocol that was read, checked for its shape; what its tables hold is checked with the trial file.

    ProtocolError where it is none.
    """
    if not isinstance(plain, dict) or plain.get("format") != FORMAT:
        said = plain.get("format") if isinstance(plain, dict) else None
        raise ProtocolError(f"this is no protocol: its format is {str(said)[:40]!r}, where {FORMAT!r} is read.")
    try:
        arms = [(str(arm["key"]), str(arm["name"]), arm["regime"]) for arm in plain["arms"]]
        feeds = [feed for regime in plain["regimes"].values() for feed in regime["feeds"]]
        amounts = [float(value) for feed in feeds for value in feed["mg_per_l_per_week"].values()]
        count = int(plain["tanks_per_arm"])
        texts = [str(plain[key]) for key in ("title", "factor")] + [str(one) for one in plain["held_equal"]]
        named = [*plain["stands"].items(), *((kind, name) for kind, name in plain["regions"])]
        wrong = (
            not 2 <= len(arms) <= 20
            or not 1 <= count <= 50
            or any(not 0 <= amount < 1e6 for amount in amounts)
            or any(regime is not None and regime not in plain["regimes"] for _, _, regime in arms)
            or any("on" not in feed and "every" not in feed for feed in feeds)
            or not float(plain["length_days"]) > float(plain["baseline"]["days"]) >= 0
            or len(texts) + len(named) > 500
        )
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise ProtocolError(
            f"this protocol cannot be read ({type(error).__name__}: {error}). Ask for it again."
        ) from None
    if wrong:
        raise ProtocolError(
            "this protocol contradicts itself: look at its arms, amounts and lengths, or ask for it again."
        )
    return plain


def weekly_mg_per_l(regime: Mapping[str, Any]) -> dict[str, float]:
    """Return what a protocol's regime adds in a week, mg/L of each nutrient, over all its feeds."""
    week: dict[str, float] = {}
    for feed in regime["feeds"]:
        for nutrient, amount in feed["mg_per_l_per_week"].items():
            week[nutrient] = week.get(nutrient, 0.0) + float(amount)
    return week


def _regime(trial: Trial, key: str) -> dict[str, Any]:
    regime = trial.regimes[key]
    volumes = [net_volume_l(tank.vessel) for tank in _tanks(trial, key) if tank.vessel is not None]
    if not volumes:
        raise ProtocolError(
            f"regime {key!r}: no tank of it has a volume, so no dose can be told in mg/L. Give `glass`."
        )
    return {
        "name": regime.name,
        "feeds": [
            _when(dose) | {"mg_per_l_per_week": _weekly(trial, dose, sum(volumes) / len(volumes))}
            for dose in regime.doses
        ],
        "changes": [{"share": change.share} | _when(change) for change in regime.changes],
    }


def _tanks(trial: Trial, regime: str) -> list[Any]:
    own = [tank for arm in trial.arms if arm.regime == regime for tank in arm.tanks]
    return [trial.tanks[tank] for tank in own or trial.tanks]


def _weekly(trial: Trial, dose: PlannedDose, volume_l: float) -> dict[str, float]:
    try:
        adds = dose_adds_mg(trial.bottles[dose.of], ml=dose.ml, g=dose.g)
    except LittoralError as error:
        raise ProtocolError(f"{error} Without that, nobody else can dose the same.") from None
    return {key: _short(mg * times_per_week(dose) / volume_l) for key, mg in adds.items() if mg > 0}


def _when(act: PlannedDose | PlannedChange) -> dict[str, Any]:
    if act.every is None:
        return {"on": [WEEKDAYS[day] for day in act.weekdays]}
    first = f" from day {act.every.offset}" if act.every.offset else ""
    return {"every": f"{act.every.days} days{first}"}


def _regions(trial: Trial) -> list[list[str]]:
    """Return what is drawn in the panes: [kind, name], each once."""
    found = {
        (region.kind, region.key): None
        for view in trial.views.values()
        for pane in view.panes
        for region in pane.regions
    }
    return [[kind, name] for kind, name in found]


def _own(key: str, table: Any) -> Any:
    if not isinstance(table, Mapping):
        return table
    return {name: value for name, value in table.items() if name not in NOT_OURS.get(key, ())}


def _short(value: float) -> float:
    return float(f"{value:.{DIGITS}g}")
