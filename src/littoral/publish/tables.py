"""The tables of what was fed and what it cost, cells ready to read."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.feeding.cost import ArmCost, CostPart
from littoral.findings.feeding import BottleUse, TankFeeding
from littoral.publish.words import nutrient_words
from littoral.trial.model import Trial


@dataclass(frozen=True, slots=True)
class Table:
    """A table: the first column is text; `units` has one (or "") for each column; `numbers` says to align right."""

    title: str
    columns: tuple[str, ...]
    units: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""
    numbers: bool = True


def figure(value: float, *, digits: int = 3) -> str:
    """Return a number to `digits` significant digits without an exponent: "0.0123", "4.50", "1230"."""
    if not math.isfinite(value):
        return "–"
    if value == 0:
        return "0"
    decimals = digits - 1 - math.floor(math.log10(abs(value)))
    return f"{round(value, decimals):.{max(decimals, 0)}f}"


def nutrients_table(trial: Trial, feeding: Mapping[str, TankFeeding]) -> Table:
    """Return mg/L of each nutrient given per week, mean since the regimes began, one column per tank."""
    fed = list(feeding.values())
    given = [key for key in NUTRIENTS if any(one.mean_mg_per_l.get(key) for one in fed)]
    planned = " No doses were noted: this is what the regimes plan." if any(one.as_planned for one in fed) else ""
    return Table(
        title="Given per week, mean since the regimes began",
        columns=("nutrient, counted as", *(_column(trial, one) for one in fed)),
        units=("", *("mg/L" for _ in fed)),
        rows=tuple((nutrient_words(key), *(figure(one.mean_mg_per_l.get(key, 0.0)) for one in fed)) for key in given),
        note=(
            f"Mean of {figure(max(one.weeks for one in fed), digits=2)} weeks, per litre of net volume "
            f"({', '.join(f'{trial.tanks[one.tank].name} {figure(one.net_volume_l)} L' for one in fed)}). "
            f"What source water brings is not counted.{planned}"
        ),
    )


def bottles_table(trial: Trial, feeding: Mapping[str, TankFeeding]) -> Table:
    """Return what was dosed of each bottle per week beside what its label recommends, one row per bottle and tank."""
    rows = [
        (trial.bottles[use.bottle].name, _column(trial, one), _dosed(use), _recommended(use), use.words)
        for one in feeding.values()
        for use in one.bottles
    ]
    return Table(
        title="Each bottle, per week, beside what its label recommends for this much water",
        columns=("bottle", "arm", "dosed", "label", "in words"),
        units=("", "", "", "", ""),
        rows=tuple(sorted(rows, key=lambda row: row[0])),
        note="A label's advice is its maker's, for a tank the maker does not know. It stands here for comparison only.",
        numbers=False,
    )


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
        f"{arm.name[:1].upper()}{arm.name[1:]}: no price was stated for "
        f"{', '.join(_ingredient(trial, *one) for one in cost.unpriced)}, so its sums are the least it can be."
        for arm, cost in arms
        if cost.unpriced
    ]
    first = [
        f"{arm.name[:1].upper()}{arm.name[1:]}: {_part(trial, cost.runs_out_first)}."
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


def _column(trial: Trial, fed: TankFeeding) -> str:
    arm, tank = trial.arm_of(fed.tank).name, trial.tanks[fed.tank].name
    return arm if arm == tank else f"{arm}, {tank}"


def _dosed(use: BottleUse) -> str:
    parts = [f"{figure(value)} {unit}" for value, unit in ((use.ml_per_week, "mL"), (use.g_per_week, "g")) if value]
    return " and ".join(parts) or "none"


def _recommended(use: BottleUse) -> str:
    return "–" if use.recommended_ml_per_week is None else f"{figure(use.recommended_ml_per_week)} mL"


def _part(trial: Trial, part: CostPart) -> str:
    weeks = part.pack_lasts_weeks or 0.0
    return f"{_ingredient(trial, part.bottle, part.ingredient)} runs out first, after {weeks:.0f} weeks of a full pack"


def _ingredient(trial: Trial, bottle: str, ingredient: str) -> str:
    return trial.bottles[bottle].name if ingredient == "bottle" else ingredient
