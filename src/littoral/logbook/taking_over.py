"""A whole trial of another logbook written into this one: its texts, every entry, originals, measures taken elsewhere.

What is here already is left alone, so that the same twice changes nothing, and an earlier state of the same trial
neither. What would contradict it is refused.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from littoral.errors import FaultsError
from littoral.logbook import rows
from littoral.logbook.elsewhere import ElsewhereView, write_views
from littoral.logbook.refused import OtherTrialError
from littoral.trial.belonging import misfits
from littoral.trial.entries import Entry
from littoral.trial.model import Trial
from littoral.trial.written.reader import read_trial


@dataclass(frozen=True, slots=True)
class WholeTrial:
    """A trial with each of its texts and when it was written down, the last in force, and every entry ever recorded.

    `kept` are originals that lie in the logbook's folder already: {sha256: (suffix, bytes)}.
    """

    trial: Trial
    texts: tuple[tuple[datetime, str], ...]
    entries: tuple[Entry, ...]
    kept: Mapping[str, tuple[str, int]]
    elsewhere: tuple[ElsewhereView, ...]


@dataclass(frozen=True, slots=True)
class TakenOver:
    """What taking a whole trial over added: entries, texts, and views that were measured elsewhere."""

    entries: tuple[Entry, ...]
    texts: int
    views: int


def take_over(connection: Connection, whole: WholeTrial, *, now: datetime, where: str) -> TakenOver:
    """Write a whole trial within a transaction; texts keep the time at which they were written down there.

    OtherTrialError where the logbook holds another trial of this key, or an entry of the same id that says something
    else; FaultsError where entries do not fit the trial. The caller's transaction is undone then.
    """
    key = whole.trial.key
    here = rows.texts_of(connection, key)
    both = min(len(here), len(whole.texts))
    if any(mine[1] != theirs[1] for mine, theirs in zip(here[:both], whole.texts[:both], strict=True)):
        raise OtherTrialError(key)
    for at, text in whole.texts[both:]:
        rows.write_text(connection, key, text, now=at)
    for sha256, (suffix, size_bytes) in whole.kept.items():
        rows.write_original(connection, sha256, suffix, size_bytes, now=now)
    new = []
    for entry in _each_after_its_former(whole.entries):
        there = rows.entry_of(connection, entry.id)
        if there is None:
            new.append(entry)
        elif there != entry:
            raise OtherTrialError(key, entry=entry.id)
    rows.write_entries(connection, tuple(new), now=now)
    measured = write_views(connection, whole.elsewhere, now=now)
    trial = whole.trial if len(here) <= len(whole.texts) else read_trial(here[-1][1], where=where)[0]
    if trial is not None:
        faults = misfits(rows.in_force(rows.entries_of(connection, key)), trial, where=where)
        if faults:
            raise FaultsError(faults)
    return TakenOver(tuple(new), len(whole.texts) - both, measured)


def _each_after_its_former(entries: Sequence[Entry]) -> list[Entry]:
    """Return entries so that each comes after the one that it supersedes, which a foreign key asks for."""
    by_id = {entry.id: entry for entry in entries}
    placed: dict[str, Entry] = {}
    for entry in entries:
        line = [entry]
        while (former := line[-1].supersedes) in by_id and former not in placed and len(line) <= len(by_id):
            line.append(by_id[former])
        for one in reversed(line):
            placed.setdefault(one.id, one)
    return list(placed.values())
