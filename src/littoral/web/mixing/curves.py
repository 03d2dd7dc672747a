"""Drawings of a sheet: a week's levels as small lines, what a week costs as one bar; figures in, coordinates out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from littoral.acts.mix_and_feed.cost_form import CostPartLine
from littoral.acts.mix_and_feed.figures import plain
from littoral.acts.mix_and_feed.week_form import LevelLine, Week
from littoral.feeding.patterns import weekday_number
from littoral.feeding.regimes import RegimeError
from littoral.speech.dates import short_weekday
from littoral.speech.say import say

WIDTH, HEIGHT = 280.0, 132.0
LEFT, RIGHT, TOP, FOOT = 4.0, 276.0, 18.0, 108.0
BAR = 800.0
MOST_CURVES = 6
FIRST = ("nitrate", "phosphate", "potassium", "iron", "magnesium", "calcium")
"""Drawn first, after those with a band; the others are in the table."""


@dataclass(frozen=True, slots=True)
class Curve:
    """One nutrient's settled period, in the units of its own drawing: `points` of the line, `band` (top, height).

    `words` are (x, y, text, anchor): the lowest and highest level, and the days along the foot.
    """

    title: str
    alt: str
    points: str
    band: tuple[float, float] | None
    days: tuple[float, ...]
    words: tuple[tuple[float, float, str, str], ...]
    width: float = WIDTH
    height: float = HEIGHT
    left: float = LEFT
    right: float = RIGHT
    top: float = TOP
    foot: float = FOOT


@dataclass(frozen=True, slots=True)
class BarPart:
    """One part of the bar: where it begins and how wide it is, of 800, and its words with the share."""

    at: float
    width: float
    words: str


def curves_of(week: Week, day_0: str) -> tuple[Curve, ...]:
    """Return a curve for each of the main nutrients, drawn from zero; `day_0` is the weekday the period begins on."""
    try:
        first = weekday_number(day_0)
    except RegimeError:
        first = 0
    dosed = [line for line in week.lines if line.path and (line.week.value or line.band != (None, None))]
    dosed.sort(key=_rank)
    return tuple(_curve(line, first) for line in dosed[:MOST_CURVES])


def _rank(line: LevelLine) -> tuple[bool, int]:
    return line.band == (None, None), FIRST.index(line.nutrient) if line.nutrient in FIRST else len(FIRST)


def _curve(line: LevelLine, first: int) -> Curve:
    last = line.path[-1][0]
    highest = max(level for _, level in line.path)
    lowest = min(level for _, level in line.path)
    ends = [end for end in line.band if end is not None]
    most = 1.05 * max([highest, *ends, 1e-12])

    def across(day: float) -> float:
        return round(LEFT + (RIGHT - LEFT) * day / last, 1)

    def up(level: float) -> float:
        return round(FOOT - (FOOT - TOP) * min(level / most, 1.0), 1)

    band = None
    if ends:
        low, high = line.band
        over = up(high) if high is not None else TOP
        band = (over, round(up(low or 0.0) - over, 1))
    named = last == 7
    days = tuple(range(int(last) + 1)) if last <= 14 else tuple(range(0, int(last) + 1, 7))
    words = [
        (across(day + 0.5), HEIGHT - 8, short_weekday((first + day) % 7), "middle")
        if named
        else (across(float(day)), HEIGHT - 8, say("day {day}", day=day), "start" if day == 0 else "middle")
        for day in (range(7) if named else range(0, int(last), max(1, int(last) // 4)))
    ]
    peak_day = next(day for day, level in line.path if level == highest)
    low_day = next(day for day, level in line.path if level == lowest)
    words.append((across(peak_day), up(highest) - 4, f"{plain(highest)}", _anchor(peak_day, last)))
    words.append((across(low_day), min(up(lowest) + 14, FOOT - 3), f"{plain(lowest)}", _anchor(low_day, last)))
    name = say(line.name)
    asked = say(", asked for {band} mg/L", band=_band_words(line.band)) if ends else ""
    return Curve(
        title=say("{name}, mg/L{asked}", name=name, asked=asked),
        alt=say(
            "{name} through a settled week: from {lowest} to {highest} mg/L{asked}.",
            name=name,
            lowest=plain(lowest),
            highest=plain(highest),
            asked=asked,
        ),
        points=" ".join(f"{across(day)},{up(level)}" for day, level in line.path),
        band=band,
        days=tuple(across(float(day)) for day in days),
        words=tuple(words),
    )


def _band_words(band: tuple[float | None, float | None]) -> str:
    low, high = band
    if low is None or high is None:
        return say("at most {high:g}", high=high) if high is not None else say("at least {low:g}", low=low)
    return say("{low:g} to {high:g}", low=low, high=high)


def _anchor(day: float, last: float) -> str:
    return "start" if day < 0.12 * last else "end" if day > 0.88 * last else "middle"


def bar_of(lines: Sequence[CostPartLine]) -> tuple[BarPart, ...]:
    """Return the parts of a week's cost side by side, those that cost something; () where nothing does."""
    priced = [(line, line.per_week.value or 0.0) for line in lines if line.per_week.value]
    whole = sum(value for _, value in priced)
    parts: list[BarPart] = []
    at = 0.0
    for line, value in priced:
        width = BAR * value / whole
        parts.append(
            BarPart(
                round(at, 1), round(width, 1), f"{line.name}: {line.per_week.text}, {plain(100 * value / whole, 2)} %"
            )
        )
        at += width
    return tuple(parts)
