"""The small tables of a trial's page: what was given, the levels it led to, what it cost; and where to take care."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from littoral.acts.trial_page import Table
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.salts import salt
from littoral.feeding.cost import ArmCost
from littoral.findings.costs import costs_of
from littoral.findings.feeding import TankFeeding, feeding_of
from littoral.findings.levels import Levels, levels_of
from littoral.logbook.book import Logbook
from littoral.trial.model import Trial

BY_WEEK = ("nitrate", "phosphate", "potassium", "iron")
"""The nutrients shown week by week: those that regimes are most often about; all others are in the table of means."""
LAST_DAYS = 7.0


def tables_of(book: Logbook, trial: Trial) -> tuple[tuple[Table, ...], tuple[str, ...]]:
    """Return the tables of a trial's page, and the cautions that belong to them; both empty where no water is known."""
    feeding, levels, costs = feeding_of(book, trial), levels_of(book, trial), costs_of(book, trial)
    tables = [*_feeding_tables(trial, feeding), *_level_tables(trial, levels), *_cost_tables(trial, costs)]
    return tuple(tables), _cautions(trial) if tables else ()


def figure(value: float, *, digits: int = 3) -> str:
    """Return a number to `digits` significant digits without an exponent: 0.0123, 4.50, 1230."""
    if value == 0 or not math.isfinite(value):
        return "0" if value == 0 else "–"
    decimals = digits - 1 - math.floor(math.log10(abs(value)))
    return f"{round(value, decimals):.{max(decimals, 0)}f}"


def _feeding_tables(trial: Trial, feeding: Mapping[str, TankFeeding]) -> list[Table]:
    fed = list(feeding.values())
    if not fed:
        return []
    names = tuple(f"{trial.arm_of(one.tank).name}, {trial.tanks[one.tank].name}" for one in fed)
    given = [key for key in NUTRIENTS if any(one.mean_mg_per_l.get(key) for one in fed)]
    planned = " No doses were noted: this is what the regimes plan." if any(one.as_planned for one in fed) else ""
    means = Table(
        "Given each week, since the regimes began",
        ("Nutrient", *names),
        ("", *("mg/L" for _ in fed)),
        tuple((_nutrient(key), *(figure(one.mean_mg_per_l.get(key, 0.0)) for one in fed)) for key in given),
        f"Mean of {figure(fed[0].weeks, digits=2)} weeks, as each ion, by the net volume of the tank.{planned}",
    )
    shown = [key for key in BY_WEEK if key in given]
    weekly = Table(
        "Given week by week",
        ("Week", *(f"{key} {name.partition(',')[0]}" for key in shown for name in names)),
        ("", *("mg/L" for _ in shown for _ in fed)),
        tuple(
            (
                f"{week + 1}{' (baseline)' if 7 * (week + 1) <= trial.baseline_days else ''}",
                *(figure(one.week_mg_per_l[week].get(key, 0.0)) for key in shown for one in fed),
            )
            for week in range(max(len(one.week_mg_per_l) for one in fed))
        ),
    )
    rows = []
    for place, use in enumerate(fed[0].bottles):
        uses = [one.bottles[place] for one in fed]
        amounts = [_amount(one.ml_per_week, one.g_per_week) for one in uses]
        label = "–" if use.recommended_ml_per_week is None else f"{figure(use.recommended_ml_per_week)} mL"
        words = "; ".join(f"{name.partition(',')[0]}: {one.words}" for name, one in zip(names, uses, strict=True))
        rows.append((trial.bottles[use.bottle].name, *amounts, label, "–" if use.factor is None else words))
    bottles = Table(
        "Each bottle, per week, beside what its label recommends",
        ("Bottle", *names, "label recommends", "in words"),
        ("",) * (len(names) + 3),
        tuple(rows),
    )
    return [means, weekly, bottles]


def _level_tables(trial: Trial, levels: Mapping[str, Levels]) -> list[Table]:
    shown = [one for one in levels.values() if one.likely_mg_per_l]
    if not shown:
        return []
    nutrients = [key for key in NUTRIENTS if any(key in one.likely_mg_per_l for one in shown)]
    columns = [f"{kind} {trial.arm_of(one.tank).name}" for one in shown for kind in ("likely", "at most", "last test")]
    rows = []
    for key in nutrients:
        row = [_nutrient(key)]
        for one in shown:
            row += [
                _range(one, one.likely_mg_per_l.get(key)),
                _range(one, one.upper_mg_per_l.get(key)),
                _test(one, key),
            ]
        rows.append(tuple(row))
    note = (
        "Lowest to highest of the last seven days. “Likely” reckons the uptake stated in the trial file, “at most” "
        "none; neither is measured, and neither says that a level is safe."
    )
    remarks = "; ".join(dict.fromkeys(remark for one in shown for remark in one.remarks))
    return [
        Table(
            "Levels in the last week",
            ("Nutrient", *columns),
            ("", *("mg/L" for _ in columns)),
            tuple(rows),
            f"{note} {remarks[:1].upper()}{remarks[1:]}." if remarks else note,
        )
    ]


def _cost_tables(trial: Trial, costs: Mapping[str, ArmCost]) -> list[Table]:
    if not costs:
        return []
    arms = [(arm.name, costs[arm.key]) for arm in trial.arms if arm.key in costs]
    money: Sequence[tuple[str, str]] = (
        ("per week", "per_week"),
        ("per 100 L and week", "per_100_l_per_week"),
        ("per year", "per_year"),
    )
    rows = [(name, *(f"{getattr(cost, key):.2f}" for _, cost in arms)) for name, key in money]
    firsts = []
    for name, cost in arms:
        first = cost.runs_out_first
        if first is not None and first.pack_lasts_weeks is not None:
            what = trial.bottles[first.bottle].name if first.ingredient == "bottle" else first.ingredient
            firsts.append(f"{name}: {what} runs out first, after {first.pack_lasts_weeks:.0f} weeks.")
        if cost.unpriced:
            missing = ", ".join(ingredient for _, ingredient in cost.unpriced)
            firsts.append(f"{name}: without a price for {missing}, so the sums are lower bounds.")
    note = " ".join(firsts)
    return [
        Table(
            "Cost of feeding",
            ("", *(name for name, _ in arms)),
            ("", *(trial.currency for _ in arms)),
            tuple(rows),
            note,
        )
    ]


def _cautions(trial: Trial) -> tuple[str, ...]:
    formulas = dict.fromkeys(formula for bottle in trial.bottles.values() for formula in bottle.salts_g)
    found = [f"{salt(formula).name} ({formula}): {salt(formula).hazard_text}" for formula in formulas]
    return (
        *found,
        "Overdosing can kill animals. A level is an account of what went in, not a promise that it does no harm; "
        "watch the animals, test the water, and follow the label and the product's safety data sheet.",
    )


def _nutrient(key: str) -> str:
    nutrient = NUTRIENTS[key]
    return nutrient.name if nutrient.symbol == nutrient.name else f"{nutrient.name} ({nutrient.symbol})"


def _amount(ml: float, g: float) -> str:
    parts = [f"{figure(value)} {unit}" for value, unit in ((ml, "mL"), (g, "g")) if value]
    return " and ".join(parts) or "none"


def _range(levels: Levels, values: np.ndarray | None) -> str:
    if values is None:
        return "–"
    last = values[levels.day >= levels.day[-1] - LAST_DAYS]
    return f"{figure(float(last.min()), digits=2)} to {figure(float(last.max()), digits=2)}"


def _test(levels: Levels, nutrient: str) -> str:
    readings = [one for one in levels.readings if one.nutrient == nutrient]
    return readings[-1].shown if readings else "–"
