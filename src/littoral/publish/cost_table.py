"""The table of what feeding cost."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from littoral.feeding.cost import ArmCost, CostPart
from littoral.findings.showing import sentence
from littoral.publish.tables import Table
from littoral.trial.model import Trial


def costs_table(trial: Trial, costs: Mapping[str, ArmCost]) -> Table:
    """Return the cost of feeding of each arm, in the trial's currency, and what runs out first."""
    arms = [(arm, costs[arm.key]) for arm in trial.arms if arm.key in costs]
    sums: Sequence[tuple[str, list[float]]] = (
        ("per week", [cost.per_week for _, cost in arms]),
        ("per 100 L and week", [cost.per_100_l_per_week for _, cost in arms]),
        ("per year", [cost.per_year for _, cost in arms]),
    )
    rows = [(name, *(f"{value:.2f}" for value in values)) for name, values in sums]
    lowest = [
        f"{sentence(arm.name)}: no price was stated for "
        f"{', '.join(_ingredient(trial, *one) for one in cost.unpriced)}, so its sums are the least it can be."
        for arm, cost in arms
        if cost.unpriced
    ]
    first = [
        f"{sentence(arm.name)}: {_part(trial, cost.runs_out_first)}."
        for arm, cost in arms
        if cost.runs_out_first is not None and cost.runs_out_first.pack_lasts_weeks is not None
    ]
    return Table(
        title="Cost of feeding since the regimes began",
        columns=("", *(arm.name for arm, _ in arms)),
        units=("", *(trial.currency for _ in arms)),
        rows=tuple(rows),
        note=" ".join(
            ["By the doses really given and the prices of the packs; what spoils is not counted.", *first, *lowest]
        ),
    )


def _part(trial: Trial, part: CostPart) -> str:
    weeks = part.pack_lasts_weeks or 0.0
    return f"{_ingredient(trial, part.bottle, part.ingredient)} runs out first, after {weeks:.0f} weeks of a full pack"


def _ingredient(trial: Trial, bottle: str, ingredient: str) -> str:
    return trial.bottles[bottle].name if ingredient == "bottle" else ingredient
