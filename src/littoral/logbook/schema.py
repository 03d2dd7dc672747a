"""Which schema a logbook's file has, and bringing it to the one this version writes."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, Engine, Inspector, inspect, text

from littoral.errors import LittoralError
from littoral.logbook.database import reading, refusals_of_the_database
from littoral.logbook.server import on_server, take_turn
from littoral.logbook.tables import metadata
from littoral.logbook.where_kept import address_words

HEAD = "0004"
KNOWN = ("0001", "0002", "0003", "0004")
LATER_TABLES = frozenset({"measured_elsewhere"})
"""Tables without which a logbook of an earlier schema can be read all the same: nothing was in them yet."""
OLDEST_SERVER = 13
MIGRATIONS = Path(__file__).parent / "migrations"


class NewerLogbookError(LittoralError):
    """The logbook was written by a newer version of Littoral: it can only be read, or not even that."""

    def __init__(self, file: Path, revision: str, *, readable: bool) -> None:
        self.file, self.revision, self.readable = file, revision, readable
        super().__init__(
            f"{file} has schema {revision}, which is newer than this version of Littoral knows ({HEAD}). "
            + (
                "It can be read and not written; nothing was changed. Install the newer version to write in it."
                if readable
                else "Nothing was changed. Install the newer version to open it."
            )
        )


class OlderLogbookError(LittoralError):
    """The logbook is of an older schema and lies where it cannot be brought up to date."""

    def __init__(self, file: Path, revision: str) -> None:
        self.file, self.revision = file, revision
        super().__init__(
            f"{file} has schema {revision}, which is to be brought to {HEAD} before it can be read, and it is "
            "write-protected. Let this user write to it, or copy the whole folder to a disk that can be written."
        )


def revision_of(connection: Connection) -> str | None:
    """Return the schema revision of an open database, None for an empty one."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    return connection.execute(text("SELECT version_num FROM alembic_version")).scalar()


class UnfitServerError(LittoralError):
    """A PostgreSQL database cannot hold a logbook."""

    def __init__(self, where: str, why: str, right: str) -> None:
        super().__init__(f"{where} cannot hold a logbook: {why}. Nothing was changed. {right}")


def bring_up_to_date(engine: Engine, file: Path, *, may_write: bool = True) -> NewerLogbookError | None:
    """Run the migrations that are missing, all or none, unless the file is from the future or may not be written.

    Returns None, or why a file from the future can be read and not written: what this version reads of it is all
    there. Raises NewerLogbookError or OlderLogbookError where it is not.
    """
    with reading(engine) as connection:
        revision = revision_of(connection)
        readable = revision == HEAD or _has_all_columns(connection)
    if revision == HEAD:
        return None
    if revision is not None and revision not in KNOWN:
        newer = NewerLogbookError(file, revision, readable=readable)
        if readable:
            return newer
        raise newer
    if not may_write:
        if readable:
            return None
        raise OlderLogbookError(file, revision or "none")
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    with (
        refusals_of_the_database(engine),
        engine.connect().execution_options(littoral_writing=True) as connection,
    ):
        config.attributes["connection"] = connection
        if on_server(engine):
            with connection.begin():
                take_turn(connection)
                _refuse_unfit(connection)
                command.upgrade(config, HEAD)  # who comes second finds it done: Alembic looks again, after the lock
            return None
        # Rebuilding a table with foreign keys on would delete the rows that point to it. The switch works only
        # outside a transaction, and this connection ends here, so no other is left with it off.
        dbapi = connection.connection.dbapi_connection
        assert dbapi is not None
        dbapi.cursor().execute("PRAGMA foreign_keys=OFF")
        with connection.begin():
            command.upgrade(config, HEAD)
            broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
            if broken:
                raise LittoralError(f"{file}: the migration to schema {HEAD} would break {len(broken)} links; undone")
    return None


def _refuse_unfit(connection: Connection) -> None:
    where = address_words(connection.engine.url)
    encoding = connection.execute(text("SHOW server_encoding")).scalar()
    if encoding != "UTF8":
        right = "Make one that keeps every sign: createdb -T template0 -E UTF8."
        raise UnfitServerError(where, f"it keeps text as {encoding}", right)
    number = int(connection.execute(text("SHOW server_version_num")).scalar() or 0)
    if number < OLDEST_SERVER * 10_000:
        right = f"Use PostgreSQL {OLDEST_SERVER} or newer."
        raise UnfitServerError(where, f"its server is PostgreSQL {number // 10_000}", right)


def _has_all_columns(connection: Connection) -> bool:
    seen = inspect(connection)
    there = set(seen.get_table_names())
    return all(
        table.name in there and {column.name for column in table.columns} <= _columns(seen, table.name)
        for table in metadata.sorted_tables
        if table.name not in LATER_TABLES
    )


def _columns(seen: Inspector, table: str) -> set[str]:
    return {str(column["name"]) for column in seen.get_columns(table)}
