"""What an arm's regime plans for a week, so that others can see whether theirs is the same."""

from __future__ import annotations

from collections.abc import Sequence

from littoral.errors import LittoralError
from littoral.feeding.adds import week_adds_mg_per_l
from littoral.tank.volume import net_volume_l
from littoral.trial.model import Trial


def planned_mg_per_l_per_week(trial: Trial, tanks: Sequence[str], regime: str | None) -> dict[str, float] | None:
    """Return what a regime plans for a week, mg/L of each nutrient, as a mean over tanks; None where not known."""
    vessels = [vessel for tank in tanks if (vessel := trial.tanks[tank].vessel) is not None]
    if regime is None or not vessels or len(vessels) < len(tanks):
        return None
    try:
        weeks = [
            week_adds_mg_per_l(trial.regimes[regime], trial.bottles, net_volume_l=net_volume_l(vessel))
            for vessel in vessels
        ]
    except LittoralError:  # a bottle of which nothing is known: said where its doses are counted
        return None
    return {key: sum(week[key] for week in weeks) / len(weeks) for key in weeks[0]}
