"""Overrides in plain words: which published limit somebody went past on purpose, and why."""

from __future__ import annotations

from collections.abc import Iterable

from littoral.trial.days import date_of, day_of
from littoral.trial.entries import Entry, Overridden
from littoral.trial.model import Trial


def override_words(made: Overridden, trial: Trial) -> str:
    """Return the rest of a sentence, no full stop: for what, which limits, by how much, and the reason given."""
    if made.act == "mix":
        bottle = trial.bottles[made.of].name if made.of in trial.bottles else made.of
        of = f"mixing {bottle}" if bottle else "a bottle to mix"
    else:
        arm = next((one.name for one in trial.arms if one.key == made.of), made.of)
        of = f"the week of {arm}" if arm else "a week"
    limits = "published limits" if "; " in made.limit else "a published limit"
    return f"went past {limits} on purpose for {of}: {made.said}; reason given: “{made.reason}”"


def overrides_of(trial: Trial, entries: Iterable[Entry]) -> tuple[str, ...]:
    """Return each override of a trial as a caution with its date, in the order of the entries."""
    return tuple(
        f"On {date_of(day_of(entry.at, trial), trial)} somebody {override_words(entry.payload, trial)}."
        for entry in entries
        if isinstance(entry.payload, Overridden)
    )
