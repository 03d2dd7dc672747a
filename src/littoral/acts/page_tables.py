"""The tables of a trial's page: those of the sheet, and between them what was given week by week and the levels."""

from __future__ import annotations

from collections.abc import Mapping

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.feeding.cost import ArmCost
from littoral.findings.feeding import TankFeeding
from littoral.findings.levels import Levels
from littoral.publish.tables import Table, bottles_table, costs_table, figure, nutrients_table
from littoral.publish.words import nutrient_words
from littoral.stats.series import FloatArray
from littoral.trial.model import Trial

BY_WEEK = ("nitrate", "phosphate", "potassium", "iron")
"""The nutrients shown week by week: those that regimes are most often about; the table of means has all others."""
LAST_DAYS = 7.0


def tables_of(
    trial: Trial,
    *,
    feeding: Mapping[str, TankFeeding],
    levels: Mapping[str, Levels],
    costs: Mapping[str, ArmCost],
) -> tuple[Table, ...]:
    """Return every table that has something to show."""
    tables: list[Table] = []
    if feeding:
        tables += [nutrients_table(trial, feeding), weeks_table(trial, feeding), bottles_table(trial, feeding)]
    known = {tank: one for tank, one in levels.items() if one.likely_mg_per_l}
    if known:
        tables.append(levels_table(trial, known))
    if costs:
        tables.append(costs_table(trial, costs))
    return tuple(tables)


def weeks_table(trial: Trial, feeding: Mapping[str, TankFeeding]) -> Table:
    """Return mg/L given in each week of the trial, one column for each of a few nutrients and each tank."""
    fed = list(feeding.values())
    shown = [key for key in BY_WEEK if any(week.get(key) for one in fed for week in one.week_mg_per_l)]
    columns = [(key, one) for key in shown for one in fed]
    return Table(
        title="Given week by week",
        columns=("week", *(f"{NUTRIENTS[key].name}, {_tank_words(trial, one.tank)}" for key, one in columns)),
        units=("", *("mg/L" for _ in columns)),
        rows=tuple(
            (
                f"{week + 1}{' (baseline)' if 7 * (week + 1) <= trial.baseline_days else ''}",
                *(figure(one.week_mg_per_l[week].get(key, 0.0)) for key, one in columns),
            )
            for week in range(max(len(one.week_mg_per_l) for one in fed))
        ),
    )


def levels_table(trial: Trial, levels: Mapping[str, Levels]) -> Table:
    """Return the lowest to the highest level of the last days, by tank: likely, at most, and the last test, mg/L."""
    some = list(levels.values())
    nutrients = [key for key in NUTRIENTS if any(key in one.likely_mg_per_l for one in some)]
    columns = [(kind, one) for one in some for kind in ("likely", "at most", "last test")]
    remarks = "; ".join(dict.fromkeys(remark for one in some for remark in one.remarks))
    said = f" {remarks[:1].upper()}{remarks[1:]}." if remarks else ""
    return Table(
        title="Levels in the last week",
        columns=("", *(f"{kind}, {_tank_words(trial, one.tank)}" for kind, one in columns)),
        units=("", *("mg/L" for _ in columns)),
        rows=tuple((nutrient_words(key), *(_cell(kind, one, key) for kind, one in columns)) for key in nutrients),
        note=(
            "Lowest to highest of the last seven days. “Likely” reckons the uptake stated in the trial file, “at most” "
            f"none; neither is measured, and neither says that a level is safe.{said}"
        ),
    )


def _tank_words(trial: Trial, tank: str) -> str:
    arm = trial.arm_of(tank)
    return arm.name if len(arm.tanks) == 1 else f"{arm.name}, {trial.tanks[tank].name}"


def _cell(kind: str, levels: Levels, nutrient: str) -> str:
    if kind == "last test":
        readings = [one.shown for one in levels.readings if one.nutrient == nutrient]
        return readings[-1] if readings else "–"
    return _range(levels, (levels.likely_mg_per_l if kind == "likely" else levels.upper_mg_per_l).get(nutrient))


def _range(levels: Levels, values: FloatArray | None) -> str:
    if values is None:
        return "–"
    last = values[levels.day >= levels.day[-1] - LAST_DAYS]
    return f"{figure(float(last.min()), digits=2)} to {figure(float(last.max()), digits=2)}"
