"""What Alembic runs for each migration: the connection is handed in by `logbook.schema`."""

from __future__ import annotations

from alembic import context

from littoral.logbook.tables import metadata

connection = context.config.attributes["connection"]
context.configure(
    connection=connection, target_metadata=metadata, render_as_batch=True, transaction_per_migration=False
)
context.run_migrations()
