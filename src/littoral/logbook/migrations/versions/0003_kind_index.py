"""An index on the kind of a trial's entries, so that they are counted and picked out without reading them all.

Revision: 0003, after 0002
"""

from __future__ import annotations

from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the index."""
    op.create_index("ix_entry_trial_kind_at", "entry", ["trial", "kind", "at"])
