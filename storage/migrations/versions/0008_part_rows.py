"""Sessions say how many knots of the next row were tied when they ended."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Take one step forward."""
    # NULL stands for what nobody said, so the seals of older versions stay true.
    op.add_column("session", sa.Column("begun_knots", sa.Integer(), nullable=True))
