"""The logbook's database: how its SQLite file is opened, and how a transaction begins, there and on a server.

One writer at a time. In a file: `BEGIN IMMEDIATE`, rollback journal and `synchronous=EXTRA`, see docs/decisions/0003.
On a server: an advisory lock, see docs/decisions/0008.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event
from sqlalchemy.exc import DatabaseError, DataError, IntegrityError
from sqlalchemy.exc import TimeoutError as NoConnectionError
from sqlalchemy.pool import NullPool

from littoral.errors import LittoralError
from littoral.logbook.server import on_server, take_turn
from littoral.logbook.where_kept import address_words, redacted

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
AWAY = (
    "Check that the server runs and that this computer reaches it, then do it again: what was saved already is kept "
    "once, however often it is sent."
)
RIGHT_ON_SERVER = {
    "55P03": "Another program is writing to it: try again when that is done.",
    "28": "Check the user and the password, which LITTORAL_DATABASE_URL or libpq's password file gives.",
    "3D000": "Make the database on the server (createdb), or check its name.",
    "42501": "Let the database's user use its tables.",
    "25006": "It takes no changes now: a standby, or set to be read only.",
    "53100": "Make room on the server's disk.",
    "53300": "Too many are connected: try again, or allow more connections on the server.",
    "22": "It holds a sign or a number that PostgreSQL cannot keep: change that.",
}
"""What would be right for each refusal of PostgreSQL, by how its SQLSTATE begins."""
AWAY_CODES = ("08", "57P")
"""How the SQLSTATE begins where a server is away or going; a server that does not answer gives none at all."""


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


class RefusedByServerError(RefusedByDatabaseError):
    """A PostgreSQL server could not be reached, or refused; nothing counts as saved that was being done.

    `away` tells that it could not be reached, or went away in the middle.
    """

    def __init__(self, engine: Engine, error: DatabaseError | NoConnectionError) -> None:
        self.file = address_words(engine.url)
        said = error.orig if isinstance(error, DatabaseError) else "too many are at work"
        self.code = str(getattr(said, "sqlstate", None) or _code_of(error))
        self.away = not self.code or self.code.startswith(AWAY_CODES)
        known = (right for code, right in RIGHT_ON_SERVER.items() if self.code.startswith(code))
        right = AWAY if self.away else next(known, "`littoral verify LOGBOOK` says whether it is whole.")
        what = "cannot be reached" if self.away else "cannot be used"
        LittoralError.__init__(self, f"{self.file} {what} ({redacted(str(said), engine.url)}). Not saved. {right}")


def _code_of(error: DatabaseError | NoConnectionError) -> str:
    """Return the SQLSTATE that fits where the driver gives none: it refused by itself, or all connections are taken."""
    return "53300" if isinstance(error, NoConnectionError) else "22" if isinstance(error, DataError) else ""


class _Lines(dict[str, AbstractContextManager[object]]):
    """A lock for each database: the threads of one process queue for it, each in its turn.

    Left to SQLite, each would look again after a pause until BUSY_TIMEOUT_MS, and with many some are never lucky.
    """

    def __missing__(self, file: str) -> AbstractContextManager[object]:
        return self.setdefault(file, threading.RLock())


_LINES = _Lines()


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """Open a read transaction: one consistent picture of the logbook."""
    options = {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True} if on_server(engine) else {}
    with (
        refusals_of_the_database(engine),
        engine.connect().execution_options(**options) as connection,
        connection.begin(),
    ):
        yield connection


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """Open a write transaction; committed at the end, rolled back whole on any exception."""
    with (
        _LINES[str(engine.url)],
        refusals_of_the_database(engine),
        engine.connect().execution_options(littoral_writing=True) as connection,
        connection.begin(),
    ):
        if on_server(engine):
            take_turn(connection)
        yield connection


@contextmanager
def refusals_of_the_database(engine: Engine) -> Iterator[None]:
    """Raise RefusedByDatabaseError where the file or server is at fault; a broken rule of the tables is our defect."""
    try:
        yield
    except IntegrityError:
        raise
    except (DatabaseError, NoConnectionError) as error:
        if on_server(engine):
            raise RefusedByServerError(engine, error) from None  # the cause could show how it connects
        if isinstance(error, NoConnectionError):
            raise
        raise RefusedByDatabaseError(engine.url.database or "", error) from error
