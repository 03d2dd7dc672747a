"""What feeding each arm cost, by the doses really given since the regimes began."""

from __future__ import annotations

from collections.abc import Sequence

from littoral.feeding.cost import ArmCost, cost_of_feeding
from littoral.findings.doses import GivenDose, doses_given, observed_days
from littoral.logbook.book import Logbook
from littoral.tank.volume import net_volume_l
from littoral.trial.entries import Entry
from littoral.trial.model import Arm, Trial
from littoral.trial.periods import arm_on, days_in, tanks_of


def costs_of(book: Logbook, trial: Trial) -> dict[str, ArmCost]:
    """Return the cost of feeding per arm, in the trial's currency; arms whose tanks' water is unknown are left out.

    Raises CostError for a dose of an unknown bottle.
    """
    entries = book.entries(trial.key)
    found = {arm.key: arm_cost(trial, entries, arm) for arm in trial.arms}
    return {key: cost for key, cost in found.items() if cost is not None}


def arm_cost(trial: Trial, entries: Sequence[Entry], arm: Arm, *, tank: str | None = None) -> ArmCost | None:
    """Return one arm's cost, all tanks that had its regime together, or only one `tank` while it had it.

    A crossover's days belong to the regime of the day, those of the washout too: they were fed. None where water is
    unknown, or nobody had the regime yet.
    """
    tanks = tanks_of(trial, arm) if tank is None else (tank,)
    vessels = [trial.tanks[one].vessel for one in tanks]
    known = [vessel for vessel in vessels if vessel is not None]
    to_day = observed_days(trial, entries)
    had = [days_in(trial, one, arm.key, to_day=to_day) for one in tanks]
    if len(known) < len(vessels) or not any(had):
        return None
    used_ml: dict[str, float] = {}
    used_g: dict[str, float] = {}
    for dose in arm_doses(trial, entries, arm, tank=tank):
        if dose.ml is not None:
            used_ml[dose.of] = used_ml.get(dose.of, 0.0) + dose.ml
        if dose.g is not None:
            used_g[dose.of] = used_g.get(dose.of, 0.0) + dose.g
    # of several tanks all that had the regime are fed at once: their litres count for the share of days they had it
    days = max(had) if tank is not None else to_day - trial.baseline_days
    volume_l = sum(net_volume_l(vessel) * of / days for vessel, of in zip(known, had, strict=True))
    return cost_of_feeding(used_ml, used_g, trial.bottles, weeks=days / 7, net_volume_l=volume_l)


def arm_doses(trial: Trial, entries: Sequence[Entry], arm: Arm, *, tank: str | None = None) -> tuple[GivenDose, ...]:
    """Return the doses given while tanks had an arm's regime, by tank and day; with `tank` only of that one."""
    days = observed_days(trial, entries)
    tanks = tanks_of(trial, arm) if tank is None else (tank,)
    return tuple(
        dose
        for one in tanks
        for dose in doses_given(trial, entries, one, to_day=days)
        if dose.day >= trial.baseline_days and arm_on(trial, one, dose.day).key == arm.key
    )
