"""Levels in words, the same on the page, in the terminal and on the sheet."""

from __future__ import annotations

import math

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.findings.estimates.model import LevelEstimate
from littoral.speech.dates import weekday_name
from littoral.speech.say import say
from littoral.tank.fit.forecast import Estimate
from littoral.trial.days import date_of
from littoral.trial.model import Trial

NOTHING_MG_PER_L = 0.005
"""Below half of what the finest of the usual tests tell from nothing, a level is shown as 0."""


def mg(value: float) -> str:
    """Return a level to two digits, never with powers of ten; what no test tells from nothing is "0".

    Infinity, of a reading off its scale, is "no end".
    """
    if math.isinf(value):
        return say("no end")
    if abs(value) < NOTHING_MG_PER_L:
        return "0"
    text = f"{value:.2g}" if abs(value) < 100 else f"{value:.0f}"
    plain = f"{float(text):.10f}".rstrip("0").rstrip(".") if "e" in text else text
    return plain.replace("-", "−")


def ends(low: float, high: float) -> str:
    """Return "7.1 to 13"; a lower end that is nothing beside the upper one is written as 0."""
    return say("{mg} to {mg_2}", mg=mg(0.0 if abs(low) < abs(high) / 100 else low), mg_2=mg(high))


def with_doubt(one: Estimate, unit: str = "mg/L") -> str:
    """Return the middle with the 90 % interval: "9.8 mg/L (90 %: 7.1 to 13)"."""
    return f"{mg(one.median)} {unit} (90\u00a0%: {ends(one.low_90, one.high_90)})"


def way_words(method: str) -> str:
    """Return how a person calls a way to test: "nitrate by colour card", from its name in the fit."""
    nutrient, _, called = method.partition(", ")
    name = NUTRIENTS[nutrient].name
    return called if name in called else say("{name} by {called}", name=name, called=called) if called else name


def day_words(trial: Trial, day: float) -> str:
    """Return a day of a trial as a person says it: "Saturday, day 54"."""
    return say("{weekday}, day {day}", weekday=weekday_name(date_of(day, trial).weekday()), day=int(day))


def removal_words(net: Estimate) -> str:
    """Return the net removal as a sentence; below zero the water gains."""
    if net.low_90 >= 0 or net.median >= 0:
        return say(
            "Plants and all else take {with_doubt} more than comes back.", with_doubt=with_doubt(net, "mg/L per day")
        )
    return say(
        "The water gains {mg} mg/L per day (90 %: {mg_2} to {mg_3}).",
        mg=mg(-net.median),
        mg_2=mg(-net.high_90),
        mg_3=mg(-net.low_90),
    )


def chance_of_leaving(one: LevelEstimate) -> float | None:
    """Return the probability that a level leaves its band before the forecast ends; None where it has no band."""
    return None if one.bands.left_band is None else float(one.bands.left_band[-1])


def chance_words(chance: float) -> str:
    """Return a probability in words with its figure."""
    if chance < 0.01:
        return say("Less than 1 in 100")
    if chance > 0.99:
        return say("More than 99 in 100")
    return say("{chance:.0f} in 100", chance=100 * chance)


def leaving_words(one: LevelEstimate) -> str:
    """Return that a level leaves its band: "leaves its band of 5 to 20 mg/L", "falls below its floor of 5 mg/L"."""
    floor, ceiling = one.band.floor_mg_per_l, one.band.ceiling_mg_per_l
    if floor is not None and ceiling is not None:
        return say("leaves its band of {floor:g} to {ceiling:g} mg/L", floor=floor, ceiling=ceiling)
    return (
        say("falls below its floor of {floor:g} mg/L", floor=floor)
        if floor is not None
        else say("rises above its ceiling of {ceiling:g} mg/L", ceiling=ceiling)
    )
