"""Entries as rows of the database, and the questions that are asked of them."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, Connection, exists, func, insert, literal_column, or_, select

from littoral.logbook import tables
from littoral.logbook.payloads import from_json, kind_of, kind_of_class, to_json
from littoral.trial.entries import Entry, Payload, Withdrawn


def entries_of(connection: Connection, trial: str) -> tuple[Entry, ...]:
    """Return every entry of a trial by time, superseded or not."""
    query = select(tables.entry).where(tables.entry.c.trial == trial).order_by(tables.entry.c.at, tables.entry.c.id)
    return tuple(_entry(row) for row in connection.execute(query))


def entries_within(
    connection: Connection, trial: str, first: datetime, until: datetime, *, tank: str | None = None
) -> tuple[Entry, ...]:
    """Return the entries of a trial in force with first <= at < until, by time; nothing else is read.

    With `tank` only those that name it or no tank at all.
    """
    later = tables.entry.alias("later")
    table = tables.entry.c
    query = (
        select(tables.entry)
        .where(table.trial == trial, table.at >= first, table.at < until, table.kind != kind_of(Withdrawn("")))
        .where(~exists().where(later.c.supersedes == table.id))
        .order_by(table.at, table.id)
    )
    if tank is not None:
        query = query.where(or_(table.tank == tank, table.tank.is_(None)))
    return tuple(_entry(row) for row in connection.execute(query))


def versions_within(
    connection: Connection, trial: str, first: datetime, until: datetime
) -> tuple[tuple[Entry, ...], ...]:
    """Return what nothing supersedes with first <= at < until, by time, each followed by all that was before it."""
    later = tables.entry.alias("later")
    table = tables.entry.c
    query = (
        select(tables.entry)
        .where(table.trial == trial, table.at >= first, table.at < until)
        .where(~exists().where(later.c.supersedes == table.id))
        .order_by(table.at, table.id)
    )
    chains = [[_entry(row)] for row in connection.execute(query)]
    for chain in chains:
        while chain[-1].supersedes is not None:
            older = entry_of(connection, chain[-1].supersedes)
            if older is None:  # the foreign key says that it is there
                break
            chain.append(older)
    return tuple(tuple(chain) for chain in chains)


def in_force_of_kinds(connection: Connection, trial: str, payloads: Collection[type[Payload]]) -> tuple[Entry, ...]:
    """Return a trial's entries in force with a payload of some kinds, by time; the others are not read."""
    later = tables.entry.alias("later")
    table = tables.entry.c
    query = (
        select(tables.entry)
        .where(table.trial == trial, table.kind.in_([kind_of_class(one) for one in payloads]))
        .where(~exists().where(later.c.supersedes == table.id))
    )
    # sorted here: asked for in order, SQLite goes through all of the trial by its dates
    return tuple(sorted(map(_entry, connection.execute(query)), key=lambda entry: (entry.at, entry.id)))


def last_in_force(connection: Connection, trial: str, *, but: Collection[type[Payload]]) -> Entry | None:
    """Return the last of a trial's entries in force that has another payload than some; None without any."""
    later = tables.entry.alias("later")
    table = tables.entry.c
    query = (
        select(tables.entry)
        .where(table.trial == trial, table.kind.not_in([kind_of_class(one) for one in (*but, Withdrawn)]))
        .where(~exists().where(later.c.supersedes == table.id))
        .order_by(table.at.desc(), table.id.desc())
        .limit(1)
    )
    row = connection.execute(query).one_or_none()
    return None if row is None else _entry(row)


def counts_in_force(connection: Connection, trial: str, *, after: int = 0) -> dict[str, int]:
    """Return how many entries of each kind of a trial are in force; withdrawals are in force nowhere.

    With `after` (see `last_row`) what the rows written since then changed in these counts, so that adding it to what
    was counted up to there gives the same; only those rows are read.
    """
    new, old, earlier = tables.entry, tables.entry.alias("old"), tables.entry.alias("earlier")
    row: ColumnElement[int] = literal_column("entry.rowid")
    added = select(new.c.kind, func.count()).group_by(new.c.kind)
    # an empty text added to a column keeps SQLite from its index: found by what supersedes them, not by the trial's
    superseded = (
        select(old.c.kind, func.count(old.c.id.distinct()))
        .select_from(new.join(old, old.c.id == new.c.supersedes))
        .where(new.c.supersedes.is_not(None), old.c.trial + "" == trial)
        .group_by(old.c.kind)
    )
    if after:
        was = exists().where(earlier.c.supersedes == old.c.id, literal_column("earlier.rowid") <= after)
        added = added.where(row > after, new.c.trial + "" == trial)
        superseded = superseded.where(row > after, ~was)
    else:
        added = added.where(new.c.trial == trial)
    counts = {str(found[0]): int(found[1]) for found in connection.execute(added)}
    for kind, count in connection.execute(superseded):
        counts[kind] = counts.get(kind, 0) - count
    counts.pop(kind_of_class(Withdrawn), None)
    return {kind: count for kind, count in counts.items() if count}


