"""From the estimated levels of a trial to what is weighed: levels ahead, doses, and what levels and leaves say."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from littoral.chemistry.limits import WaterConditions, limits
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.symptoms import causes
from littoral.feeding.adds import dose_adds_mg
from littoral.feeding.regimes import times_per_week, when_words
from littoral.findings.estimates.model import Estimates, LevelEstimate
from littoral.findings.estimates.other_regime import regime_now
from littoral.findings.next_week.leaf_notes import signs_noted
from littoral.findings.next_week.model import DoseAhead, LevelAhead, Reason, TankAhead
from littoral.findings.showing import sentence
from littoral.tank.alarms import LIKELY, Alarm, stated_factor
from littoral.tank.limiting import NUTRIENTS_OF_ELEMENT, agreement_with_symptoms
from littoral.trial.model import Band, Trial

MOST_WATCHED = 4


def tanks_ahead(trial: Trial, estimates: Estimates) -> tuple[TankAhead, ...]:
    """Return what is known of each tank whose levels are followed, in the trial's order."""
    return tuple(_tank(trial, estimates, tank.key) for tank in estimates.kept.tanks)


def _tank(trial: Trial, estimates: Estimates, tank: str) -> TankAhead:
    alarms = estimates.alarms.get(tank, ())
    levels = _levels(trial, estimates, tank, alarms)
    name = trial.tanks[tank].name
    reasons = [*_level_reasons(levels, followed=estimates.nutrients)]
    noted, strange = signs_noted(trial, estimates.kept.entries, tank, now_day=estimates.now_day)
    leaf_reasons, disagreements, watch = _leaves(estimates, tank, name, noted)
    urgent = [alarm for alarm in alarms if alarm.row.verdict == "fails"]
    return TankAhead(
        tank=tank,
        name=name,
        arm=trial.arm_of(tank).key,
        levels=levels,
        doses=_doses(trial, estimates, tank),
        reasons=(*reasons, *leaf_reasons),
        disagreements=disagreements,
        urgent=tuple(f"{sentence(name)}, {_in_full(alarm.row.what)}: {alarm.row.comment}" for alarm in urgent),
        watch=(
            *(
                f"{sentence(name)}, {_in_full(alarm.row.what)}: {alarm.row.comment}"
                for alarm in [one for one in alarms if one.row.verdict == "warns"][:MOST_WATCHED]
            ),
            *watch,
            *(f"{sentence(name)}: “{word}” is no sign that Littoral knows." for word in strange),
        ),
    )


IN_FULL = {
    "BC": "British Columbia’s guideline",
    "CCME": "Canada’s guideline (CCME)",
    "EPA": "the US EPA’s criterion",
    "long": "long term",
    "short": "short term",
}


def _in_full(limit_key: str) -> str:
    """Return the key of a published limit in words: "iron, British Columbia’s guideline, dissolved"."""
    return ", ".join(IN_FULL.get(part, part) for part in limit_key.split(", "))


def _levels(trial: Trial, estimates: Estimates, tank: str, alarms: Sequence[Alarm]) -> dict[str, LevelAhead]:
    by_key = {limit.key: limit for limit in limits()}
    strictest: dict[str, tuple[float, str]] = {}
    highest: dict[str, float] = {}
    still_open: dict[str, str] = {}
    for alarm in alarms:
        limit = by_key.get(alarm.row.what)
        if limit is None or limit.operator != "<=" or limit.analyte not in NUTRIENTS:
            continue
        factor = stated_factor(limit, WaterConditions())
        if alarm.row.limit is None or alarm.high is None or not factor:
            still_open[limit.analyte] = limit.key
            continue
        at = alarm.row.limit / factor
        highest[limit.analyte] = max(highest.get(limit.analyte, 0.0), alarm.high / factor)
        if limit.analyte not in strictest or at < strictest[limit.analyte][0]:
            strictest[limit.analyte] = at, limit.key
    followed = {one.nutrient: one for one in estimates.levels if one.tank == tank}
    found = {}
    for nutrient in dict.fromkeys([*followed, *highest, *still_open, *trial.bands]):
        one = followed.get(nutrient)
        band = trial.bands.get(nutrient, Band())
        low, high = (0.0, highest.get(nutrient, 0.0)) if one is None else _ends(one, estimates.now_day)
        limit_at, limit_name = strictest.get(nutrient, (None, ""))
        found[nutrient] = LevelAhead(
            nutrient=nutrient,
            low=low,
            high=max(high, highest.get(nutrient, 0.0)),
            floor=band.floor_mg_per_l,
            ceiling=band.ceiling_mg_per_l,
            chance_below=0.0 if one is None else _chance(one, one.bands.below_floor, estimates.now_day),
            chance_above=0.0 if one is None else _chance(one, one.bands.above_ceiling, estimates.now_day),
            limit=limit_at,
            limit_name=limit_name,
            limit_open=still_open.get(nutrient, ""),
            unfollowed=one is None,
        )
    return found


