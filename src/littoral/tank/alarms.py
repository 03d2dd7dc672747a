"""Warnings before harm: a forecast against published limits, with its doubt and the day it may pass them first.

A forecast is draws: arrays of shape (draws, n_days), with `day` (n_days,) in days of the trial. Each alarm holds a
check row, whose value is the median on the worst day. Words: a level is "below" or "above" a named figure; nothing here
says that a level does no harm.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from littoral.chemistry.ammonia import ammonia_of
from littoral.chemistry.hardness import hardness_of_ions_mmol_per_l
from littoral.chemistry.limits import (
    NOT_AN_AQUARIUM_LIMIT,
    Limit,
    WaterConditions,
    limit_here,
    limits,
)
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.errors import LittoralError
from littoral.quantities.check_row import CheckRow, Verdict

FloatArray = NDArray[np.float64]
MAY = 0.05
"""A probability from here on is worth a warning; common practice, no source."""
LIKELY = 0.5
WATCH = (  # said once beside all alarms that do not hold
    "This is an estimate with doubt, not a measurement: test before you act. Watch the animals; where they gasp, lie "
    "still or dart about, change some water first and ask a vet or another qualified person."
)


class AlarmError(LittoralError):
    """A forecast that no alarm can be read from."""

    def __init__(self, *, what: str, right: str) -> None:
        self.what = what
        self.right = right
        super().__init__(f"forecast: {what}. {right}")


@dataclass(frozen=True, slots=True)
class Alarm:
    """One limit and a forecast. `low` and `high` are a 90 % band around the row's value, in its unit.

    `probability` (0 to 1) that it is passed on any day of the forecast; `may_pass_day` and `likely_pass_day` are the
    first days on which it is passed with at least 5 and 50 in 100; None where that never comes or cannot be told.
    """

    row: CheckRow
    low: float | None
    high: float | None
    probability: float | None
    may_pass_day: float | None
    likely_pass_day: float | None

    @property
    def passes(self) -> bool:
        """Whether the limit may be passed."""
        return self.row.verdict in ("warns", "fails")


def limit_alarms(
    level_mg_per_l: Mapping[str, ArrayLike],
    *,
    day: ArrayLike,
    ph: float | None = None,
    temperature_c: float | None = None,
    hardness_mmol_per_l: float | None = None,
    doc_mg_per_l: float | None = None,
) -> tuple[Alarm, ...]:
    """Return an alarm for each published limit of what is forecast, those that may be passed first.

    Levels: (draws, n_days) in mg/L by nutrient, as the ion; "co2" and "oxygen" in mg/L. Urea counts as ammonium in
    full, which it may turn into. Give the *highest* pH and temperature of a day for ammonia. Hardness comes from the
    lowest calcium and magnesium where it is not given, chloride from its lowest. Raises AlarmError, WaterError.
    """
    days = forecast_days(day)
    levels = {key: forecast_draws(level, days, what=key) for key, level in level_mg_per_l.items()}
    if unknown := [key for key in levels if key not in NUTRIENTS and key not in ("co2", "oxygen")]:
        raise AlarmError(
            what=f'"{unknown[0][:40]}" is nothing Littoral keeps account of',
            right="Name a nutrient.",
        )
    lowest = {key: float(np.median(array, axis=0).min()) for key, array in levels.items()}
    if hardness_mmol_per_l is None and {"calcium", "magnesium"} <= levels.keys():
        hardness_mmol_per_l = hardness_of_ions_mmol_per_l(lowest)
    conditions = WaterConditions(hardness_mmol_per_l, ph, temperature_c, lowest.get("chloride"), doc_mg_per_l)
    if "urea" in levels:
        per_urea = 2.0 * NUTRIENTS["ammonium"].weight / NUTRIENTS["urea"].weight
        levels["ammonium"] = levels.get("ammonium", np.zeros_like(levels["urea"])) + per_urea * levels["urea"]
    found = [
        _limit_alarm(limit, levels[_of(limit)], days, conditions, urea="urea" in levels)
        for limit in limits()
        if _of(limit) in levels
    ]
    return in_order(found)


def in_order(alarms: list[Alarm]) -> tuple[Alarm, ...]:
    """Return alarms with the worst verdict first, then by the day they may come."""
    rank = {"fails": 0, "warns": 1, "cannot tell": 2, "holds": 3}
    never = float("inf")
    return tuple(
        sorted(
            alarms,
            key=lambda one: (
                rank[one.row.verdict],
                never if one.may_pass_day is None else one.may_pass_day,
            ),
        )
    )


def forecast_draws(level: ArrayLike, day: FloatArray, *, what: str, lowest: float = 0.0) -> FloatArray:
    """Return a forecast as an array (draws, n_days), not below `lowest`; a single line is one draw.

    Raises AlarmError where it is none.
    """
    array = np.atleast_2d(np.asarray(level, dtype=np.float64))
    if array.ndim != 2 or array.shape[1] != day.size or array.shape[0] == 0:
        right = f"Give draws by days, with {day.size} days."
        raise AlarmError(what=f"the forecast of {what[:40]} has the shape {array.shape}", right=right)
    if not (np.isfinite(array).all() and (array >= lowest).all()):
        right = f"Give numbers of {lowest:g} or more."
        raise AlarmError(
            what=f"the forecast of {what[:40]} goes below {lowest:g} or is no number",
            right=right,
        )
    return array


def forecast_days(day: ArrayLike) -> FloatArray:
    """Return the days of a forecast as an array (n_days,). Raises AlarmError unless they ascend."""
    days = np.atleast_1d(np.asarray(day, dtype=np.float64))
    if days.ndim != 1 or days.size == 0 or not np.isfinite(days).all() or (np.diff(days) <= 0).any():
        raise AlarmError(
            what="days that do not ascend",
            right="Give days of the trial, each later than the last.",
        )
    return days


def alarm_of(
    draws: FloatArray,
    day: FloatArray,
    *,
    what: str,
    limit: float,
    operator: Literal["<=", ">="],
    unit: str,
    term: Literal["long", "short"],
    tail: str,
    source: str,
    published: bool = True,
) -> Alarm:
    """Return the alarm of a forecast (draws, n_days) against one limit, both in `unit`.

    Verdict: "holds" below 5 in 100; "warns" from there on; "fails" from 50 in 100 where the limit is for a short
    `term`. `tail` ends the comment; a `published` figure is said to be one, and no aquarium limit. Raises nothing.
    """
    past = draws > limit if operator == "<=" else draws < limit
    by_day = past.mean(axis=0)
    ever = float(past.any(axis=1).mean())
    median = np.median(draws, axis=0)
    worst = int(median.argmax() if operator == "<=" else median.argmin())
    low, high = (float(value) for value in np.quantile(draws[:, worst], (0.05, 0.95)))
    may, likely = _first(by_day >= MAY, day), _first(by_day >= LIKELY, day)
    if may is None and ever >= MAY:  # never on one day, but on some day
        may = float(day[int(by_day.argmax())])
    verdict: Verdict = "holds" if ever < MAY else "fails" if ever >= LIKELY and term == "short" else "warns"
    side, other = ("above", "below") if operator == "<=" else ("below", "above")
    figure = f"{'the published' if published else 'the usual'} {plain(limit)} {unit}".rstrip()
    span = f"{plain(float(median[worst]))} ({plain(low)} to {plain(high)}) {unit} on day {_whole(day[worst])}".replace(
        "  ", " "
    )
    if verdict == "holds":
        comment = f"Stays {other} {figure}: at worst {span}."
    elif likely is not None:
        comment = f"Probably {side} {figure} from day {_whole(likely)}: {span}."
    else:
        assert may is not None  # a verdict other than "holds" has a day
        comment = f"May come {side} {figure}, with {100 * ever:.0f} in 100, first about day {_whole(may)}: {span}."
    parts = [comment, tail, NOT_AN_AQUARIUM_LIMIT if published else ""]
    text = " ".join(part for part in parts if part)
    row = CheckRow(what, float(median[worst]), operator, limit, unit, verdict, text, source)
    return Alarm(row, low, high, ever, may, likely)


def plain(number: float) -> str:
    """Return a number with three digits that count, never as a power of ten."""
    return f"{number:.0f}" if abs(number) >= 100 else f"{number:.3g}"


def _whole(day: float) -> int:
    """A day as a person counts them: day 3 lasts until day 4 begins."""
    return math.floor(day)


def _first(at: NDArray[np.bool_], day: FloatArray) -> float | None:
    return float(day[int(at.argmax())]) if at.any() else None


def _of(limit: Limit) -> str:
    return "ammonium" if limit.analyte in ("ammonia", "un-ionised ammonia") else limit.analyte


def _limit_alarm(
    limit: Limit,
    draws: FloatArray,
    day: FloatArray,
    water: WaterConditions,
    *,
    urea: bool,
) -> Alarm:
    here = limit_here(limit, water)
    factor = stated_factor(limit, water)
    counted = " Urea is counted as if all of it had turned to ammonium." if urea and _of(limit) == "ammonium" else ""
    tail = f"It protects {limit.protects}. {limit.note}".strip() + counted
    if factor is None or here.value is None:
        missing = here.missing or ("pH" if water.ph is None else "temperature")
        comment = f"Needs {missing}. {tail} {NOT_AN_AQUARIUM_LIMIT}"
        row = CheckRow(
            limit.key,
            None,
            limit.operator,
            here.value,
            limit.unit,
            "cannot tell",
            comment,
            limit.cited,
        )
        return Alarm(row, None, None, None, None, None)
    return alarm_of(
        factor * draws,
        day,
        what=limit.key,
        limit=here.value,
        operator=limit.operator,
        unit=limit.unit,
        term=limit.term,
        tail=tail,
        source=limit.cited,
        published=limit.status != "common practice",
    )


def stated_factor(limit: Limit, water: WaterConditions) -> float | None:
    """What a mg/L as the ion is in the limit's own unit and form; None where that needs pH or temperature."""
    if limit.analyte == "un-ionised ammonia":
        if water.ph is None or water.temperature_c is None:
            return None
        one = ammonia_of(ammonium_mg_per_l=1.0, ph=water.ph, temperature_c=water.temperature_c)
        return one.unionised_mg_nh3_per_l
    factor = NUTRIENTS[_of(limit)].element_share if limit.stated_as == "N" else 1.0
    return factor * (1000.0 if limit.unit.startswith("µg") else 1.0)
