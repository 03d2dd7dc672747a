"""What feeding each arm cost, by the doses really given since the regimes began."""

from __future__ import annotations

from collections.abc import Sequence

from littoral.feeding.cost import ArmCost, cost_of_feeding
from littoral.findings.doses import GivenDose, doses_given, observed_days
from littoral.logbook.book import Logbook
from littoral.tank.volume import net_volume_l
from littoral.trial.entries import Entry
from littoral.trial.model import Arm, Trial


def costs_of(book: Logbook, trial: Trial) -> dict[str, ArmCost]:
    """Return the cost of feeding per arm, in the trial's currency; arms whose tanks' water is unknown are left out.

    Raises CostError for a dose of an unknown bottle.
    """
    entries = book.entries(trial.key)
    found = {arm.key: arm_cost(trial, entries, arm) for arm in trial.arms}
    return {key: cost for key, cost in found.items() if cost is not None}


def arm_cost(trial: Trial, entries: Sequence[Entry], arm: Arm) -> ArmCost | None:
    """Return one arm's cost, all its tanks together; None where water is unknown or the regimes have not begun."""
    vessels = [trial.tanks[tank].vessel for tank in arm.tanks]
    known = [vessel for vessel in vessels if vessel is not None]
    weeks = (observed_days(trial, entries) - trial.baseline_days) / 7
    if len(known) < len(vessels) or not known or weeks <= 0:
        return None
    used_ml: dict[str, float] = {}
    used_g: dict[str, float] = {}
    for dose in arm_doses(trial, entries, arm):
        if dose.ml is not None:
            used_ml[dose.of] = used_ml.get(dose.of, 0.0) + dose.ml
        if dose.g is not None:
            used_g[dose.of] = used_g.get(dose.of, 0.0) + dose.g
    volume_l = sum(net_volume_l(vessel) for vessel in known)
    return cost_of_feeding(used_ml, used_g, trial.bottles, weeks=weeks, net_volume_l=volume_l)


def arm_doses(trial: Trial, entries: Sequence[Entry], arm: Arm) -> tuple[GivenDose, ...]:
    """Return the doses given to an arm's tanks since the regimes began, by tank and day."""
    days = observed_days(trial, entries)
    doses = [dose for tank in arm.tanks for dose in doses_given(trial, entries, tank, to_day=days)]
    return tuple(dose for dose in doses if dose.day >= trial.baseline_days)
