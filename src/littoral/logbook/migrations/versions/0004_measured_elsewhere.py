"""Measures that came in with a data package: taken from photos that need not be here.

Revision: 0004, after 0003
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from littoral.logbook.migrations.kinds import TEXT

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "measured_elsewhere",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("trial", TEXT(64), nullable=False),
        sa.Column("package", TEXT(64), nullable=False),
        sa.Column("view", TEXT(64), nullable=False),
        sa.Column("drawn", TEXT(64), nullable=False),
        sa.Column("method", TEXT(32), nullable=False),
        sa.Column("photos", TEXT(), nullable=False),
        sa.Column("added_at", TEXT(32), nullable=False),
    )
    op.create_index("ix_measured_elsewhere_trial", "measured_elsewhere", ["trial"])
