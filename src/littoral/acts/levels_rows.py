"""The rows of the page of levels: alarms, the next test, surprises, what is scarcest, standards."""

from __future__ import annotations

import math
from dataclasses import dataclass

from littoral.acts.levels_words import chance_words, day_words, long_day, name_of, tank_words
from littoral.chemistry.known_standard import known_standard
from littoral.chemistry.limits import NOT_AN_AQUARIUM_LIMIT
from littoral.chemistry.nutrients import NUTRIENTS
from littoral.chemistry.stock import StockError
from littoral.findings.estimates.days import JUST_BEFORE
from littoral.findings.estimates.model import Estimates
from littoral.findings.estimates.ways_to_test import way_key
from littoral.publish.level_words import ends, mg
from littoral.speech.say import say
from littoral.tank.alarms import WATCH, Alarm
from littoral.tank.limiting import ALSO_LIGHT, CLEAR
from littoral.tank.limiting import name_of as element_name
from littoral.trial.model import Trial

BEST_TESTS = 4
WORTH_A_TEST = 0.05
"""A test that narrows the band by less than this share is not worth naming."""
NINE_IN_TEN = 1.6449


@dataclass(frozen=True, slots=True)
class AlarmRow:
    """One published limit held against the days to come; `day` is the first day it may be passed, None where never."""

    tank: str
    what: str
    verdict: str
    sentence: str
    limit: str
    tail: str
    source: str
    day: float | None


@dataclass(frozen=True, slots=True)
class TestRow:
    """A test worth doing, in a sentence, with what it takes off the band (0 to 1)."""

    sentence: str
    day: float
    narrowed: float


@dataclass(frozen=True, slots=True)
class NarrowRow:
    """How the band of one level narrowed, cells by week; "–" where that week is not there."""

    name: str
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SurpriseRow:
    """One reading that all else finds nearly impossible: what it shows, what was expected, and what to ask."""

    entry_id: str
    day: float
    what: str
    expected: str
    odds: str
    ask: str


@dataclass(frozen=True, slots=True)
class LimitingRow:
    """What is scarcest in one tank, in one of two pictures; `shares` are (element, percent), likeliest first."""

    question: str
    answer: str
    shares: tuple[tuple[str, int], ...]
    clear: bool
    steps: tuple[tuple[str, str, str, str], ...]


@dataclass(frozen=True, slots=True)
class StandardCard:
    """How to make a known standard of one nutrient, and what one showed of the test in use ("" where none was read)."""

    name: str
    lines: tuple[str, ...]
    caution: str
    showed: str


def alarm_row(trial: Trial, tank: str, alarm: Alarm, *, now_day: float) -> AlarmRow:
    """Return an alarm as a row of words."""
    row = alarm.row
    limit = "" if row.limit is None else f"{plain_limit(row.limit)} {row.unit}"
    _, found, rest = row.comment.partition("It protects ")
    tail = (found + rest if found else row.comment).replace(WATCH, "").replace(NOT_AN_AQUARIUM_LIMIT, "").strip()
    day = alarm.likely_pass_day if alarm.likely_pass_day is not None else alarm.may_pass_day
    return AlarmRow(
        tank=tank,
        what=row.what,
        verdict=row.verdict,
        sentence=_alarm_sentence(trial, tank, alarm, limit, now_day),
        limit=limit,
        tail=tail,
        source=row.source,
        day=day,
    )


