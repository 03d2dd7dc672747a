"""A sheet filled from a trial of the logbook: which of its bottles or arms, and the form that it makes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from littoral.acts.mix_and_feed.from_trial import forms_of
from littoral.trial.written.reader import read_trial
from littoral.web.mixing.sheets import COSTS, MIX, WATER, Sheet


@dataclass(frozen=True, slots=True)
class Proposed:
    """The form that a trial proposes, None where it says nothing of the kind; `of` among `choices` of (key, name)."""

    form: Any
    title: str
    of: str
    choices: tuple[tuple[str, str], ...]


def proposed_by(sheet: Sheet, text: str, of: str) -> Proposed:
    """Return what a trial file proposes for a sheet; `of` names a bottle or an arm, the first one otherwise."""
    trial, _ = read_trial(text, where="trial.toml")
    if trial is None:
        return Proposed(None, "", "", ())
    forms = forms_of(trial)
    if sheet is WATER:
        return Proposed(forms.water, trial.title, "", ())
    by_key: dict[str, Any] = {**forms.mix} if sheet is MIX else {**(forms.costs if sheet is COSTS else forms.weeks)}
    chosen = of if of in by_key else next(iter(by_key), "")
    choices = tuple((key, form.name) for key, form in by_key.items())
    return Proposed(by_key.get(chosen), trial.title, chosen, choices)
