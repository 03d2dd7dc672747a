"""An index on what entries supersede, so that one day of a long logbook is found without reading all of it.

Revision: 0002, after 0001
"""

from __future__ import annotations

from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the index."""
    op.create_index("ix_entry_supersedes", "entry", ["supersedes"])