def last_row(connection: Connection, trial: str) -> int:
    """Return a number that grows with every entry written of a trial; 0 without any."""
    row: ColumnElement[int] = literal_column("rowid")
    mine = tables.entry.c.trial + "" == trial  # read from the end, not by the trial's index
    query = select(row).select_from(tables.entry).where(mine).order_by(row.desc()).limit(1)
    found: int | None = connection.execute(query).scalar()
    return found or 0


def last_at(connection: Connection, trial: str, *, before: datetime | None) -> datetime | None:
    """Return the moment of a trial's last entry (before a moment); None without any."""
    table = tables.entry.c
    query = select(func.max(table.at)).where(table.trial == trial)
    found: datetime | None = connection.execute(query if before is None else query.where(table.at < before)).scalar()
    return found


def first_at(connection: Connection, trial: str, *, since: datetime) -> datetime | None:
    """Return the moment of a trial's first entry at a moment or later; None without any."""
    table = tables.entry.c
    query = select(func.min(table.at)).where(table.trial == trial, table.at >= since)
    found: datetime | None = connection.execute(query).scalar()
    return found


def entries_since(connection: Connection, trial: str, *, after: int) -> tuple[Entry, ...]:
    """Return the entries of a trial written after a row (see `last_row`), superseded or not, as they were written."""
    row: ColumnElement[int] = literal_column("entry.rowid")
    mine = tables.entry.c.trial + "" == trial  # read by the row, not by the trial's index
    query = select(tables.entry).where(row > after, mine).order_by(row)
    return tuple(_entry(one) for one in connection.execute(query))


def entry_of(connection: Connection, identity: str) -> Entry | None:
    """Return an entry by its id, superseded or not; None where there is none."""
    row = connection.execute(select(tables.entry).where(tables.entry.c.id == identity)).one_or_none()
    return None if row is None else _entry(row)


def ids_among(connection: Connection, ids: Sequence[str]) -> set[str]:
    """Return those of some ids that an entry has, superseded or not."""
    found: set[str] = set()
    for first in range(0, len(ids), 500):  # SQLite takes a bounded number of values in one query
        query = select(tables.entry.c.id).where(tables.entry.c.id.in_(ids[first : first + 500]))
        found.update(connection.execute(query).scalars())
    return found


def successor_of(connection: Connection, identity: str) -> Entry | None:
    """Return the entry that supersedes another; None where none does."""
    query = select(tables.entry).where(tables.entry.c.supersedes == identity)
    row = connection.execute(query.order_by(tables.entry.c.recorded_at.desc()).limit(1)).one_or_none()
    return None if row is None else _entry(row)


def last_recorded(connection: Connection, trial: str, *, since: datetime) -> datetime | None:
    """Return when the last of the entries that happened at `since` or later was written down; None without any."""
    query = select(func.max(tables.entry.c.recorded_at)).where(
        tables.entry.c.trial == trial, tables.entry.c.at >= since
    )
    found: datetime | None = connection.execute(query).scalar()
    return found


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
    if suffix_of(connection, sha256) is None:  # nobody else writes meanwhile
        row = {"sha256": sha256, "suffix": suffix, "size_bytes": size_bytes, "added_at": now}
        connection.execute(insert(tables.original).values(row))


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


def _entry(row: Any) -> Entry:
    # by place, as the table's columns stand: by name costs three times as much, and lists have thousands
    identity, trial, origin, at, zone, tank, kind, payload, who, note, supersedes, _ = row
    return Entry(identity, at, zone, tank, from_json(kind, payload), who, supersedes, note, trial, origin)
