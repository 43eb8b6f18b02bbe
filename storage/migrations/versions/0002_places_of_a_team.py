"""Sessions say who of a team sat where across the width, and whose part stands higher than the rows counted."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Take one step forward."""
    # NULL stands for "nobody said", so the seals of older sessions stay true.
    op.add_column("session", sa.Column("places", sa.String(), nullable=True))
    op.add_column("session", sa.Column("ahead", sa.String(), nullable=True))
