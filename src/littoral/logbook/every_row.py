"""All rows of a logbook's tables just as they are kept: copied from one database to another, told apart by a digest.

Texts, times and payloads are never read here, only carried: what this version does not understand is not lost either.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Sequence
from typing import Any

from sqlalchemy import Connection, Table, inspect, text

from littoral.logbook.server import on_server
from littoral.logbook.tables import entry, measured_elsewhere, metadata, original, trial_text
from littoral.progress import Progress

ORDER = {
    trial_text.name: "id",
    entry.name: "entry.rowid",
    original.name: "added_at, sha256",
    measured_elsewhere.name: "id",
}
"""By what the rows of each table come in the order in which they were written."""
AT_ONCE = 500


def tables_in_order() -> tuple[Table, ...]:
    """Return the tables of a logbook."""
    return tuple(metadata.tables[name] for name in ORDER)


def raw_rows(connection: Connection, table: Table) -> Iterator[tuple[Any, ...]]:
    """Return the rows of a table in the order in which they were written; none of one that an early schema lacks."""
    if not inspect(connection).has_table(table.name):
        return
    names = ", ".join(column.name for column in table.columns)
    query = text(f"SELECT {names} FROM {table.name} ORDER BY {ORDER[table.name]}")
    for row in connection.execute(query, execution_options={"yield_per": AT_ONCE}):
        yield tuple(row)


def digest_of(connection: Connection) -> str:
    """Return the SHA-256 of every row of every table, the same in a file and on a server."""
    digest = hashlib.sha256()
    for table in tables_in_order():
        digest.update(f"{table.name}\n".encode())
        for row in raw_rows(connection, table):
            digest.update(json.dumps(row, ensure_ascii=True).encode() + b"\n")
    return digest.hexdigest()


def copy_rows(source: Connection, target: Connection, *, progress: Progress | None = None) -> dict[str, int]:
    """Write every row of one database into another, whose tables are empty, and return how many {table: rows}."""
    counts: dict[str, int] = {}
    total = sum(
        int(source.execute(text(f"SELECT count(*) FROM {table.name}")).scalar() or 0)
        for table in tables_in_order()
        if inspect(source).has_table(table.name)
    )
    done = 0
    for table in tables_in_order():
        counts[table.name] = 0
        held: list[tuple[Any, ...]] = []
        for row in raw_rows(source, table):
            held.append(row)
            if len(held) == AT_ONCE:
                _write(target, table, held)
                counts[table.name] += len(held)
                done += len(held)
                held = []
                if progress is not None:
                    progress(done, total, "copying entries")
        if held:
            _write(target, table, held)
            counts[table.name] += len(held)
            done += len(held)
    if progress is not None and total:
        progress(total, total, "copying entries")
    if on_server(target.engine):
        _count_on(target)
    return counts


def _write(target: Connection, table: Table, rows: Sequence[tuple[Any, ...]]) -> None:
    names = [column.name for column in table.columns]
    values = ", ".join(f":{name}" for name in names)
    query = text(f"INSERT INTO {table.name} ({', '.join(names)}) VALUES ({values})")
    target.execute(query, [dict(zip(names, row, strict=True)) for row in rows])


def _count_on(target: Connection) -> None:
    """Let the server give the next numbers after those that were copied."""
    for name in (trial_text.name, measured_elsewhere.name):
        last = f"(SELECT max(id) FROM {name})"
        target.execute(text(f"SELECT setval(pg_get_serial_sequence('{name}', 'id'), {last}) WHERE {last} > 0"))
