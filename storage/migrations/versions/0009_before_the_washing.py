"""Plans say how large and heavy a rug was before it was washed, and how heavy after."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None

COLUMNS = ("unwashed_width_cm", "unwashed_length_cm", "unwashed_g", "washed_g")
"""New columns of a plan."""


def upgrade() -> None:
    """Take one step forward."""
    # NULL stands for what nobody measured, so the seals of older versions stay true.
    for name in COLUMNS:
        op.add_column("rug_plan", sa.Column(name, sa.Float(), nullable=True))
