"""Which schema a logbook's file has, and bringing it to the one this version writes."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, Engine, inspect, text

from littoral.errors import LittoralError
from littoral.logbook.database import reading, refusals_of_the_database

HEAD = "0002"
KNOWN = ("0001", "0002")


class NewerLogbookError(LittoralError):
    """The logbook was written by a newer version of Littoral."""

    def __init__(self, file: Path, revision: str) -> None:
        self.file, self.revision = file, revision
        super().__init__(
            f"{file} has schema {revision}, which is newer than this version of Littoral knows ({HEAD}). "
            "Nothing was changed. Install the newer version to open it."
        )


def revision_of(connection: Connection) -> str | None:
    """Return the schema revision of an open database, None for an empty one."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    return connection.execute(text("SELECT version_num FROM alembic_version")).scalar()


def bring_up_to_date(engine: Engine, file: Path) -> None:
    """Run the migrations that are missing, all or none; NewerLogbookError where the file is from the future."""
    with reading(engine) as connection:
        revision = revision_of(connection)
    if revision == HEAD:
        return
    if revision is not None and revision not in KNOWN:
        raise NewerLogbookError(file, revision)
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations"))
    with (
        refusals_of_the_database(engine),
        engine.connect().execution_options(littoral_writing=True) as connection,
    ):
        # Rebuilding a table with foreign keys on would delete the rows that point to it. The switch works only
        # outside a transaction, and this connection ends here, so no other is left with it off.
        dbapi = connection.connection.dbapi_connection
        assert dbapi is not None
        dbapi.cursor().execute("PRAGMA foreign_keys=OFF")
        with connection.begin():
            config.attributes["connection"] = connection
            command.upgrade(config, HEAD)
            broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
            if broken:
                raise LittoralError(f"{file}: the migration to schema {HEAD} would break {len(broken)} links; undone")
