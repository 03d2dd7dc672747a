"""What a quarter of the way from one arm's doses to another's adds in each tank, by that tank's own net volume."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from littoral.errors import LittoralError
from littoral.feeding.adds import week_adds_mg_per_l
from littoral.findings.next_week.model import STEP
from littoral.tank.volume import net_volume_l
from littoral.trial.model import Arm, Trial


@dataclass(frozen=True, slots=True)
class TankMove:
    """One tank on its way: what its own regime `now` adds in a week and what the other arm's would, mg/L by nutrient.

    Both are of this tank's volume, and None where that is not known or where doses and bottles do not fit.
    """

    tank: str
    name: str
    now: Mapping[str, float] | None
    then: Mapping[str, float] | None

    @property
    def more(self) -> Mapping[str, float] | None:
        """What the step adds (or takes, below 0) in a week, mg/L by nutrient; None where it is not known."""
        if self.now is None or self.then is None:
            return None
        moved = {
            key: self.then.get(key, 0.0) - self.now.get(key, 0.0) for key in dict.fromkeys([*self.now, *self.then])
        }
        return {key: STEP * gap for key, gap in moved.items() if gap}


def tank_moves(trial: Trial, start: Arm, goal: Arm) -> tuple[TankMove, ...]:
    """Return the move of each tank of the arm `start` towards the doses of the arm `goal`."""
    return tuple(
        TankMove(tank, trial.tanks[tank].name, _week(trial, start, tank), _week(trial, goal, tank))
        for tank in start.tanks
    )


def _week(trial: Trial, arm: Arm, tank: str) -> Mapping[str, float] | None:
    """Return mg/L a week that an arm's regime would add in one tank; None where that is not known."""
    if arm.regime is None:
        return {}
    vessel = trial.tanks[tank].vessel
    if vessel is None:
        return None
    try:
        return week_adds_mg_per_l(trial.regimes[arm.regime], trial.bottles, net_volume_l=net_volume_l(vessel))
    except LittoralError:
        return None
