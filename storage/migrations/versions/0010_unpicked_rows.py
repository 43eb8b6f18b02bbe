"""Yarn lost names the session whose unpicked rows it was in, and a session says whether its losses are told so."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Take one step forward."""
    # NULL stands for what nobody said, so the seals of older versions stay true.
    op.add_column("session", sa.Column("unpicked_yarn", sa.String(), nullable=True))
    op.add_column("spoilt", sa.Column("session_id", sa.String(), nullable=True))
