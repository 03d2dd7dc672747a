"""The logbook's SQLite file: how it is opened, and how a transaction begins.

One writer at a time (`BEGIN IMMEDIATE`), rollback journal and `synchronous=FULL`: see docs/decisions/0003.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.pool import NullPool

BUSY_TIMEOUT_MS = 10_000


def engine_for(file: Path) -> Engine:
    """Return an engine for one SQLite file, with durable settings and explicit transactions."""
    engine = create_engine(f"sqlite:///{file}", poolclass=NullPool)

    @event.listens_for(engine, "connect")
    def _configure(dbapi: Any, _record: Any) -> None:
        # The driver's own implicit BEGIN would come too late to take the write lock: we begin ourselves.
        dbapi.isolation_level = None
        for pragma in ("foreign_keys=ON", "journal_mode=DELETE", "synchronous=FULL", f"busy_timeout={BUSY_TIMEOUT_MS}"):
            dbapi.execute(f"PRAGMA {pragma}").close()

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        writing = connection.get_execution_options().get("littoral_writing", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")

    return engine


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """Open a read transaction: one consistent picture of the logbook."""
    with engine.connect() as connection, connection.begin():
        yield connection


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """Open a write transaction; committed at the end, rolled back whole on any exception."""
    with engine.connect().execution_options(littoral_writing=True) as connection, connection.begin():
        yield connection
