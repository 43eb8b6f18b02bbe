"""When the pile was trimmed on the loom and to what height, and after how many rows it is."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Take one step forward."""
    # NULL stands for what nobody said, so the seals of older versions stay true.
    op.add_column("rug_plan", sa.Column("trim_every_rows", sa.Integer(), nullable=True))
    op.create_table(
        "trim",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("record_id", sa.String(), nullable=False),
        sa.Column("rug_id", sa.String(), nullable=True),
        sa.Column("act_id", sa.String(), nullable=False),
        sa.Column("device_id", sa.String(), nullable=False),
        sa.Column("clock", sa.BigInteger(), nullable=False),
        sa.Column("follows", sa.String(), nullable=True),
        sa.Column("withdrawn", sa.Integer(), nullable=False),
        sa.Column("seal", sa.BigInteger(), nullable=False),
        sa.Column("day", sa.String(), nullable=False),
        sa.Column("row", sa.Integer(), nullable=False),
        sa.Column("before_mm", sa.Float(), nullable=True),
        sa.Column("after_mm", sa.Float(), nullable=True),
        sa.Column("note", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["act_id"], ["act.act_id"]),
        sa.PrimaryKeyConstraint("version"),
        sa.UniqueConstraint("record_id", "act_id", name="uq_trim_record_id_act_id"),
    )
    op.create_index("ix_trim_act_id", "trim", ["act_id"], unique=False)
    op.create_index("ix_trim_rug_id", "trim", ["rug_id"], unique=False)
