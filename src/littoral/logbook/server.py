"""A logbook's database on a PostgreSQL server: connections, and the one lock that keeps writers in line.

Writers take turns, as with SQLite: each transaction that writes holds an advisory lock of the database to its end, so
that what one wrote is seen whole by the next, and rows are numbered in the order of their commits.
"""

from __future__ import annotations

import atexit
import os
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event, text

from littoral.errors import extras_needed

LOCK = 0x6C6974746F72616C
"""The advisory lock's number, any that no other program in the database uses: "littoral" in ASCII."""
CONNECT_TIMEOUT_S = 10
LOCK_TIMEOUT_MS = 10_000
KEPT_OPEN = 4
MOST_OPEN = 24
"""Connections of one process at once; PostgreSQL gives 100 to all of them unless it is told otherwise."""

_ENGINES: dict[str, Engine] = {}


def engine_at(url: URL) -> Engine:
    """Return this process's engine for a database; its connections stay open between uses. MissingExtraError."""
    key = url.render_as_string(hide_password=False)
    if key not in _ENGINES:
        _ENGINES[key] = _made(url)
    return _ENGINES[key]


def on_server(engine: Engine) -> bool:
    """Tell whether an engine is one of a server."""
    return engine.dialect.name == "postgresql"


def take_turn(connection: Connection) -> None:
    """Wait for the right to write, which holds to the end of the transaction: its first statement."""
    connection.execute(text("SELECT pg_advisory_xact_lock(:number)"), {"number": LOCK})


def close_connections() -> None:
    """Let go of every connection that is kept open."""
    while _ENGINES:
        _ENGINES.popitem()[1].dispose()


def _made(url: URL) -> Engine:
    with extras_needed():
        engine = create_engine(
            url,
            connect_args={
                "connect_timeout": CONNECT_TIMEOUT_S,
                "application_name": "littoral",
                "client_encoding": "utf8",
                "keepalives_idle": 30,
                "tcp_user_timeout": 30_000,
            },
            pool_pre_ping=True,
            pool_size=KEPT_OPEN,
            max_overflow=MOST_OPEN - KEPT_OPEN,
            pool_timeout=LOCK_TIMEOUT_MS / 1000,
            hide_parameters=True,
        )

    @event.listens_for(engine, "connect")
    def _configure(dbapi: Any, _record: Any) -> None:
        # What was acknowledged is on the server's disk, whatever the server's own settings are for others.
        dbapi.autocommit = True
        dbapi.execute(f"SET synchronous_commit = on; SET lock_timeout = {LOCK_TIMEOUT_MS}")
        dbapi.autocommit = False

    return engine


def _forget() -> None:
    """In a forked child: the connections are the parent's, so they are left alone and not closed."""
    while _ENGINES:
        _ENGINES.popitem()[1].dispose(close=False)


atexit.register(close_connections)
if hasattr(os, "register_at_fork"):
    os.register_at_fork(after_in_child=_forget)
