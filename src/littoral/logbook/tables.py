"""The tables of a logbook's database, and the one way times are kept in it."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Column, ForeignKey, Index, Integer, MetaData, String, Table, Text
from sqlalchemy.engine import Dialect
from sqlalchemy.types import TypeDecorator


class UtcTime(TypeDecorator[datetime]):
    """An instant kept as ISO 8601 text in UTC; SQLite would silently drop an offset, so naive times are refused."""

    impl = String(32)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> str | None:  # noqa: ARG002
        """Write an aware time as UTC text; ValueError for a naive one."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"{value!r} has no time zone; a logbook keeps instants only")
        return value.astimezone(UTC).isoformat(timespec="microseconds")

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        """Read UTC text back as an aware time."""
        return None if value is None else datetime.fromisoformat(value)


metadata = MetaData(
    naming_convention={
        "ix": "ix_%(column_0_label)s",
        "uq": "uq_%(table_name)s_%(column_0_name)s",
        "fk": "fk_%(table_name)s_%(column_0_name)s",
        "pk": "pk_%(table_name)s",
    }
)

# Each text of a trial that was ever imported; the latest of a key is in force.
trial_text = Table(
    "trial_text",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("key", String(64), nullable=False, index=True),
    Column("text", Text, nullable=False),
    Column("added_at", UtcTime, nullable=False),
)

# The one stream. Nothing is updated or deleted: a later entry supersedes an earlier one. `trial` is a trial's key, of
# which there is a row for each text, so no foreign key can say so; `origin` is the file it was a row of, or "".
entry = Table(
    "entry",
    metadata,
    Column("id", String(64), primary_key=True),
    Column("trial", String(64), nullable=False),
    Column("origin", Text, nullable=False),
    Column("at", UtcTime, nullable=False),
    Column("zone", String(64), nullable=False),
    Column("tank", String(64), nullable=True),
    Column("kind", String(32), nullable=False),
    Column("payload", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("note", Text, nullable=False),
    Column("supersedes", String(64), ForeignKey("entry.id"), nullable=True),
    Column("recorded_at", UtcTime, nullable=False),
    Index("ix_entry_trial_at", "trial", "at"),
    Index("ix_entry_supersedes", "supersedes"),
    Index("ix_entry_trial_kind_at", "trial", "kind", "at"),
)

# One row for each file in originals/; the file is there before its row is.
original = Table(
    "original",
    metadata,
    Column("sha256", String(64), primary_key=True),
    Column("suffix", String(8), nullable=False),
    Column("size_bytes", Integer, nullable=False),
    Column("added_at", UtcTime, nullable=False),
)

# What a data package says was measured on photos that are not here: a row for each of its views, never changed. `drawn`
# is the hash of the view as it was drawn then, `photos` a JSON list (`logbook.elsewhere`). The last of a view counts.
measured_elsewhere = Table(
    "measured_elsewhere",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("trial", String(64), nullable=False, index=True),
    Column("package", String(64), nullable=False),
    Column("view", String(64), nullable=False),
    Column("drawn", String(64), nullable=False),
    Column("method", String(32), nullable=False),
    Column("photos", Text, nullable=False),
    Column("added_at", UtcTime, nullable=False),
)
