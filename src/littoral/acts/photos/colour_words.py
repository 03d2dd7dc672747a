"""Plant or camera in one or two sentences: what the trial asked about first, then how the other stands fare."""

from __future__ import annotations

from collections.abc import Sequence

from littoral.findings.plant_or_camera import MORE, StandColour
from littoral.findings.showing import sentence
from littoral.quantities.counting import counted
from littoral.trial.model import Trial

IT: dict[str, str] = {
    "Not answered": "not answered",
    "Cannot tell": "it cannot be told whether the plant or the camera differs",
    "It may be the camera": "it may be the camera",
    "No difference that matters": "no difference that matters",
    MORE: "the plant differs, by more than the camera makes",
}
"""What the word of a stand's answer says in a sentence."""


def first_of(stands: Sequence[StandColour]) -> StandColour | None:
    """Return the stand that the page answers about first: one that was asked about, else one that differs, else any."""
    ranked = sorted(stands, key=lambda one: (not one.asked, one.short != MORE))
    return ranked[0] if ranked else None


def answer_words(trial: Trial, stands: Sequence[tuple[StandColour, str]]) -> tuple[str, ...]:
    """Return the answer as one or two sentences; `stands` come with their difference and interval as text ("": none).

    Nothing for a trial without a stand.
    """
    effects = {one.stand: effect for one, effect in stands}
    every = [one for one, _ in stands]
    first = first_of(every)
    if first is None:
        return ()
    less = f"{trial.arms[1].name} minus {trial.arms[0].name}" if len(trial.arms) > 1 else "the difference"
    number = f"; {less} is {effects[first.stand]}" if effects[first.stand] else ""
    said = [f"{sentence(first.name)}: {IT.get(first.short, first.short.lower())}{number}."]
    others = [one for one in every if one is not first]
    differ = [one for one in others if one.short == MORE]
    if differ:
        which = "; ".join(f"{one.name} by {effects[one.stand]}" for one in differ)
        count = "one differs" if len(differ) == 1 else f"{len(differ)} differ"
        said.append(f"Of the other {counted(others, 'stand')}, {count} by more than the camera makes: {which}.")
    elif others:
        said.append(f"None of the other {counted(others, 'stand')} differs by more than the camera makes.")
    return tuple(said)
