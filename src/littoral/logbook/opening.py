"""Finding a logbook's database, bringing it up to date, and whether it may be written."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, Engine, text

from littoral.errors import LittoralError
from littoral.logbook.database import engine_for, reading, writing
from littoral.logbook.refused import DATABASE
from littoral.logbook.schema import HEAD, bring_up_to_date
from littoral.logbook.server import engine_at, on_server
from littoral.logbook.tables import metadata
from littoral.logbook.where_kept import (
    Note,
    OtherDatabaseError,
    address_asked,
    address_for,
    address_words,
    read_note,
    without_secrets,
    write_note,
)
from littoral.logbook.writable import ReadOnlyLogbookError, refusal_of_the_disk

NOT_THIS = "it holds another logbook, or none"
_MAY_ADD = " AND ".join(f"has_table_privilege('{name}', 'INSERT')" for name in ("trial_text", "entry", "original"))
_ASKED = f"SELECT (SELECT id FROM logbook), (SELECT version_num FROM alembic_version), pg_is_in_recovery(), {_MAY_ADD}"


@dataclass(frozen=True, slots=True)
class Opened:
    """A database that is ready: `read_only` is None or why it may not be written, `place` tells it from any other."""

    engine: Engine
    read_only: LittoralError | None
    place: Hashable


def engine_of(folder: Path) -> Engine:
    """Return an engine for the database of the logbook at `folder`, wherever that is.

    OtherDatabaseError where a server is asked that has another logbook, or none; and what refuses to reach it.
    """
    note = read_note(folder)
    if note is None:
        return engine_for(folder / DATABASE)
    url = address_for(note)
    engine = engine_at(url)
    with reading(engine) as connection:
        if logbook_id(connection) != note.logbook:
            raise OtherDatabaseError(folder, address_words(url), NOT_THIS)
    return engine


def let_go(engine: Engine) -> None:
    """Close a file; the connections to a server stay open for the next."""
    if not on_server(engine):
        engine.dispose()


def open_database(folder: Path, *, shared: bool) -> Opened:
    """Open the database of `folder`, and make it where there is none; `shared`: on the server that is asked for.

    LittoralError of many kinds: see `Logbook`.
    """
    note = read_note(folder)
    if note is None and shared and not (folder / DATABASE).exists():
        address = address_asked()
        if address is not None:
            engine = engine_at(address)
            bring_up_to_date(engine, folder / DATABASE)
            note = _bind(engine, folder)
    if note is not None:
        return _on_server(folder, note)
    file = folder / DATABASE
    refusal = refusal_of_the_disk(file)
    engine = engine_for(file)
    newer = bring_up_to_date(engine, file, may_write=refusal is None)
    return Opened(engine, refusal or newer, (str(file), file.stat().st_ino))


def _on_server(folder: Path, note: Note) -> Opened:
    url = address_for(note)
    engine = engine_at(url)
    with reading(engine) as connection:
        if connection.execute(text("SELECT to_regclass('logbook')")).scalar() is None:
            raise OtherDatabaseError(folder, address_words(url), NOT_THIS)
        # one question for all, since a page opens the logbook again and again, and the server may be far away
        identity, revision, standby, may_add = connection.execute(text(_ASKED)).one()
    if identity != note.logbook:
        raise OtherDatabaseError(folder, address_words(url), NOT_THIS)
    refusal = _refusal_of_the_server(folder, standby=standby, may_add=may_add)
    newer = None if revision == HEAD else bring_up_to_date(engine, folder / DATABASE, may_write=refusal is None)
    return Opened(engine, refusal or newer, ("server", note.logbook))


def logbook_id(connection: Connection) -> str | None:
    """Return the id of the logbook in a server's database, None where there is none."""
    if connection.execute(text("SELECT to_regclass('logbook')")).scalar() is None:
        return None
    found: str | None = connection.execute(text("SELECT id FROM logbook")).scalar()
    return found


def is_empty(connection: Connection) -> bool:
    """Return whether no table of a logbook has a row."""
    names = [table.name for table in metadata.sorted_tables]
    return not any(connection.execute(text(f"SELECT 1 FROM {name} LIMIT 1")).scalar() for name in names)


def _bind(engine: Engine, folder: Path) -> Note:
    """Write the note in `folder` for a database that holds nothing and is no other folder's. OtherDatabaseError."""
    with writing(engine) as connection:
        there = read_note(folder)  # another process was faster
        if there is not None:
            return there
        theirs = connection.execute(text("SELECT folder FROM logbook")).scalar()
        if theirs is not None or not is_empty(connection):
            raise OtherDatabaseError(folder, address_words(engine.url), f"it is that of {theirs or 'another folder'}")
        return bind(connection, folder, folder)


def bind(connection: Connection, folder: Path, named: Path) -> Note:
    """Write the note into `folder`, which is or will be called `named`, and say so in the database."""
    identity = logbook_id(connection)
    assert identity is not None
    note = Note(identity, without_secrets(connection.engine.url))
    connection.execute(text("UPDATE logbook SET folder = :folder"), {"folder": str(named)})
    write_note(folder, note)
    return note


def _refusal_of_the_server(folder: Path, *, standby: bool, may_add: bool) -> ReadOnlyLogbookError | None:
    if standby:
        return ReadOnlyLogbookError(folder, "its server is a standby", "Name the server that takes changes.")
    if not may_add:
        right = "Name a user that may add rows, or grant it that."
        return ReadOnlyLogbookError(folder, "the database's user may only read", right)
    return None
