"""Measurements on the loom say how wide the cloth is and how long its sides and diagonals are."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

COLUMNS = ("width_cm", "left_cm", "right_cm", "rising_cm", "falling_cm")
"""New columns of a measurement."""


def upgrade() -> None:
    """Take one step forward."""
    # NULL stands for what nobody measured, so the seals of older versions stay true.
    for name in COLUMNS:
        op.add_column("measurement", sa.Column(name, sa.Float(), nullable=True))
