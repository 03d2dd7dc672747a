"""Words of the page of levels: days as people name them, what a sentence calls a tank or a nutrient."""

from __future__ import annotations

import math

from littoral.chemistry.nutrients import NUTRIENTS
from littoral.publish.level_words import chance_words as spoken
from littoral.speech.dates import day_and_month, long_date, weekday_name
from littoral.speech.say import say
from littoral.trial.days import date_of
from littoral.trial.model import Trial

NEAR_DAYS = 6.0
"""Within so many days a weekday alone says which day is meant."""


def chance_words(probability: float) -> str:
    """Return a probability inside a sentence: "30 in 100"."""
    said = spoken(probability)
    return said[0].lower() + said[1:]


def day_words(day: float, trial: Trial, *, now_day: float) -> str:
    """Return a day of the trial: "Saturday" in the week around now, else "Saturday 14 March"."""
    on = date_of(day, trial)
    weekday = weekday_name(on.weekday())
    return weekday if abs(day - now_day) < NEAR_DAYS else day_and_month(on)


def long_day(day: float, trial: Trial) -> str:
    """Return a day of the trial in full: "Saturday 14 March 2026, day 12"."""
    on = date_of(day, trial)
    return say("{date}, day {day}", date=long_date(on), day=math.floor(day))


def change_words(day: float, trial: Trial, *, now_day: float) -> str:
    """Return a water change by its day: "today's change", "Saturday's change", or "the change of Saturday 14 March"."""
    if math.floor(day) == math.floor(now_day) < now_day:  # the end of a record, a whole day, is nobody's today
        return say("today's change")
    said = day_words(day, trial, now_day=now_day)
    if abs(day - now_day) >= NEAR_DAYS:
        return say("the change of {day}", day=said)
    return say("last {day}'s change", day=said) if day < now_day else say("{day}'s change", day=said)


def name_of(nutrient: str) -> str:
    """Return a nutrient's name as it begins a sentence: "Nitrate"."""
    name = say(NUTRIENTS[nutrient].name)
    return name[0].upper() + name[1:]


def tank_words(trial: Trial, tank: str) -> str:
    """Return how a sentence calls a tank: "left tank", or "tank left" where its name does not say that it is one."""
    name = trial.tanks[tank].name
    return name if "tank" in name.casefold() else say("tank {name}", name=name)
