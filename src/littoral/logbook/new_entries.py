"""Entries that people made, written unless they are there already; nothing is ever written over."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy import Connection

from littoral.logbook import rows
from littoral.logbook.changed_entries import AlreadyRecordedError, NoEntryError, SupersededError, same_record
from littoral.trial.entries import Entry


def write_new(connection: Connection, entries: Sequence[Entry], *, now: datetime) -> list[Entry]:
    """Write those entries that are not there yet, in a transaction in which nobody else writes, and return them.

    AlreadyRecordedError where an id is another entry's; NoEntryError where what one supersedes is not there;
    SupersededError where that is superseded already. The caller's transaction is undone then.
    """
    added: list[Entry] = []
    for entry in entries:
        there = rows.entry_of(connection, entry.id)
        if there is not None:
            if not same_record(there, entry):
                raise AlreadyRecordedError(there, entry)
            continue
        if entry.supersedes is not None:
            if rows.entry_of(connection, entry.supersedes) is None:
                raise NoEntryError(entry.supersedes)
            ahead = rows.successor_of(connection, entry.supersedes)
            if ahead is not None:
                raise SupersededError(entry, ahead)
        rows.write_entries(connection, (entry,), now=now)
        added.append(entry)
    return added
