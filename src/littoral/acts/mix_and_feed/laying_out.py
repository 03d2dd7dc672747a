"""Lays a week's amount out over its days as a person says it: evenly, after the change, macro and micro apart."""

from __future__ import annotations

import re
from collections.abc import Sequence

from littoral.acts.mix_and_feed.dose_reading import LayOut, PlannedAmount, ReadDose
from littoral.acts.mix_and_feed.reading import Reading
from littoral.acts.mix_and_feed.shelf_reading import Shelf
from littoral.feeding.bottles import Bottle
from littoral.feeding.patterns import (
    DoseUnit,
    every_other_day,
    front_loaded,
    macro_and_micro_days,
    spread_evenly,
    weekday_number,
)
from littoral.feeding.regimes import WEEKDAYS, PlannedChange, PlannedDose, RegimeError, times_per_week, when_words
from littoral.quantities.derivation import Step
from littoral.speech.say import say

WAYS = ("evenly", "every other day", "half after the water change", "macro and micro days")
"""The ways as they are proposed; days and the share can be said besides."""
METALS = frozenset({"iron", "manganese", "zinc", "copper", "cobalt", "nickel", "boron", "molybdenum"})
EVERY_DAY = tuple(range(7))
_EVENLY = re.compile(r"evenly(?: on (?P<days>.+))?")
_ALTERNATE = re.compile(r"every other day(?: from day (?P<first>[01]))?")
_AFTER = re.compile(
    r"(?P<share>half|all|\S+(?: ?%)?)(?: of it)? after (?:the |each )?(?:water )?change(?: on (?P<change>[a-z]+))?"
    r"(?:,? the rest on (?P<days>.+))?"
)
_APART = re.compile(r"(?P<which>macro|micro) days|macro and micro days(?: apart)?")
_RIGHT = (
    'Write "evenly", "evenly on Mon, Thu", "every other day", "half after the water change" (or 30 %), or "macro and '
    'micro days".'
)


def by_the_changes(shelf: Shelf, changes: Sequence[PlannedChange]) -> LayOut:
    """Return what lays amounts out by the week's own water changes."""

    def lay_out(reading: Reading, text: str, one: PlannedAmount, line: int) -> list[ReadDose]:
        return _laid(reading, text, one, line, shelf.bottles[one.of], changes)

    return lay_out


def whole_week(_reading: Reading, _text: str, one: PlannedAmount, line: int) -> list[ReadDose]:
    """Return an amount spread over every day: what a week uses and costs is the same however it is laid out."""
    return _with_steps(spread_evenly(one.of, per_week=one.amount, unit=_unit(one), weekdays=EVERY_DAY), one, line)


def _laid(
    reading: Reading, text: str, one: PlannedAmount, line: int, bottle: Bottle, changes: Sequence[PlannedChange]
) -> list[ReadDose]:
    folded, week, unit = " ".join(text.casefold().split()) or "evenly", one.amount, _unit(one)
    found: list[ReadDose] = []
    with reading.trying("weekly", line=line):
        if evenly := _EVENLY.fullmatch(folded):
            days = _weekdays(reading, evenly["days"], line)
            if days is not None:
                found = _with_steps(spread_evenly(one.of, per_week=week, unit=unit, weekdays=days), one, line)
        elif alternate := _ALTERNATE.fullmatch(folded):
            first = int(alternate["first"] or 0)
            doses = every_other_day(one.of, per_week=week, unit=unit, first_on_day=first)
            found = _with_steps(doses, one, line)
        elif after := _AFTER.fullmatch(folded):
            words = {"half": "50 %", "all": "100 %"}.get(after["share"], after["share"])
            share = reading.amount("weekly", words, "fraction", line=line, of="the share")
            days = _weekdays(reading, after["days"], line)
            if share is not None and days is not None:
                day = _change_day(changes, after["change"])
                doses = front_loaded(
                    one.of, per_week=week, unit=unit, change_weekday=day, share_after_change=share, weekdays=days
                )
                found = _with_steps(doses, one, line, change_day=day, share=share)
        elif apart := _APART.fullmatch(folded):
            macro, micro = macro_and_micro_days(change_weekday=_change_day(changes, None))
            days = micro if (apart["which"] or _kind(bottle)) == "micro" else macro
            found = _with_steps(spread_evenly(one.of, per_week=week, unit=unit, weekdays=days), one, line)
        else:
            reading.wrong("weekly", say('is laid out "{text}".', text=text[:60]), _RIGHT, line=line)
    return found


def _weekdays(reading: Reading, text: str | None, line: int) -> tuple[int, ...] | None:
    if text is None:
        return EVERY_DAY
    days, every = reading.pattern("weekly", text, line=line)
    if every is not None:
        reading.wrong("weekly", say('is laid out on "{text}".', text=text[:60]), say("Name weekdays."), line=line)
    return days or None


def _change_day(changes: Sequence[PlannedChange], named: str | None) -> int:
    """The weekday of the water change; RegimeError where there is none, or several and none is named."""
    days = sorted({day for change in changes for day in change.weekdays})
    if not days:
        right = say('Say on which weekday water is changed, such as "40 %" on Sat; or lay the dose out evenly.')
        raise RegimeError(what=say("no water change falls on a weekday"), right=right)
    shown = ", ".join(WEEKDAYS[day] for day in days)
    if named is not None:
        day = weekday_number(named)
        if day not in days:
            raise RegimeError(
                what=say("no water is changed on {weekdays}", weekdays=WEEKDAYS[day]),
                right=say("Changes are on {shown}.", shown=shown),
            )
        return day
    if len(days) > 1:
        right = say('Say after which: "half after the water change on {weekdays}".', weekdays=WEEKDAYS[days[0]])
        raise RegimeError(what=say("water is changed on {shown}", shown=shown), right=right)
    return days[0]


def _kind(bottle: Bottle) -> str:
    """Whether a bottle counts as macro or micro: by the metals in it. RegimeError for one that holds phosphate too."""
    content = {**bottle.content_mg_per_ml, **bottle.content_mg_per_g}
    metals = [key for key in METALS if content.get(key, 0.0) > 0]
    if metals and content.get("phosphate", 0.0) > 0:
        right = say('Say which days it gets: "macro days" or "micro days".')
        raise RegimeError(
            what=say("{key} holds phosphate and {min} in one", key=bottle.key, min=min(metals)), right=right
        )
    return "micro" if metals else "macro"


def _unit(one: PlannedAmount) -> DoseUnit:
    return "g" if one.unit == "g" else "mL"


def _with_steps(
    doses: Sequence[PlannedDose], one: PlannedAmount, line: int, *, change_day: int | None = None, share: float = 0.0
) -> list[ReadDose]:
    week = f"{one.amount:.4g} {one.unit}"
    of_week = Step("a week", one.written, week, "as written")
    found = []
    for dose in doses:
        amount = dose.g if dose.g is not None else dose.ml
        if change_day is None:
            formula = f"{week} / {times_per_week(dose):g} doses a week"
        elif dose.weekdays == (change_day,):
            formula = f"{share:.4g} × {week}, right after the water change"
        else:
            formula = f"{1 - share:.4g} × {week} / {times_per_week(dose):g} doses"
        step = Step("one dose", formula, f"{amount:.4g} {one.unit}", f"laid out {when_words(dose)}")
        found.append(ReadDose(dose, f"weekly.{line}", (*one.steps, of_week, step)))
    return found
