"""A trial's text read once: a page asks for the same again and again, and what is read is never changed."""

from __future__ import annotations

from functools import lru_cache

from littoral.errors import Fault
from littoral.trial.entries import Drawn
from littoral.trial.model import Trial
from littoral.trial.written.drawings import as_drawn
from littoral.trial.written.reader import read_trial


@lru_cache(maxsize=32)
def read_once(text: str, *, where: str, drawings: tuple[Drawn, ...] = ()) -> tuple[Trial | None, tuple[Fault, ...]]:
    """Return a trial with its views as drawn last, or None, and all faults of its text."""
    if drawings:
        trial, faults = read_once(text, where=where)
        return (None if trial is None else as_drawn(trial, drawings)), faults
    trial, found = read_trial(text, where=where)
    return trial, tuple(found)
