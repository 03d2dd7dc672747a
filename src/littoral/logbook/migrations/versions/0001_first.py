"""The first schema: texts of trials, the stream of entries, originals.

Revision: 0001, after nothing
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "trial_text",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("key", sa.String(64), nullable=False),
        sa.Column("text", sa.Text, nullable=False),
        sa.Column("added_at", sa.String(32), nullable=False),
    )
    op.create_index("ix_trial_text_key", "trial_text", ["key"])
    op.create_table(
        "entry",
        sa.Column("id", sa.String(64), primary_key=True),
        sa.Column("trial", sa.String(64), nullable=False),
        sa.Column("origin", sa.Text, nullable=False),
        sa.Column("at", sa.String(32), nullable=False),
        sa.Column("zone", sa.String(64), nullable=False),
        sa.Column("tank", sa.String(64), nullable=True),
        sa.Column("kind", sa.String(32), nullable=False),
        sa.Column("payload", sa.Text, nullable=False),
        sa.Column("who", sa.Text, nullable=False),
        sa.Column("note", sa.Text, nullable=False),
        sa.Column("supersedes", sa.String(64), sa.ForeignKey("entry.id", name="fk_entry_supersedes"), nullable=True),
        sa.Column("recorded_at", sa.String(32), nullable=False),
    )
    op.create_index("ix_entry_trial_at", "entry", ["trial", "at"])
    op.create_table(
        "original",
        sa.Column("sha256", sa.String(64), primary_key=True),
        sa.Column("suffix", sa.String(8), nullable=False),
        sa.Column("size_bytes", sa.Integer, nullable=False),
        sa.Column("added_at", sa.String(32), nullable=False),
    )
