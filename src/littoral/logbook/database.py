"""The logbook's SQLite file: how it is opened, and how a transaction begins.

One writer at a time (`BEGIN IMMEDIATE`), rollback journal and `synchronous=EXTRA`: see docs/decisions/0003.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event
from sqlalchemy.exc import DatabaseError, IntegrityError
from sqlalchemy.pool import NullPool

from littoral.errors import LittoralError

BUSY_TIMEOUT_MS = 10_000

RIGHT = {
    "SQLITE_NOTADB": "It is damaged, or was written by another program: put a copy of it back.",
    "SQLITE_CORRUPT": "It is damaged: put a copy of it back.",
    "SQLITE_BUSY": "Another program is writing to it: try again when that is done.",
    "SQLITE_FULL": "Make room on the disk.",
    "SQLITE_READONLY": "Let this user write to it and in its folder.",
    "SQLITE_CANTOPEN": "Let this user read and write it and its folder.",
    "SQLITE_IOERR": "The disk could not be read or written: check it, or put a copy back.",
}
"""What would be right for each refusal of SQLite, by the name of its code."""


class RefusedByDatabaseError(LittoralError):
    """SQLite could not read or write a logbook's file; nothing was changed by what was being done."""

    def __init__(self, file: str, error: DatabaseError) -> None:
        self.file = file
        self.code = str(getattr(error.orig, "sqlite_errorname", ""))
        right = next((right for code, right in RIGHT.items() if self.code.startswith(code)), "Put a copy of it back.")
        super().__init__(f"{file} cannot be used ({error.orig}). {right}")


def engine_for(file: Path) -> Engine:
    """Return an engine for one SQLite file, with durable settings and explicit transactions."""
    engine = create_engine(URL.create("sqlite", database=str(file)), poolclass=NullPool)

    @event.listens_for(engine, "connect")
    def _configure(dbapi: Any, _record: Any) -> None:
        # The driver's own implicit BEGIN would come too late to take the write lock: we begin ourselves.
        dbapi.isolation_level = None
        # EXTRA, not FULL: a commit is the removal of the journal, and only EXTRA brings that removal to the disk before
        # the commit returns. benchmarks/fault_table.py loses acknowledged entries to a power cut with FULL.
        pragmas = ("foreign_keys=ON", "journal_mode=DELETE", "synchronous=EXTRA", f"busy_timeout={BUSY_TIMEOUT_MS}")
        for pragma in pragmas:
            dbapi.execute(f"PRAGMA {pragma}").close()

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        writing = connection.get_execution_options().get("littoral_writing", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")

    return engine


class _Lines(dict[str | None, AbstractContextManager[object]]):
    """A lock for each file: the threads of one process queue for it, each in its turn.

    Left to SQLite, each would look again after a pause until BUSY_TIMEOUT_MS, and with many some are never lucky.
    """

    def __missing__(self, file: str | None) -> AbstractContextManager[object]:
        return self.setdefault(file, threading.RLock())


_LINES = _Lines()


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """Open a read transaction: one consistent picture of the logbook."""
    with refusals_of_the_database(engine), engine.connect() as connection, connection.begin():
        yield connection


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """Open a write transaction; committed at the end, rolled back whole on any exception."""
    with (
        _LINES[engine.url.database],
        refusals_of_the_database(engine),
        engine.connect().execution_options(littoral_writing=True) as connection,
        connection.begin(),
    ):
        yield connection


@contextmanager
def refusals_of_the_database(engine: Engine) -> Iterator[None]:
    """Raise RefusedByDatabaseError where the file is at fault; what breaks a rule of the tables is our defect."""
    try:
        yield
    except IntegrityError:
        raise
    except DatabaseError as error:
        raise RefusedByDatabaseError(engine.url.database or "", error) from error