def _alarm_sentence(trial: Trial, tank: str, alarm: Alarm, limit: str, now_day: float) -> str:
    row = alarm.row
    where = tank_words(trial, tank)
    where = where[0].upper() + where[1:]
    if row.value is None or alarm.low is None or alarm.high is None:
        return f"{where}: {row.comment.partition('.')[0]}."
    span = f"{mg(row.value)} {row.unit} (90\u00a0%: {ends(alarm.low, alarm.high)})"
    past = say("above") if row.operator == "<=" else say("below")
    stays = say("below") if row.operator == "<=" else say("above")
    if row.verdict == "holds":
        return say(
            "{where}: stays {stays} {limit}; on the worst day {span}.", where=where, stays=stays, limit=limit, span=span
        )
    if alarm.likely_pass_day is not None:
        since = alarm.likely_pass_day
        when = (
            say("now")
            if since - now_day < 1
            else say("from {day_words} on", day_words=day_words(since, trial, now_day=now_day))
        )
        return say(
            "{where}: probably {past} {limit} {when}; on the worst day {span}.",
            where=where,
            past=past,
            limit=limit,
            when=when,
            span=span,
        )
    first = ""
    if alarm.may_pass_day is not None:
        soon = alarm.may_pass_day - now_day < 1
        first = (
            say(", first today")
            if soon
            else say(", first about {day_words}", day_words=day_words(alarm.may_pass_day, trial, now_day=now_day))
        )
    chance = chance_words(alarm.probability or 0.0)
    return say(
        "{where}: may come {past} {limit}, with a chance of {chance}{first}; on the worst day {span}.",
        where=where,
        past=past,
        limit=limit,
        chance=chance,
        first=first,
        span=span,
    )


def plain_limit(number: float) -> str:
    """Return a limit to three digits at most, as a person writes it."""
    return f"{number:.3g}" if number < 1000 else f"{number:,.0f}"


def test_rows(trial: Trial, estimates: Estimates) -> tuple[TestRow, ...]:
    """Return the best few tests, one for each level, best first."""
    found: dict[tuple[str, str], TestRow] = {}
    for worth in estimates.next_tests:
        one = worth.candidate
        if (one.tank, one.nutrient) in found or worth.narrowed < WORTH_A_TEST or len(found) == BEST_TESTS:
            continue
        ahead = estimates.of(one.tank, one.nutrient).before_next
        before = ahead is not None and abs(one.day - (ahead[0] - JUST_BEFORE)) < 0.01
        when = (
            say("now")
            if one.day - estimates.now_day < 0.01
            else say("on {on}", on=_on(one.day, trial, estimates.now_day))
        )
        with_what = estimates.kept.ways.get(one.method)
        used = any(key == one.method for key in estimates.kept.ways) and with_what is not None
        called = one.method.rpartition(", ")[2].removeprefix(f"{NUTRIENTS[one.nutrient].name} ")
        by = "" if used else say(", by {called}", called=called)
        found[one.tank, one.nutrient] = TestRow(
            say(
                "Test {name} in the {tank_words} {when}{before}{by}: narrows the band from {mg} to about {mg_2} mg/L.",
                name=NUTRIENTS[one.nutrient].name,
                tank_words=tank_words(trial, one.tank),
                when=when,
                before=say(" just before the change") if before else "",
                by=by,
                mg=mg(worth.width_now),
                mg_2=mg(worth.width_after),
            ),
            one.day,
            worth.narrowed,
        )
    return tuple(found.values())


def _on(day: float, trial: Trial, now_day: float) -> str:
    return day_words(day, trial, now_day=now_day)


def narrow_rows(trial: Trial, estimates: Estimates) -> tuple[tuple[int, ...], tuple[NarrowRow, ...]]:
    """Return the weeks, and for each level its band just before a change as it was known then."""
    weeks = tuple(sorted({week for one in estimates.narrowing for week in one.weeks}))
    rows = []
    for one in estimates.narrowing:
        by_week = dict(zip(one.weeks, one.estimate, strict=True))
        cells = tuple(
            say(
                "{ends} (width {mg})",
                ends=ends(by_week[week].low_90, by_week[week].high_90),
                mg=mg(by_week[week].high_90 - by_week[week].low_90),
            )
            if week in by_week
            else "–"
            for week in weeks
        )
        rows.append(NarrowRow(f"{name_of(one.nutrient)}, {tank_words(trial, one.tank)}", cells))
    return weeks, tuple(rows)


