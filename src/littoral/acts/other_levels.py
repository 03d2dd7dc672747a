"""What if a tank were fed otherwise from now on: the levers a person can move, and what follows in bands and words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from littoral.acts.levels_rows import alarm_row
from littoral.acts.levels_words import chance_words, change_words, day_words, name_of
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.feeding.adds import dose_adds_mg
from littoral.feeding.regimes import PlannedDose, Regime, when_words
from littoral.findings.estimates.ahead import next_change
from littoral.findings.estimates.days import JUST_BEFORE
from littoral.findings.estimates.estimated import DAYS_AHEAD
from littoral.findings.estimates.model import Estimates
from littoral.findings.estimates.other_alarms import other_alarms, planned_now
from littoral.findings.estimates.other_regime import MOST_TIMES, changed_regime, other_bands, regime_now
from littoral.publish.bands_chart import band_rows
from littoral.publish.level_words import ends, mg
from littoral.tank.alarms import MAY, WATCH, Alarm
from littoral.tank.fit.forecast import Bands
from littoral.trial.model import Trial

MOVED = 0.02
"""A level that moves by less than this share of its band is told as unchanged."""
SAME = 1e-4
"""Amounts as near as this, as a share, are the same: a page sends four digits."""
FORMS_OF_NITROGEN = frozenset({"nitrate", "nitrite", "ammonium", "urea"})
"""What is dosed as one of these may turn into another."""
CHANCE_MOVED = 0.02
"""A probability that moves by less is within the wobble of the quick draws."""
TIMES_SHOWN = 2.5
"""A bar reaches to this many times the planned amount; larger ones can be typed."""
LARGEST_SHARE = 0.9


@dataclass(frozen=True, slots=True)
class Lever:
    """One amount of a regime that can be moved: its place in the regime, what it is, and its amount as planned.

    `kind` "dose": mL or g, "change": percent. `adds` are (nutrient's name, mg/L per unit). `most` may be typed, `top`
    is where the bar ends, `step` what an arrow key moves.
    """

    kind: str
    at: int
    name: str
    when: str
    unit: str
    planned: float
    top: float
    most: float
    step: float
    adds: tuple[tuple[str, float], ...]


def levers_of(trial: Trial, estimates: Estimates, tank: str) -> tuple[Lever, ...] | None:
    """Return the levers of the regime a tank is on now: doses, then changes; None where none is planned."""
    regime = regime_now(trial, tank, now_day=estimates.now_day)
    if regime is None or not (regime.doses or regime.changes):
        return None
    volume_l = next(one.net_volume_l for one in estimates.kept.tanks if one.key == tank)
    levers = [
        _dose_lever(trial, dose, at, volume_l=volume_l, followed=estimates.nutrients)
        for at, dose in enumerate(regime.doses)
    ]
    levers += [
        Lever(
            "change",
            at,
            "water change",
            when_words(change),
            "%",
            100 * change.share,
            100 * LARGEST_SHARE,
            100.0,
            5.0,
            (),
        )
        for at, change in enumerate(regime.changes)
    ]
    return tuple(levers)


def _dose_lever(trial: Trial, dose: PlannedDose, at: int, *, volume_l: float, followed: Sequence[str]) -> Lever:
    amount = dose.ml if dose.ml is not None else dose.g or 0.0
    unit = {"ml": 1.0} if dose.ml is not None else {"g": 1.0}
    adds_mg = dose_adds_mg(trial.bottles[dose.of], **unit)
    top = _round_up(max(TIMES_SHOWN * amount, 0.1))
    return Lever(
        kind="dose",
        at=at,
        name=trial.bottles[dose.of].name,
        when=when_words(dose),
        unit="mL" if dose.ml is not None else "g",
        planned=float(f"{amount:.4g}"),
        top=top,
        most=max(MOST_TIMES * amount, 1.0),
        step=top / 50,
        adds=tuple((NUTRIENTS[key].name, mg / volume_l) for key, mg in adds_mg.items() if key in followed and mg > 0),
    )


def _round_up(value: float) -> float:
    """Return the next 1, 1.5, 2, 2.5, 3, 4, 5, 6 or 8 times a power of ten."""
    power = 10.0 ** np.floor(np.log10(value))
    return float(
        next(step * power for step in (1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10) if step * power >= value * (1 - 1e-9))
    )


def planned_bands(trial: Trial, estimates: Estimates, tank: str) -> tuple[Bands, ...]:
    """Return what a what-if is compared with: the plan, from the same few draws; empty where nothing is planned."""
    regime = regime_now(trial, tank, now_day=estimates.now_day)
    return () if regime is None else other_bands(trial, estimates, tank=tank, regime=regime)


def other_levels(
    trial: Trial,
    estimates: Estimates,
    *,
    tank: str,
    planned: Sequence[Bands],
    doses: Mapping[int, float],
    shares: Mapping[int, float],
    limits: bool,
) -> dict[str, Any]:
    """Return, as plain data, what other amounts would lead to: band rows by nutrient, sentences, and alarms anew.

    Amounts by place in the tank's regime, as `changed_regime` takes them; `planned` as `planned_bands` gives. Without
    `limits` there are no alarms (None), which take as long as all else. Raises FaultsError for amounts that cannot be,
    KeyError for a tank that is not followed or has no regime.
    """
    regime = regime_now(trial, tank, now_day=estimates.now_day)
    if regime is None or all(one.key != tank for one in estimates.kept.tanks):
        raise KeyError(tank)
    other = changed_regime(regime, doses=doses, shares=shares)
    moved = _moved(trial, estimates, regime, doses, shares)
    found = {one.nutrient: one for one in other_bands(trial, estimates, tank=tank, regime=other, nutrients=moved)}
    change = next_change(planned_now(trial, estimates, tank, regime), after_day=estimates.now_day)
    answer: dict[str, Any] = {
        "tank": tank,
        "same": not moved,
        "bands": {key: band_rows(one, from_day=estimates.now_day) for key, one in found.items()},
        "top": {key: float(1.1 * one.high_90.max()) for key, one in found.items()},
        "words": [
            {"nutrient": old.nutrient, "words": words}
            for old in planned
            if old.nutrient in found and (words := _said(trial, estimates, old, found[old.nutrient], change))
        ],
        "alarms": None,
        "watch": WATCH,
    }
    if limits:
        before = {alarm.row.what: alarm for alarm in estimates.alarms.get(tank, ())}
        alarms = other_alarms(trial, estimates, tank=tank, regime=other) if moved else ()
        answer["alarms"] = [
            _alarm(trial, estimates, tank, alarm, before.get(alarm.row.what)) for alarm in alarms if alarm.passes
        ]
    return answer


def _moved(
    trial: Trial, estimates: Estimates, regime: Regime, doses: Mapping[int, float], shares: Mapping[int, float]
) -> tuple[str, ...]:
    """Return the nutrients whose levels other amounts would move: none where all are as planned."""
    if any(abs(share - regime.changes[at].share) > SAME for at, share in shares.items()):
        return estimates.nutrients
    reached: set[str] = set()
    for at, amount in doses.items():
        dose = regime.doses[at]
        was = dose.ml if dose.ml is not None else dose.g or 0.0
        if abs(amount - was) > SAME * max(was, 1.0):
            unit = {"ml": 1.0} if dose.ml is not None else {"g": 1.0}
            reached |= {key for key, mg in dose_adds_mg(trial.bottles[dose.of], **unit).items() if mg > 0}
    if reached & FORMS_OF_NITROGEN:
        reached |= FORMS_OF_NITROGEN
    return tuple(key for key in estimates.nutrients if key in reached)


def _said(trial: Trial, estimates: Estimates, old: Bands, new: Bands, change: float | None) -> str:
    now_day = estimates.now_day
    end_day = now_day + DAYS_AHEAD
    day = end_day if change is None else change - JUST_BEFORE
    was, will = (float(np.interp(day, one.day, one.median)) for one in (old, new))
    low, high = (float(np.interp(day, new.day, one)) for one in (new.low_90, new.high_90))
    moved = max(float(np.abs(np.interp(old.day, new.day, new.median) - old.median).max()), abs(will - was))
    if moved <= MOVED * float((old.high_90 - old.low_90).max()):
        return ""
    if mg(was) == mg(will):  # another change of water shows only after it
        change, day = None, end_day
        was, will = (float(np.interp(day, one.day, one.median)) for one in (old, new))
        low, high = (float(np.interp(day, new.day, one)) for one in (new.low_90, new.high_90))
    if change is None:
        when = f"on {day_words(day, trial, now_day=now_day)}"
    else:
        when = f"before {change_words(change, trial, now_day=now_day)}"
    said = f"{name_of(new.nutrient)}: {when} {mg(will)} ({ends(low, high)}) instead of {mg(was)} mg/L"
    for passed, old_passed, name in (
        (new.above_ceiling, old.above_ceiling, "it rises above the ceiling"),
        (new.below_floor, old.below_floor, "it falls below the floor"),
    ):
        if passed is not None and old_passed is not None:
            chance, was_chance = float(passed.max()), float(old_passed.max())
            if abs(chance - was_chance) >= CHANCE_MOVED and max(chance, was_chance) >= MAY:
                said += f"; {name} with a chance of {chance_words(chance)} instead of {chance_words(was_chance)}"
    return f"{said}."


def _alarm(trial: Trial, estimates: Estimates, tank: str, alarm: Alarm, before: Alarm | None) -> dict[str, Any]:
    row = alarm_row(trial, tank, alarm, now_day=estimates.now_day)
    return {
        "what": row.what,
        "verdict": row.verdict,
        "sentence": row.sentence,
        "tail": row.tail,
        "source": row.source,
        "new": before is None or not before.passes,
    }
