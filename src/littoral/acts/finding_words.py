"""A finding's numbers as a reader sees them on the page: the same digits and units as in its wording."""

from __future__ import annotations

from littoral.findings.model import ArmValue, Finding
from littoral.findings.showing import doubt_of, effect_said, shown
from littoral.publish.words import rests_on
from littoral.speech.say import say
from littoral.trial.model import Trial

__all__ = ["effect_in_words", "rests_on", "value_in_words"]


def effect_in_words(finding: Finding, trial: Trial) -> str:
    """Return an effect with its 95 % interval, or "" where there is none to tell."""
    return effect_said(finding, currency=trial.currency)


def value_in_words(value: ArmValue, finding: Finding, trial: Trial) -> tuple[str, str]:
    """Return an arm's value with its unit, and its 95 % interval or "exact"; "–" where it is said in words."""
    money = trial.currency
    if value.text:
        return value.text, "–"
    if value.low is None or value.high is None:
        return shown(finding.measure, value.value, doubt=doubt_of(finding), currency=money), "exact"
    doubt = (value.high - value.low) / 2
    low, high = (shown(finding.measure, end, doubt=doubt, unit=False) for end in (value.low, value.high))
    return shown(finding.measure, value.value, doubt=doubt, currency=money), say("{low} to {high}", low=low, high=high)
