"""Whether entries fit their trial: one that the trial's text no longer knows what to do with would break every page."""

from __future__ import annotations

from collections.abc import Iterable

from littoral.errors import Fault
from littoral.quantities.counting import counted
from littoral.trial.days import date_of, day_of, outside_days
from littoral.trial.entries import AT_A_DESK, Dose, Drawn, Entry, Photo, Score, Taught, Trim
from littoral.trial.model import Trial


def misfits(entries: Iterable[Entry], trial: Trial, *, where: str) -> tuple[Fault, ...]:
    """Return a fault for each name that entries use and the trial has not, and one for days that it does not have.

    What is done at a desk (bottles mixed, views drawn) may be done before the trial begins or after its end.
    `where` says where the entries lie.
    """
    by_reason: dict[tuple[str, str], list[Entry]] = {}
    for entry in entries:
        for reason in _reasons(entry, trial):
            by_reason.setdefault(reason, []).append(entry)
    return tuple(_fault(what, right, those, trial, where) for (what, right), those in by_reason.items())


def _reasons(entry: Entry, trial: Trial) -> list[tuple[str, str]]:
    """Return what is wrong with an entry, each as (the end of a sentence, what would be right)."""
    found = [_not_there(kind, key) for kind, key, known in _names(entry, trial) if key not in known]
    if not isinstance(entry.payload, AT_A_DESK) and (outside := outside_days(entry.at, trial)):
        found.append((f"lie outside: {outside}.", "Give the trial file a `start` and `length` that hold them."))
    return found


def _names(entry: Entry, trial: Trial) -> list[tuple[str, str, Iterable[str]]]:
    found: list[tuple[str, str, Iterable[str]]] = []
    if entry.tank is not None:
        found.append(("tank", entry.tank, trial.tanks))
    match entry.payload:
        case Dose(of=of):
            found.append(("bottle", of, trial.bottles))
        case Trim(stand=str(stand)) | Score(stand=str(stand)):
            found.append(("stand", stand, trial.stands))
        case Taught(view=view, stand=stand):
            found += [("view", view, trial.views), ("stand", stand, trial.stands)]
        case Photo(view=view) | Drawn(view=view):
            found.append(("view", view, trial.views))
        case _:
            pass
    return found


def _not_there(kind: str, key: str) -> tuple[str, str]:
    return (
        f'name the {kind} "{key}", which the trial file does not have.',
        f'Keep the short name "{key}"; to show another name, set `name`.',
    )


def _fault(what: str, right: str, entries: list[Entry], trial: Trial, where: str) -> Fault:
    photos = sum(isinstance(entry.payload, Photo) for entry in entries)
    parts = ((len(entries) - photos, "entry"), (photos, "photo"))
    told = " and ".join(counted(count, noun) for count, noun in parts if count)
    days = sorted({str(date_of(day_of(entry.at, trial), trial)) for entry in entries})
    span = days[0] if len(days) == 1 else f"{days[0]} to {days[-1]}"
    return Fault(f"{told} ({span}) {what}", right, where)
