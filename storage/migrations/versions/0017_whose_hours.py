"""Sessions say whether their hours were given or came with the rows as the usual ones."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0017"
down_revision = "0016"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Take one step forward."""
    # NULL stands for what nobody noted, so the seals of older versions stay true.
    op.add_column("session", sa.Column("hours_from", sa.String(), nullable=True))
