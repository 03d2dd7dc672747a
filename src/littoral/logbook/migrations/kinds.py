"""Columns of both databases: SQLite keeps any text, by its bytes; PostgreSQL would bound it and order it by locale."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import postgresql


def TEXT(length: int | None = None) -> sa.types.TypeEngine[str]:
    """Return the kind of a column of text, of any length and in the order of its bytes on a server, too."""
    kind: sa.types.TypeEngine[str] = sa.Text() if length is None else sa.String(length)
    return kind.with_variant(postgresql.TEXT(collation="C"), "postgresql")


COUNT = sa.Integer().with_variant(sa.BigInteger(), "postgresql")


def on_server() -> bool:
    """Tell whether the migration that runs now is of a PostgreSQL database."""
    return op.get_context().dialect.name == "postgresql"
