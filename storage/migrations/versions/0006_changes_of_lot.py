"""From which row on a yarn is knotted from which dye lot."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Take one step forward."""
    op.create_table(
        "lot_change",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("record_id", sa.String(), nullable=False),
        sa.Column("rug_id", sa.String(), nullable=True),
        sa.Column("act_id", sa.String(), nullable=False),
        sa.Column("device_id", sa.String(), nullable=False),
        sa.Column("clock", sa.BigInteger(), nullable=False),
        sa.Column("follows", sa.String(), nullable=True),
        sa.Column("withdrawn", sa.Integer(), nullable=False),
        sa.Column("seal", sa.BigInteger(), nullable=False),
        sa.Column("yarn_id", sa.String(), nullable=False),
        sa.Column("lot_id", sa.String(), nullable=False),
        sa.Column("day", sa.String(), nullable=False),
        sa.Column("row", sa.Integer(), nullable=False),
        sa.Column("blend_rows", sa.Integer(), nullable=False),
        sa.Column("done_day", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(["act_id"], ["act.act_id"]),
        sa.PrimaryKeyConstraint("version"),
        sa.UniqueConstraint("record_id", "act_id", name="uq_lot_change_record_id_act_id"),
    )
    op.create_index("ix_lot_change_act_id", "lot_change", ["act_id"], unique=False)
    op.create_index("ix_lot_change_rug_id", "lot_change", ["rug_id"], unique=False)