def surprise_rows(trial: Trial, estimates: Estimates) -> tuple[SurpriseRow, ...]:
    """Return the readings that are flagged, in the order of their days."""
    rows = []
    for level in estimates.levels:
        for one in level.results:
            if not one.surprise.flagged:
                continue
            expected = one.surprise.expected
            rough = say(", roughly") if one.surprise.effective_draws < 100 else ""
            rows.append(
                SurpriseRow(
                    entry_id=one.entry_id,
                    day=one.day,
                    what=say(
                        "{name_of} in the {tank_words}, {long_day}: {shown}{method}",
                        name_of=name_of(level.nutrient),
                        tank_words=tank_words(trial, level.tank),
                        long_day=long_day(one.day, trial),
                        shown=one.shown,
                        method=f", {one.method}" if one.method else "",
                    ),
                    expected=say("All else says {ends} mg/L", ends=ends(expected.low_90, expected.high_90)),
                    odds=say("a result so far out would come less than once in 100{rough}", rough=rough),
                    ask=_question(one.surprise.ask),
                )
            )
    return tuple(sorted(rows, key=lambda row: row.day))


def _question(ask: str) -> str:
    """Return the question alone: what reads what is said before it."""
    _, found, rest = ask.partition("The reading is kept.")
    return f"{found}{rest}" if found else ask


def limiting_rows(estimates: Estimates, tank: str) -> tuple[LimitingRow, ...]:
    """Return both pictures of what is scarcest in a tank; empty where fewer than two elements are followed."""
    questions = {
        "uptake": say("What holds uptake back now?"),
        "stock": say("What would run out first, were nothing added?"),
    }
    rows = []
    for one in estimates.limiting.get(tank, ()):
        shares = [(element_name(key), round(100 * p)) for key, p in one.probability.items() if p >= 0.01]
        if one.none >= 0.01:
            shares.append(("none is short", round(100 * one.none)))
        rows.append(
            LimitingRow(
                question=questions[one.by],
                answer=one.comment.replace(ALSO_LIGHT, "").strip(),
                shares=tuple(sorted(shares, key=lambda share: -share[1])),
                clear=one.clear or one.none >= CLEAR,
                steps=tuple((step.what, step.formula, step.result, step.source) for step in one.steps),
            )
        )
    return tuple(rows)


def standard_cards(estimates: Estimates) -> tuple[StandardCard, ...]:
    """Return a standard for each nutrient that is tested and has one."""
    cards = []
    for nutrient in estimates.nutrients:
        if not any(one.nutrient == nutrient for one in estimates.kept.readings):
            continue
        showed = " ".join(_showed(estimates, nutrient))
        try:
            made = known_standard(nutrient)
        except StockError:
            continue  # a salt that is poison, or that does not keep: no standard at home
        cards.append(StandardCard(name_of(nutrient), made.lines, made.caution, showed))
    return tuple(cards)


def _showed(estimates: Estimates, nutrient: str) -> list[str]:
    found = []
    own = way_key(nutrient, "")
    for key, way in estimates.kept.ways.items():
        if key != own and not key.startswith(f"{own}, "):
            continue
        called = key.partition(", ")[2] or say("the test")
        method = way.method
        if "standard" in way.how:
            low, middle, high = (
                math.exp(method.bias_log_mean + side * NINE_IN_TEN * method.bias_log_sd) for side in (-1, 0, 1)
            )
            found.append(
                say(
                    "Your {called} ({how}) shows {middle:.2f} times what is there (90\u00a0%: {low:.2f} to "
                    "{high:.2f}).",
                    called=called,
                    how=way.how,
                    middle=middle,
                    low=low,
                    high=high,
                )
            )
        else:
            found.append(
                say(
                    "Your {called} was not checked against a standard yet ({how}). Write what it reads "
                    "into the trial file under [methods], and every level gets surer.",
                    called=called,
                    how=way.how,
                )
            )
    return found
