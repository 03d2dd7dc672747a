"""The tables of what was fed: what one dose adds, the weekly means, week by week, and bottle by bottle."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from littoral.chemistry.nutrients import NUTRIENTS, element_view
from littoral.feeding.adds import dose_adds_mg
from littoral.feeding.bottles import Bottle
from littoral.findings.feeding import BottleUse, TankFeeding
from littoral.publish.tables import Table, figure
from littoral.publish.words import dose_words, doses_from, nutrient_words, tank_column
from littoral.tank.volume import net_volume_l
from littoral.trial.model import Trial
from littoral.trial.periods import tanks_of

MAIN_NUTRIENTS = ("nitrate", "ammonium", "urea", "phosphate", "potassium", "iron", "magnesium")
"""Shown over time where they are dosed; the tables of doses and means have all others, too. Common practice."""
ELEMENT_NAMES = {"N": "nitrogen", "P": "phosphorus", "S": "sulphur", "Si": "silicon"}
"""Elements that an ion's mass is not the mass of: these have rows of their own, all others are counted so already."""


@dataclass(frozen=True, slots=True)
class _OneDose:
    """One dose of a bottle into so much water: what it is called, and mg/L of each ion that it adds."""

    words: str
    adds_mg_per_l: Mapping[str, float]


def doses_table(trial: Trial) -> Table | None:
    """Return mg/L of each ion and element that one dose adds, one column for each amount a regime doses of a bottle.

    A bottle that no regime doses is shown by the mL (a dry salt by the gram). None where no water or bottle is known.
    """
    doses = _doses(trial)
    if not doses:
        return None
    ions = [dose.adds_mg_per_l for dose in doses]
    return Table(
        title="What one dose adds, mg/L",
        columns=("counted as", *(dose.words for dose in doses)),
        units=("",) * (len(doses) + 1),
        rows=_ions_and_elements(ions, [element_view(one) for one in ions]),
        note="Per litre of net volume, right after the dose. An element counts all its ions together.",
    )


def main_nutrients(feeding: Mapping[str, TankFeeding]) -> list[str]:
    """Return the nutrients whose doses are followed over time: the main ones dosed, else whatever is dosed."""
    dosed = {key for fed in feeding.values() for week in fed.week_mg_per_l for key, mg in week.items() if mg > 0}
    return [key for key in NUTRIENTS if key in dosed and key in MAIN_NUTRIENTS] or sorted(dosed)


def nutrients_table(trial: Trial, feeding: Mapping[str, TankFeeding]) -> Table:
    """Return mg/L of each nutrient given per week, mean since the regimes began, one column per tank."""
    fed = list(feeding.values())
    return Table(
        title="Given per week, mean since the regimes began, mg/L",
        columns=("counted as", *(tank_column(trial, one.tank) for one in fed)),
        units=("",) * (len(fed) + 1),
        rows=_ions_and_elements([one.mean_mg_per_l for one in fed], [one.mean_element_mg_per_l for one in fed]),
        note=(
            f"Mean of {figure(max(one.weeks for one in fed), digits=2)} weeks, per litre of net volume "
            f"({', '.join(f'{trial.tanks[one.tank].name} {figure(one.net_volume_l)} L' for one in fed)}). "
            f"What source water brings is not counted. Doses {doses_from(trial, feeding)}."
            + (" Every tank had both regimes in turn." if trial.plan.kind == "crossover" else "")
        ),
    )


def weeks_table(trial: Trial, feeding: Mapping[str, TankFeeding]) -> Table:
    """Return mg/L given in each week of the trial, one column for each of the main nutrients and each tank."""
    fed = list(feeding.values())
    columns = [(key, one) for key in main_nutrients(feeding) for one in fed]
    return Table(
        title="Given week by week, mg/L",
        columns=("week", *(f"{NUTRIENTS[key].name}, {tank_column(trial, one.tank)}" for key, one in columns)),
        units=("",) * (len(columns) + 1),
        rows=tuple(
            (
                f"{week + 1}{' (baseline)' if 7 * (week + 1) <= trial.baseline_days else ''}",
                *(figure(one.week_mg_per_l[week].get(key, 0.0)) for key, one in columns),
            )
            for week in range(max(len(one.week_mg_per_l) for one in fed))
        ),
    )


def bottles_table(trial: Trial, feeding: Mapping[str, TankFeeding]) -> Table:
    """Return what was dosed of each bottle per week beside what its label recommends, one row per bottle and tank."""
    rows = [
        (trial.bottles[use.bottle].name, tank_column(trial, one.tank), _dosed(use), _recommended(use), use.words)
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


def _doses(trial: Trial) -> list[_OneDose]:
    """Return the doses of all regimes, each once for every net volume it goes into, by bottle."""
    litres = {
        tank: net_volume_l(vessel)
        for arm in trial.arms
        for tank in arm.tanks
        if (vessel := trial.tanks[tank].vessel) is not None
    }
    volumes = {figure(one): one for one in litres.values()}
    found: list[_OneDose] = []
    for bottle in trial.bottles.values():
        if not (bottle.content_mg_per_ml or bottle.content_mg_per_g):
            continue
        for said, volume_l in volumes.items():
            tanks = [tank for tank, one in litres.items() if figure(one) == said]
            for words, ml, g in _amounts(trial, bottle, tanks):
                adds = {key: mg / volume_l for key, mg in dose_adds_mg(bottle, ml=ml, g=g).items()}
                into = f", into {said} L" if len(volumes) > 1 else ""
                found.append(_OneDose(f"{bottle.name}, {words}{into}", adds))
    return found


def _amounts(trial: Trial, bottle: Bottle, tanks: Sequence[str]) -> list[tuple[str, float | None, float | None]]:
    """Return each amount (words, mL, g) that the regimes of some tanks dose of a bottle, by size."""
    had = [arm for arm in trial.arms if set(tanks_of(trial, arm)) & set(tanks)]
    keys = {trial.baseline_regime, *(arm.regime for arm in had)}
    dosed = {
        (dose.ml, dose.g): dose_words(dose)
        for key in keys
        if key is not None
        for dose in trial.regimes[key].doses
        if dose.of == bottle.key
    }
    if not dosed:
        return [("1 g", None, 1.0)] if bottle.dry_formula else [("1 mL", 1.0, None)]
    return [(words, ml, g) for (ml, g), words in sorted(dosed.items(), key=lambda one: one[0][0] or one[0][1] or 0.0)]


def _ions_and_elements(
    ions: Sequence[Mapping[str, float]], elements: Sequence[Mapping[str, float]]
) -> tuple[tuple[str, ...], ...]:
    """Return rows of ions, then of elements whose mass is another, from the mg/L of each in each column."""
    rows = [(nutrient_words(key), ions, key) for key in NUTRIENTS]
    rows += [(f"{name}, {key}", elements, key) for key, name in ELEMENT_NAMES.items()]
    return tuple(
        (words, *(figure(column.get(key, 0.0)) for column in columns))
        for words, columns, key in rows
        if any(column.get(key) for column in columns)
    )


def _dosed(use: BottleUse) -> str:
    parts = [f"{figure(value)} {unit}" for value, unit in ((use.ml_per_week, "mL"), (use.g_per_week, "g")) if value]
    return " and ".join(parts) or "none"


def _recommended(use: BottleUse) -> str:
    return "–" if use.recommended_ml_per_week is None else f"{figure(use.recommended_ml_per_week)} mL"
