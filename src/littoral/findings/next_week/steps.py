"""From reasons to small steps: a dose goes up or down by at most a quarter, within every limit, or not at all.

What is added is counted in full, as if plants took none of it and no water were changed: levels rise by no more than
that, since plants take more of what there is more of.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.findings.next_week.model import (
    LEAST_STEP,
    STEP,
    WEEKS_AHEAD,
    Conflict,
    DoseAhead,
    DoseChange,
    Reason,
    TankAhead,
    TankStep,
    Way,
    WeekAhead,
)
from littoral.findings.showing import sentence

WORTH_NAMING = 0.2
"""A bottle that brings less than this share of what a week adds of a nutrient is no way to change that nutrient."""
WORTH_SAYING_MG_PER_L = 0.01
HARMS_AT_ONCE = ("ammonium", "urea", "nitrite")
"""What may harm animals within hours: no step adds any of it."""
CUT = (
    "Test it now; if it reads so, change a quarter of the water today, dose nothing that brings it, and test again "
    "tomorrow. Look at the animals first: if they gasp, dart or lie still, change water at once and ask a vet or "
    "another qualified person."
)
RUNNING = "This goes before the trial. Note what you did: the findings will show it."


def week_ahead(
    tanks: Sequence[TankAhead], *, running: bool, animals: str, of_findings: Sequence[tuple[str, Reason]] = ()
) -> WeekAhead:
    """Return what follows for the week ahead. While a trial runs no step follows: its arms stay as they are.

    `animals` is said first in what to watch of every step; `of_findings` are (tank, reason) that findings give, which
    make no step of their own here but stand against one that goes the other way.
    """
    steps: list[TankStep] = []
    conflicts: list[Conflict] = []
    held: list[str] = []
    for tank in tanks:
        conflicts += [
            Conflict(sentence(tank.name), "what leaves and levels say", (one,), ()) for one in tank.disagreements
        ]
        against = [reason for key, reason in of_findings if key == tank.tank]
        spent: dict[str, float] = {}
        for group in _by_bottle(tank):
            made = _weighed(tank, group, against, spent, animals=animals)
            if isinstance(made, TankStep):
                steps.append(made)
            elif isinstance(made, Conflict):
                conflicts.append(made)
            elif made:
                held.append(made)
        held += _not_dosed(tank)
    urgent = tuple(words for one in tanks for words in one.urgent)
    what_to_do = f"{CUT} {RUNNING}" if running else CUT
    return WeekAhead(
        animals=(*urgent, what_to_do) if urgent else (),
        steps=() if running else tuple(steps),
        conflicts=tuple(conflicts),
        held_back=() if running else tuple(dict.fromkeys(held)),
        watch=tuple(dict.fromkeys(words for one in tanks for words in one.watch)),
        tanks=tuple(tanks),
    )


def _by_bottle(tank: TankAhead) -> list[tuple[DoseAhead, ...]]:
    """Return the doses of each bottle that is given at all."""
    keys = dict.fromkeys(dose.bottle for dose in tank.doses if dose.amount > 0)
    return [tuple(dose for dose in tank.doses if dose.bottle == key and dose.amount > 0) for key in keys]


def week_of(doses: Sequence[DoseAhead]) -> dict[str, float]:
    """Return what a week of these doses adds, mg/L by nutrient."""
    found: dict[str, float] = {}
    for dose in doses:
        for key, mg_per_l in dose.adds_per_week.items():
            found[key] = found.get(key, 0.0) + mg_per_l
    return found


def _weighed(
    tank: TankAhead, doses: Sequence[DoseAhead], against: Sequence[Reason], spent: dict[str, float], *, animals: str
) -> TankStep | Conflict | str:
    """Return the step that the reasons about one bottle give, their conflict, or why neither ("" without a reason).

    `spent` is what steps with other bottles add (or take) over the weeks ahead, mg/L; this one's is added to it.
    """
    week, whole = week_of(doses), week_of(tank.doses)
    brings = {key for key, mg_per_l in week.items() if mg_per_l >= WORTH_NAMING * whole[key] > 0}
    own = [reason for reason in tank.reasons if reason.nutrient in brings]
    if not own:
        return ""
    every = [*own, *(reason for reason in against if reason.nutrient in brings)]
    more, less = (tuple(dict.fromkeys(one.words for one in every if one.way == way)) for way in ("up", "down"))
    name = doses[0].name
    if more and less:
        return Conflict(sentence(tank.name), f"the dose of {name}", more, less)
    way: Way = "up" if more else "down"
    share, why = (_share_up if way == "up" else _share_down)(tank, week, spent, {one.nutrient for one in own})
    changes = tuple(_change(dose, share, way) for dose in doses)
    if share < LEAST_STEP or any(one.after == one.before for one in changes):
        verb = "more" if way == "up" else "less"
        return f"{sentence(tank.name)}: {(more or less)[0]} {sentence(verb)} {name} is no step, though: {why}."
    said = "; ".join(
        f"{_amount(one.after)} {one.unit} instead of {_amount(one.before)} {one.unit} each time ({one.when})"
        for one in changes
    )
    sign = 1 if way == "up" else -1
    for key, mg_per_l in week.items():
        spent[key] = spent.get(key, 0.0) + sign * share * WEEKS_AHEAD * mg_per_l
    adds = ", ".join(
        f"{NUTRIENTS[key].name} {_signed(sign * share * mg_per_l)} mg/L"
        for key in NUTRIENTS
        if (mg_per_l := week.get(key, 0.0)) >= WORTH_SAYING_MG_PER_L
    )
    return TankStep(
        tank=tank.tank,
        name=sentence(tank.name),
        way=way,
        changes=changes,
        do=f"{sentence(tank.name)}: {name}, {said}, for one week.{f' In that week: {adds}.' if adds else ''}",
        because=more or less,
        watch=_watch(own[0].nutrient, way, animals),
    )


def _share_up(tank: TankAhead, week: dict[str, float], spent: dict[str, float], _wanted: set[str]) -> tuple[float, str]:
    """Return by which share a bottle may go up, and what keeps it from more."""
    if tank.urgent:
        return 0.0, "a published limit is probably passed in this tank, so the animals come first"
    share, why = STEP, ""
    for key, mg_per_l in week.items():
        name = NUTRIENTS[key].name
        if key in HARMS_AT_ONCE:
            return 0.0, f"it brings {name}, which can harm animals within hours"
        level = tank.levels.get(key)
        if level is None:
            continue
        most = max(0.0, level.room - max(spent.get(key, 0.0), 0.0)) / (WEEKS_AHEAD * mg_per_l)
        if most < share:
            share = most
            if level.limit_open:
                why = f"how far {name} is below a published limit cannot be told ({level.limit_open})"
            elif level.unfollowed and level.ceiling is not None:
                why = f"the level of {name}, which has a ceiling, is not followed: test it"
            elif level.ceiling is not None and (level.limit is None or level.ceiling <= level.limit):
                why = f"{name} would come near its ceiling of {level.ceiling:g} mg/L"
            else:
                why = f"{name} would come near a published limit ({level.limit_name}, {level.limit:.3g} mg/L)"
    return share, why or "so little of it is dosed that no smaller amount can be measured"


def _share_down(
    tank: TankAhead, week: dict[str, float], spent: dict[str, float], wanted: set[str]
) -> tuple[float, str]:
    """Return by which share a bottle may go down: what else it brings stays above its floor."""
    share, why = STEP, ""
    for key, mg_per_l in week.items():
        level = tank.levels.get(key)
        if level is None or level.floor is None or key in wanted:
            continue
        most = max(0.0, level.low - level.floor + min(spent.get(key, 0.0), 0.0)) / (WEEKS_AHEAD * mg_per_l)
        if most < share:
            share, why = most, f"{NUTRIENTS[key].name} would come near its floor of {level.floor:g} mg/L"
    return share, why or "so little of it is dosed that no smaller amount can be measured"


def _change(dose: DoseAhead, share: float, way: Way) -> DoseChange:
    """Return a dose changed by a share, with three digits: rounded towards what it was, so never beyond the share."""
    target = dose.amount * (1 + share if way == "up" else 1 - share)
    digits = 2 - math.floor(math.log10(dose.amount))
    scale = 10.0**digits
    rounded = math.floor(target * scale) / scale if way == "up" else math.ceil(target * scale) / scale
    after = max(rounded, dose.amount) if way == "up" else min(rounded, dose.amount)
    return DoseChange(dose.at, dose.bottle, dose.name, dose.when, dose.amount, after, dose.unit)


def _amount(value: float) -> str:
    return f"{value:.4g}"


def _signed(value: float) -> str:
    return f"{value:+.2g}".replace("-", "−")


def _watch(nutrient: str, way: Way, animals: str) -> tuple[str, ...]:
    name = NUTRIENTS[nutrient].name
    seen = "green on stone, wood and glass" if way == "up" else "new leaves: paler, smaller, or holed"
    return (
        animals,
        f"{sentence(name)}: test it before the next water change, and go back if it is off what you expect.",
        f"{sentence(seen)}, within two weeks.",
    )


def _not_dosed(tank: TankAhead) -> list[str]:
    """Return what would be changed if anything dosed brought it."""
    dosed = week_of(tank.doses)
    return [
        f"{sentence(tank.name)}: {reason.words} Nothing that is dosed brings it: look at the source water and the food."
        for reason in tank.reasons
        if dosed.get(reason.nutrient, 0.0) <= 0
    ]
