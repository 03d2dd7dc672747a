"""Gather everything the page of a trial's levels shows: words and rows ready to be set, and the charts beside them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path

from littoral.acts.levels_rows import (
    AlarmRow,
    LimitingRow,
    NarrowRow,
    StandardCard,
    SurpriseRow,
    TestRow,
    alarm_row,
    limiting_rows,
    narrow_rows,
    standard_cards,
    surprise_rows,
    test_rows,
)
from littoral.acts.levels_sure import PriorRow, Settled, SureRow, prior_rows, sure_rows
from littoral.acts.levels_words import chance_words, change_words, long_day, name_of
from littoral.acts.other_levels import Lever, levers_of, planned_bands
from littoral.acts.page_charts import charts_by_width
from littoral.errors import extras_needed
from littoral.findings.estimates.estimated import NothingToEstimateError, estimate_levels
from littoral.findings.estimates.model import Estimates, LevelEstimate
from littoral.findings.measuring import measure_photos
from littoral.logbook.book import Logbook
from littoral.progress import Progress
from littoral.publish.bands_chart import bands_chart
from littoral.publish.chart import Chart
from littoral.publish.level_words import chance_of_leaving, ends, leaving_words, mg, removal_words, with_doubt
from littoral.publish.look import on_dark
from littoral.quantities.check_row import CheckRow
from littoral.quantities.counting import counted
from littoral.speech.say import say, say_n
from littoral.tank.alarms import WATCH
from littoral.tank.fit.forecast import Bands
from littoral.trial.days import date_of
from littoral.trial.model import Trial

NEAR_DAYS = 14.0
"""How far back a chart goes that is drawn near now only."""


@dataclass(frozen=True, slots=True)
class LevelWords:
    """One level of one tank, in sentences; "" where there is nothing to say. `arm_place` gives the arm's colour.

    `headline`: what is told, the figure, and its doubt.
    """

    tank: str
    tank_name: str
    arm_name: str
    arm_place: int
    headline: tuple[str, str, str]
    now: str
    next: str
    removal: str
    leaving: str
    behind: str


@dataclass(frozen=True, slots=True, eq=False)
class NutrientPart:
    """One nutrient: its words by tank, and its chart by width in px, over the whole trial and `near` now only.

    `near` is None where the whole trial is hardly longer.
    """

    key: str
    name: str
    words: tuple[LevelWords, ...]
    charts: Mapping[int, Chart]
    near: Mapping[int, Chart] | None


@dataclass(frozen=True, slots=True)
class DayMoment:
    """A whole day that the cursor can stand on, in words."""

    day: float
    label: str
    date: date


@dataclass(frozen=True, slots=True, eq=False)
class TankPart:
    """What belongs to one tank: the levers of a what-if (None where no regime holds), its alarms, what is scarcest.

    `planned` is what a what-if is compared with; `changes` are water changes told by conductivity.
    """

    key: str
    name: str
    arm_name: str
    arm_place: int
    levers: tuple[Lever, ...] | None
    planned: tuple[Bands, ...]
    alarms: tuple[AlarmRow, ...]
    changes: tuple[CheckRow, ...]
    limiting: tuple[LimitingRow, ...]


@dataclass(frozen=True, slots=True, eq=False)
class LevelsPage:
    """Everything the page shows. Where nothing can be estimated, `why_not` says why and the rest is empty.

    `estimates` are kept for what is asked of them later: a what-if, signs on leaves, other priors.
    """

    trial: Trial
    estimates: Estimates | None
    why_not: str
    lead: str
    over: bool
    now_day: float
    days: tuple[DayMoment, ...]
    nutrients: tuple[NutrientPart, ...]
    tanks: tuple[TankPart, ...]
    tests: tuple[TestRow, ...]
    weeks: tuple[int, ...]
    narrowed: tuple[NarrowRow, ...]
    surprises: tuple[SurpriseRow, ...]
    standards: tuple[StandardCard, ...]
    sure: tuple[SureRow, ...]
    priors: tuple[PriorRow, ...]
    remarks: tuple[str, ...]
    on_dark: Mapping[str, str]
    watch: str = WATCH
    settled: Settled = field(default_factory=Settled)


@extras_needed()
def view_levels(folder: Path, key: str, *, now: datetime, progress: Progress | None = None) -> LevelsPage:
    """Return the page of the levels of the trial `key` as known at `now` (aware); fits what is not fitted yet.

    Raises what `estimate_levels` raises, but for a trial from which nothing can be estimated: that page says why.
    """
    with Logbook.open(folder) as book:
        trial = book.trial(key)
        try:
            measured = measure_photos(book, trial, progress=progress)
            estimates = estimate_levels(book, trial, now=now, measured=measured, progress=progress)
        except NothingToEstimateError as error:
            return empty_page(trial, str(error))
    if progress is not None:
        progress(0, 1, say("drawing the charts"))
    return page_of(trial, estimates)


def empty_page(trial: Trial, why: str) -> LevelsPage:
    """Return the page of a trial from which no level can be estimated; `why` is said on it."""
    return LevelsPage(
        trial=trial, estimates=None, why_not=why[:1].upper() + why[1:], lead="", over=False, now_day=0.0, days=(),
        nutrients=(), tanks=(), tests=(), weeks=(), narrowed=(), surprises=(), standards=(), sure=(), priors=(),
        remarks=(), on_dark={},
    )  # fmt: skip


def page_of(trial: Trial, estimates: Estimates) -> LevelsPage:
    """Return the page of estimates."""
    weeks, narrowed = narrow_rows(trial, estimates)
    drawn = _charts(trial, estimates, from_day=0.0)
    before = estimates.now_day - NEAR_DAYS
    near = _charts(trial, estimates, from_day=before) if before >= NEAR_DAYS else (None,) * len(drawn)
    over = estimates.ended
    return LevelsPage(
        trial=trial,
        estimates=estimates,
        why_not="",
        lead=_lead(trial, estimates, over=over),
        over=over,
        now_day=estimates.now_day,
        days=tuple(
            DayMoment(float(day), say("Day {day}", day=day), date_of(day, trial))
            for day in range(math.floor(estimates.to_day) + 1)
        ),
        nutrients=tuple(
            NutrientPart(
                nutrient,
                name_of(nutrient),
                tuple(_words(trial, estimates, one) for one in estimates.levels if one.nutrient == nutrient),
                charts,
                charts_near,
            )
            for nutrient, charts, charts_near in zip(estimates.nutrients, drawn, near, strict=True)
        ),
        tanks=tuple(_tank(trial, estimates, tank.key) for tank in estimates.kept.tanks),
        tests=test_rows(trial, estimates),
        weeks=weeks,
        narrowed=narrowed,
        surprises=surprise_rows(trial, estimates),
        standards=standard_cards(estimates),
        sure=sure_rows(estimates),
        priors=prior_rows(estimates),
        remarks=estimates.remarks,
        on_dark=on_dark(),
    )


def _charts(trial: Trial, estimates: Estimates, *, from_day: float) -> tuple[Mapping[int, Chart], ...]:
    return charts_by_width(
        lambda width_px: {
            one: bands_chart(trial, estimates, one, width_px=width_px, from_day=from_day) for one in estimates.nutrients
        }
    )


def _lead(trial: Trial, estimates: Estimates, *, over: bool) -> str:
    readings = counted(len(estimates.kept.readings), "reading")
    when = long_day(estimates.last_day, trial)
    said = readings[0].upper() + readings[1:]
    if over:
        return say(
            "{readings}, and all that went in and out, say what is in the water between tests. The record ends with "
            "{when}: that is “now” here. What lies ahead is as if it had gone on as planned.",
            readings=said,
            when=when,
        )
    return say(
        "{readings}, and all that went in and out, say what is in the water between tests. Now is {when}. What lies "
        "ahead is expected if it goes on as planned.",
        readings=said,
        when=when,
    )


def _tank(trial: Trial, estimates: Estimates, tank: str) -> TankPart:
    arm = trial.arm_of(tank)
    return TankPart(
        key=tank,
        name=trial.tanks[tank].name,
        arm_name=arm.name,
        arm_place=trial.arms.index(arm),
        levers=levers_of(trial, estimates, tank),
        planned=planned_bands(trial, estimates, tank),
        alarms=tuple(
            alarm_row(trial, tank, alarm, now_day=estimates.now_day) for alarm in estimates.alarms.get(tank, ())
        ),
        changes=estimates.changes.get(tank, ()),
        limiting=limiting_rows(estimates, tank),
    )


def _words(trial: Trial, estimates: Estimates, one: LevelEstimate) -> LevelWords:
    now_day = estimates.now_day
    arm = trial.arm_of(one.tank)
    if one.before_change is not None:
        day, level = one.before_change
        said = change_words(day, trial, now_day=now_day)
        told = say("{name_of} just before {said}:", name_of=name_of(one.nutrient), said=said)
        now = say("Now {with_doubt}.", with_doubt=with_doubt(one.now))
    else:
        told, level, now = say("{name_of} now:", name_of=name_of(one.nutrient)), one.now, ""
    ahead = ""
    if one.before_next is not None:
        day, coming = one.before_next
        ahead = say(
            "Before {change_words} it will be about {with_doubt}.",
            change_words=change_words(day, trial, now_day=now_day),
            with_doubt=with_doubt(coming),
        )
    return LevelWords(
        tank=one.tank,
        tank_name=trial.tanks[one.tank].name,
        arm_name=arm.name,
        arm_place=trial.arms.index(arm),
        headline=(told, f"{mg(level.median)} mg/L", f"(90\u00a0%: {ends(level.low_90, level.high_90)})"),
        now=now,
        next=ahead,
        removal=removal_words(one.net_removal),
        leaving=_leaving(one),
        behind=_behind(one),
    )


def _leaving(one: LevelEstimate) -> str:
    """Return how probable it is that a level leaves the keeper's band within two weeks; "" where no band was set."""
    chance = chance_of_leaving(one)
    return (
        ""
        if chance is None
        else say(
            "It {leaving_words} within two weeks with a chance of {chance_words}.",
            leaving_words=leaving_words(one),
            chance_words=chance_words(chance),
        )
    )


def _behind(one: LevelEstimate) -> str:
    if one.without_readings:
        return say("No reading yet: from doses and what is usual alone.")
    return say_n("{n} reading is behind it.", "{n} readings are behind it.", len(one.results))
