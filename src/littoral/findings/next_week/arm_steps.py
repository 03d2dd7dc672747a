"""Steps from one arm's doses towards another's, as findings give them, held against what the levels leave room for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.findings.next_week.arm_moves import TankMove
from littoral.findings.next_week.model import WEEKS_AHEAD, Reason, TankAhead, TankStep
from littoral.findings.next_week.steps import HARMS_AT_ONCE
from littoral.findings.showing import sentence

UNKNOWN = (
    "The levels are not worked out, so nobody knows whether this stays below every ceiling and published limit: look "
    "at them, or test, before you give more."
)
"""Said in a step that adds something while no level is known."""


@dataclass(frozen=True, slots=True)
class Step:
    """One small step towards an arm: for whom, by the `aims` it is better in, what to do, why, and what to watch.

    `moves` are the tanks it is for, each with what it adds there, and `reasons` the same as (tank, reason).
    """

    aims: tuple[str, ...]
    do: str
    because: str
    watch: tuple[str, ...]
    moves: tuple[TankMove, ...] = ()
    reasons: tuple[tuple[str, Reason], ...] = ()

    @property
    def tanks(self) -> tuple[str, ...]:
        """The tanks it is for."""
        return tuple(one.tank for one in self.moves)


def steps_within(
    steps: Sequence[Step], tanks: Sequence[TankAhead] | None, *, beside: Sequence[TankStep] = ()
) -> tuple[tuple[Step, ...], tuple[str, ...]]:
    """Return the steps that the levels leave room for, and what is said of the others.

    `tanks` is None where levels are not worked out. Then, as of any nutrient whose level is not known, only more of
    what a tank is dosed with already may follow.

    `beside` are the steps that levels and leaves give: a tank that has one already gets no second one in that week, for
    each is held against the room by itself, and who follows both would go past it.
    """
    known = {one.tank: one for one in tanks or ()}
    kept, held = [], []
    for step in steps:
        why = [said for move in step.moves if (said := _in_the_way(known.get(move.tank), move, beside))]
        if why:
            held.append(f"For {listed(step.aims)} no step follows: {'; '.join(dict.fromkeys(why))}.")
        elif tanks is None:
            kept.append(replace(step, do=f"{step.do} {UNKNOWN}") if _may_add(step) else step)
        else:
            low = [said for move in step.moves for said in _near_floor(known.get(move.tank), move)]
            kept.append(replace(step, watch=(*step.watch, *low)))
    return tuple(kept), tuple(held)


def _may_add(step: Step) -> bool:
    return any(one.more is None or any(more > 0 for more in one.more.values()) for one in step.moves)


def _in_the_way(tank: TankAhead | None, move: TankMove, beside: Sequence[TankStep]) -> str:
    """Return what keeps a tank from a step of a finding: no room, another step, or a reason against it."""
    for nutrient, more in (move.more or {}).items():
        name = NUTRIENTS[nutrient].name
        if more > 0 and nutrient in HARMS_AT_ONCE:
            return f"it would bring more {name} to the {move.name}, and the animals come first"
        level = None if tank is None else tank.levels.get(nutrient)
        if more > 0 and (level is None or level.unknown) and not (move.now or {}).get(nutrient):
            return f"it would bring {name} to the {move.name} for the first time, and how much is in it is not known"
    if tank is None:
        return ""
    if move.more is None:
        return f"how much it would bring to the {tank.name} is not known, so no level was held against it"
    for nutrient, more in move.more.items():
        name = NUTRIENTS[nutrient].name
        level = tank.levels.get(nutrient)
        if more > 0 and tank.urgent:
            return f"it would bring more {name} to the {tank.name}, and the animals come first"
        if more > 0 and level is not None and WEEKS_AHEAD * more > level.room:
            return (
                f"in the {tank.name} there is no room for {more:.2g} mg/L more {name} a week below its ceiling and "
                "every published limit"
            )
        way = "up" if more > 0 else "down"
        if any(one.nutrient == nutrient and one.way != way for one in tank.reasons):
            return f"in the {tank.name} the levels speak against {'more' if more > 0 else 'less'} {name}"
    if any(one.tank == tank.tank for one in beside):
        return f"the {tank.name} has a step by its levels in that week; one step at a time"
    return ""


def _near_floor(tank: TankAhead | None, move: TankMove) -> list[str]:
    """Return which levels of a tank may come below their floor by what a step takes away."""
    if tank is None or move.more is None:
        return []
    return [
        f"{sentence(NUTRIENTS[key].name)} in the {tank.name}: test it, it may come below its floor of "
        f"{level.floor:g} mg/L."
        for key, more in move.more.items()
        if more < 0 and (level := tank.levels.get(key)) is not None and level.floor is not None
        if level.low + WEEKS_AHEAD * more < level.floor
    ]


def listed(names: Sequence[str]) -> str:
    """Return names as a sentence lists them."""
    return ", ".join(names[:-1]) + f" and {names[-1]}" if len(names) > 1 else "".join(names)
