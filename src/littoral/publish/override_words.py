"""Overrides in plain words: which published limit somebody went past on purpose, and why."""

from __future__ import annotations

from collections.abc import Iterable

from littoral.speech.say import say
from littoral.trial.days import date_of, day_of
from littoral.trial.entries import Entry, Overridden
from littoral.trial.model import Trial


def override_words(made: Overridden, trial: Trial) -> str:
    """Return the rest of a sentence, no full stop: for what, which limits, by how much, and the reason given."""
    if made.act == "mix":
        bottle = trial.bottles[made.of].name if made.of in trial.bottles else made.of
        of = say("mixing {bottle}", bottle=bottle) if bottle else say("a bottle to mix")
    else:
        arm = next((one.name for one in trial.arms if one.key == made.of), made.of)
        of = say("the week of {arm}", arm=arm) if arm else say("a week")
    limits = say("published limits") if "; " in made.limit else say("a published limit")
    return say(
        "went past {limits} on purpose for {of}: {said}; reason given: “{reason}”",
        limits=limits,
        of=of,
        said=made.said,
        reason=made.reason,
    )


def overrides_of(trial: Trial, entries: Iterable[Entry]) -> tuple[str, ...]:
    """Return each override of a trial as a caution with its date, in the order of the entries."""
    return tuple(
        say(
            "On {date_of} somebody {override_words}.",
            date_of=date_of(day_of(entry.at, trial), trial),
            override_words=override_words(entry.payload, trial),
        )
        for entry in entries
        if isinstance(entry.payload, Overridden)
    )