def _ends(one: LevelEstimate, now_day: float) -> tuple[float, float]:
    ahead = one.bands.day >= now_day
    return float(one.bands.low_90[ahead].min()), float(one.bands.high_90[ahead].max())


def _chance(one: LevelEstimate, by_day: object, now_day: float) -> float:
    return 0.0 if by_day is None else float(np.asarray(by_day)[one.bands.day >= now_day].max())


def _level_reasons(levels: Mapping[str, LevelAhead], *, followed: Sequence[str]) -> list[Reason]:
    found = []
    for nutrient in followed:
        one = levels.get(nutrient)
        if one is None:
            continue
        name = sentence(NUTRIENTS[nutrient].name)
        if one.floor is not None and one.chance_below >= LIKELY:
            words = f"{name} probably falls below its floor of {one.floor:g} mg/L"
            found.append(Reason(nutrient, "up", "level", f"{words} (chance {100 * one.chance_below:.0f} in 100)."))
        if one.ceiling is not None and one.chance_above >= LIKELY:
            words = f"{name} probably rises above its ceiling of {one.ceiling:g} mg/L"
            found.append(Reason(nutrient, "down", "level", f"{words} (chance {100 * one.chance_above:.0f} in 100)."))
    return found


def _leaves(
    estimates: Estimates, tank: str, name: str, noted: frozenset[str]
) -> tuple[tuple[Reason, ...], tuple[str, ...], tuple[str, ...]]:
    """Return reasons where leaves and levels agree, where they disagree, and what to watch where it cannot be told."""
    if not noted:
        return (), (), ()
    limiting = estimates.limiting.get(tank, ())
    if not limiting:
        return (), (), (f"{sentence(name)}: leaf signs are noted, and too few levels are known to hold them against.",)
    told = agreement_with_symptoms(limiting[0], causes(noted))
    if told.verdict == "agree":
        reasons = tuple(
            Reason(nutrient, "up", "leaves", told.comment)
            for element in told.elements
            for nutrient in NUTRIENTS_OF_ELEMENT[element]
            if nutrient in estimates.nutrients
        )
        return reasons, (), ()
    said = f"{sentence(name)}: {told.comment}"
    return ((), (said,), ()) if told.verdict == "conflict" else ((), (), (said,))


def _doses(trial: Trial, estimates: Estimates, tank: str) -> tuple[DoseAhead, ...]:
    regime = regime_now(trial, tank, now_day=estimates.now_day)
    if regime is None:
        return ()
    litres = next(one.net_volume_l for one in estimates.kept.tanks if one.key == tank)
    found = []
    for at, dose in enumerate(regime.doses):
        adds = dose_adds_mg(trial.bottles[dose.of], ml=dose.ml, g=dose.g)
        times = times_per_week(dose)
        found.append(
            DoseAhead(
                at=at,
                bottle=dose.of,
                name=trial.bottles[dose.of].name,
                when=when_words(dose),
                amount=dose.ml if dose.ml is not None else dose.g or 0.0,
                unit="mL" if dose.ml is not None else "g",
                adds_per_week={key: mg * times / litres for key, mg in adds.items() if mg > 0},
            )
        )
    return tuple(found)
