"""Entries as rows of the database, and the questions that are asked of them."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection, Row, insert, select

from littoral.logbook import tables
from littoral.logbook.payloads import from_json, kind_of, to_json
from littoral.trial.entries import Entry, Withdrawn


def entries_of(connection: Connection, trial: str) -> tuple[Entry, ...]:
    """Return every entry of a trial by time, superseded or not."""
    query = select(tables.entry).where(tables.entry.c.trial == trial).order_by(tables.entry.c.at, tables.entry.c.id)
    return tuple(_entry(row) for row in connection.execute(query))


def in_force(entries: tuple[Entry, ...]) -> tuple[Entry, ...]:
    """Return the entries that no other supersedes and that say more than that another was withdrawn."""
    superseded = {entry.supersedes for entry in entries}
    return tuple(entry for entry in entries if entry.id not in superseded and not isinstance(entry.payload, Withdrawn))


def write_entries(connection: Connection, entries: tuple[Entry, ...], *, now: datetime) -> None:
    """Write new entries, each after the one that it supersedes."""
    if entries:
        connection.execute(insert(tables.entry), [_row(entry, now) for entry in entries])


def trial_keys(connection: Connection) -> tuple[str, ...]:
    """Return the keys of all trials, oldest first."""
    query = select(tables.trial_text.c.key).order_by(tables.trial_text.c.id)
    return tuple(dict.fromkeys(connection.execute(query).scalars()))


def text_times(connection: Connection, key: str) -> tuple[datetime, ...]:
    """Return when each text of a trial was written, the first first."""
    query = select(tables.trial_text.c.added_at).where(tables.trial_text.c.key == key).order_by(tables.trial_text.c.id)
    return tuple(connection.execute(query).scalars())


def texts_of(connection: Connection, key: str) -> tuple[tuple[datetime, str], ...]:
    """Return each text of a trial with the time it was written, the first first."""
    columns = (tables.trial_text.c.added_at, tables.trial_text.c.text)
    query = select(*columns).where(tables.trial_text.c.key == key).order_by(tables.trial_text.c.id)
    return tuple((at, text) for at, text in connection.execute(query))


def latest_text(connection: Connection, key: str) -> str | None:
    """Return the text of a trial that is in force, None where there is none."""
    texts = select(tables.trial_text.c.text).where(tables.trial_text.c.key == key)
    text: str | None = connection.execute(texts.order_by(tables.trial_text.c.id.desc()).limit(1)).scalar()
    return text


def write_text(connection: Connection, key: str, text: str, *, now: datetime) -> None:
    """Write a trial's text, unless it is in force already."""
    if latest_text(connection, key) != text:
        connection.execute(insert(tables.trial_text).values(key=key, text=text, added_at=now))


def suffix_of(connection: Connection, sha256: str) -> str | None:
    """Return the file suffix of an original, None where there is none."""
    suffix: str | None = connection.execute(
        select(tables.original.c.suffix).where(tables.original.c.sha256 == sha256)
    ).scalar()
    return suffix


def write_original(connection: Connection, sha256: str, suffix: str, size_bytes: int, *, now: datetime) -> None:
    """Write the row of an original, unless it is there already."""
    row = {"sha256": sha256, "suffix": suffix, "size_bytes": size_bytes, "added_at": now}
    connection.execute(insert(tables.original).prefix_with("OR IGNORE").values(row))


def _row(entry: Entry, now: datetime) -> dict[str, object]:
    return {
        "id": entry.id,
        "trial": entry.trial,
        "origin": entry.origin,
        "at": entry.at,
        "zone": entry.zone,
        "tank": entry.tank,
        "kind": kind_of(entry.payload),
        "payload": to_json(entry.payload),
        "who": entry.who,
        "note": entry.note,
        "supersedes": entry.supersedes,
        "recorded_at": now,
    }


def _entry(row: Row[tuple[object, ...]]) -> Entry:
    return Entry(
        id=row.id,
        at=row.at,
        zone=row.zone,
        tank=row.tank,
        payload=from_json(row.kind, row.payload),
        who=row.who,
        supersedes=row.supersedes,
        note=row.note,
        trial=row.trial,
        origin=row.origin,
    )
