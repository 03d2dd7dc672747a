"""Printing a measure's values and differences for people: growth rates in percent a day, the rest in their own unit."""

from __future__ import annotations

import math

from littoral.findings.model import Finding
from littoral.speech.manner import manner
from littoral.speech.numbers import number, numeral
from littoral.speech.say import say
from littoral.trial.measures import MEASURES

GROWTH = ("height growth", "cover growth")
MINUS = "\u2212"


def unit_of(measure: str, currency: str) -> str:
    """Return the unit of a measure's values with the trial's currency in it."""
    return say(MEASURES[measure].unit).replace("currency", currency)


def decimals_for(doubt: float) -> int:
    """Return how many decimals show a doubt (any unit, above 0) with two digits; at most 4, at least none."""
    if not math.isfinite(doubt) or doubt <= 0:
        return 2
    return min(4, max(0, 1 - math.floor(math.log10(doubt))))


def account_doubt(*values: float) -> float:
    """Return the doubt with which `shown` gives the largest of exact values (one unit) three digits; 1 if all are 0."""
    return max((abs(value) for value in values), default=0.0) / 10 or 1.0


def doubt_of(finding: Finding) -> float:
    """Return what sets the digits of a finding's difference and values: half its interval, or three of an account."""
    if finding.low is None or finding.high is None:
        return account_doubt(finding.effect or 0.0, *(value.value for value in finding.arms))
    return (finding.high - finding.low) / 2


def effect_said(finding: Finding, *, currency: str) -> str:
    """Return a finding's difference with its 95 % interval, or in words where no number says it; "" without any."""
    if finding.effect_words:
        return finding.effect_words
    if finding.effect is None:
        return ""
    if finding.low is None or finding.high is None:
        return shown(finding.measure, finding.effect, doubt=doubt_of(finding), currency=currency, signed=True)
    return ranged(finding.measure, finding.effect, finding.low, finding.high, level=0.95, currency=currency)


def shown(
    measure: str, value: float, *, doubt: float, currency: str = "", signed: bool = False, unit: bool = True
) -> str:
    """Return a value (the measure's unit) as text with the digits that its `doubt` (same unit, a half-width) leaves.

    With `signed` it is a difference: it carries its sign, and of percents it says percentage points. A minus is the
    sign of that name, U+2212, as on the charts' axes.
    """
    if measure in GROWTH:
        value, doubt = 100 * value, 100 * doubt
        words = say("percentage points per day") if signed else say("% per day")
    else:
        words = unit_of(measure, currency)
    digits = decimals_for(doubt)
    rounded = round(value, digits) + 0.0  # no minus before a zero
    figure = f"{rounded:+.{digits}f}" if signed and rounded else f"{rounded:.{digits}f}"
    written = numeral(figure.replace("-", MINUS))
    return f"{written} {words}" if unit else written


def ranged(measure: str, value: float, low: float, high: float, *, level: float, currency: str = "") -> str:
    """Return a difference with its interval at `level` (0 to 1), all in the measure's unit."""
    doubt = (high - low) / 2
    middle = shown(measure, value, doubt=doubt, currency=currency, signed=True)
    ends = [shown(measure, end, doubt=doubt, signed=True, unit=False) for end in (low, high)]
    return say(
        "{number} ({level} interval {low} to {high})", number=middle, level=percent(level), low=ends[0], high=ends[1]
    )


def percent(level: float) -> str:
    """Return a level (0 to 1) as percent with as many digits as it needs, at most one: "95 %", "98.3 %"."""
    return f"{number(round(100 * level, 1))} %"


def named(tank: str, arm: str) -> str:
    """Return a tank's name with its arm's, once where they are the same."""
    return tank if tank == arm else f"{tank} ({arm})"


def inside_sentence(text: str) -> str:
    """Return a sentence as it goes on behind a colon: in English with a small letter, elsewhere as it is."""
    return text[:1].lower() + text[1:] if manner().language == "en" else text


def sentence(text: str) -> str:
    """Return a text with its first letter large."""
    return text[:1].upper() + text[1:]
