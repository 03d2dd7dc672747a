"""What a tank or an arm costs with everything in it: feeding, gas, power, water, tests, plants, equipment, minutes.

Each part is a line with its derivation; each number may be a `Range`, and then so are the sums (interval arithmetic).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from littoral.feeding.cost import WEEKS_PER_YEAR, ArmCost, CostError
from littoral.feeding.ranges import Range, as_range, exactly, give_or_take, total
from littoral.quantities.derivation import Step

Number = float | Range
Part = Literal["feeding", "gas", "power", "water", "test kits", "plants", "equipment", "minutes"]


@dataclass(frozen=True, slots=True)
class CostLine:
    """One part: `per_week` that it costs to run, `at_start` that it costs once; the currency is the reader's own.

    Something written down over its life has its price in `at_start` and its wear in `wear_per_week`, which counts in
    the cost of a week but not in the money that leaves the purse each week.
    """

    part: Part
    name: str
    per_week: Range
    at_start: Range
    wear_per_week: Range
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class RunningCost:
    """All parts together: cost of a week (with wear), per 100 L and per year; what is paid at the start, and weekly.

    `lower_bound` names what has no price, so that the sums are too low; empty where all is known.
    """

    lines: tuple[CostLine, ...]
    per_week: Range
    per_100_l_per_week: Range
    per_year: Range
    at_start: Range
    paid_per_week: Range
    lower_bound: tuple[str, ...]
    steps: tuple[Step, ...]


def running_cost(lines: Sequence[CostLine], *, net_volume_l: float, unpriced: Sequence[str] = ()) -> RunningCost:
    """Return the sum of cost lines for a tank, or an arm's tanks, of `net_volume_l` litres. A year has 365.25 days.

    Raises CostError for water not above zero.
    """
    _above_zero("net volume", net_volume_l, "L")
    paid, wear = total([line.per_week for line in lines]), total([line.wear_per_week for line in lines])
    per_week = paid + wear
    steps = (
        Step("a week", " + ".join(f"{(line.per_week + line.wear_per_week).shown()} ({line.name})" for line in lines),
             per_week.shown(), "interval arithmetic: all low ends together, all high ends together"),
        Step("per 100 L", f"{per_week.shown()} × 100 / {net_volume_l:.4g} L",
             (per_week * exactly(100.0 / net_volume_l)).shown()),
        Step("a year", f"{per_week.shown()} × 365.25 / 7", (per_week * exactly(WEEKS_PER_YEAR)).shown()),
    )  # fmt: skip
    return RunningCost(
        lines=tuple(lines),
        per_week=per_week,
        per_100_l_per_week=per_week * exactly(100.0 / net_volume_l),
        per_year=per_week * exactly(WEEKS_PER_YEAR),
        at_start=total([line.at_start for line in lines]),
        paid_per_week=paid,
        lower_bound=tuple(unpriced),
        steps=steps,
    )


def feeding_line(cost: ArmCost, *, uncertainty: float = 0.0) -> CostLine:
    """Return the line of an arm's feeding; `uncertainty` is the share (0 to 1) by which its doses or prices may be off.

    Raises RangeError for a share outside 0 to 1.
    """
    per_week = give_or_take(cost.per_week, uncertainty)
    steps = tuple(
        Step(f"{part.ingredient} of {part.bottle}", f"{part.used:.4g} {part.unit} used, at the price of its pack",
             f"{part.cost_per_week:.4g} a week", "packs as stated")
        for part in cost.parts if part.cost_per_week is not None
    )  # fmt: skip
    return _weekly("feeding", "fertiliser", per_week, steps)


def gas_line(*, price_per_fill: Number, fill_g: Number, g_per_day: Number) -> CostLine:
    """Return the line of CO2: grams a day out of a filling of `fill_g` grams. Raises CostError, RangeError."""
    fill, price, day = _at_least(fill_g, "a filling", "g"), as_range(price_per_fill), as_range(g_per_day)
    per_week = day * exactly(7.0) / fill * price
    step = Step(
        "gas", f"{day.shown()} g × 7 / {fill.shown(0)} g × {price.shown()}", per_week.shown(), "your own figures"
    )
    return _weekly("gas", "CO₂", per_week, (step,))


def power_line(name: str, *, watts: Number, hours_per_day: Number, price_per_kwh: Number) -> CostLine:
    """Return the line of a lamp, heater or pump: W × h × 7 / 1000 × price per kWh. Raises CostError, RangeError.

    For a heater give the mean hours it is really on, or measure with a meter.
    """
    power, hours, price = as_range(watts), as_range(hours_per_day), as_range(price_per_kwh)
    if hours.high > 24:
        raise CostError(what=f"{hours.high:g} hours a day", right="A day has 24.")
    per_week = power * hours * exactly(7.0 / 1000.0) * price
    formula = f"{power.shown(1)} W × {hours.shown(1)} h × 7 / 1000 × {price.shown(3)} per kWh"
    return _weekly("power", name, per_week, (Step(name, formula, per_week.shown(), "your own figures"),))


def water_line(*, litres_per_week: Number, price_per_m3: Number) -> CostLine:
    """Return the line of water for changes and top-ups, waste of a filter included. Raises RangeError."""
    litres, price = as_range(litres_per_week), as_range(price_per_m3)
    per_week = litres * exactly(0.001) * price
    step = Step("water", f"{litres.shown(1)} L / 1000 × {price.shown()} per m³", per_week.shown(), "your own figures")
    return _weekly("water", "water", per_week, (step,))


def kit_line(name: str, *, price: Number, tests: Number, tests_per_week: Number) -> CostLine:
    """Return the line of a test kit of `tests` tests. A kit spoils too: count the tests really done before it does.

    Raises CostError, RangeError.
    """
    cost, count, rate = as_range(price), _at_least(tests, "a kit", "tests"), as_range(tests_per_week)
    per_week = cost / count * rate
    formula = f"{cost.shown()} / {count.shown(0)} tests × {rate.shown(1)} a week"
    return _weekly("test kits", name, per_week, (Step(name, formula, per_week.shown(), "your own figures"),))


def bought_once_line(
    part: Literal["plants", "equipment"],
    name: str,
    *,
    price: Number,
    life_weeks: Number | None,
    left_over: Number = 0.0,
) -> CostLine:
    """Return the line of something bought at the start and written down evenly over its life.

    `life_weeks` None writes nothing down (plants that stay); `left_over` is what it still fetches at the end.
    Raises CostError: no life, or more left over than it cost; RangeError.
    """
    cost, left = as_range(price), as_range(left_over)
    if left.high > cost.low:
        raise CostError(what=f"{name} fetches {left.high:g} but costs {cost.low:g}", right="It cannot gain in use.")
    zero = exactly(0.0)
    if life_weeks is None:
        return CostLine(part, name, zero, cost, zero, (Step(name, "bought once", cost.shown(), "your own figures"),))
    life = _at_least(life_weeks, "a life", "weeks")
    lost = Range(cost.low - left.high, cost.likely - left.likely, cost.high - left.low)
    wear = lost / life
    formula = f"({cost.shown()} - {left.shown()}) / {life.shown(0)} weeks"
    return CostLine(part, name, zero, cost, wear, (Step(name, formula, f"{wear.shown()} a week", "your own figures"),))


def minutes_line(*, minutes_per_week: Number, per_hour: Number) -> CostLine:
    """Return the line of care at a price of an hour. Only where the keeper asks: most would not sell this time.

    Raises RangeError.
    """
    minutes, price = as_range(minutes_per_week), as_range(per_hour)
    per_week = minutes * exactly(1.0 / 60.0) * price
    step = Step("care", f"{minutes.shown(0)} min / 60 × {price.shown()} an hour", per_week.shown(), "asked for")
    return _weekly("minutes", "care", per_week, (step,))


def _weekly(part: Part, name: str, per_week: Range, steps: tuple[Step, ...]) -> CostLine:
    return CostLine(part, name, per_week, exactly(0.0), exactly(0.0), steps)


def _at_least(value: Number, what: str, unit: str) -> Range:
    found = as_range(value)
    _above_zero(what, found.low, unit)
    return found


def _above_zero(what: str, value: float, unit: str) -> None:
    if not (math.isfinite(value) and value > 0):
        raise CostError(what=f"{what} of {value:g} {unit}", right="It must be above zero.")
