"""Yarn moved from rug to rug, to the shelf and from it."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Take one step forward."""
    op.create_table(
        "lot_move",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("record_id", sa.String(), nullable=False),
        sa.Column("rug_id", sa.String(), nullable=True),
        sa.Column("act_id", sa.String(), nullable=False),
        sa.Column("device_id", sa.String(), nullable=False),
        sa.Column("clock", sa.BigInteger(), nullable=False),
        sa.Column("follows", sa.String(), nullable=True),
        sa.Column("withdrawn", sa.Integer(), nullable=False),
        sa.Column("seal", sa.BigInteger(), nullable=False),
        sa.Column("lot_id", sa.String(), nullable=False),
        sa.Column("day", sa.String(), nullable=False),
        sa.Column("mass_g", sa.Float(), nullable=False),
        sa.Column("from_rug_id", sa.String(), nullable=True),
        sa.Column("from_yarn_id", sa.String(), nullable=True),
        sa.Column("to_rug_id", sa.String(), nullable=True),
        sa.Column("to_yarn_id", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(["act_id"], ["act.act_id"]),
        sa.PrimaryKeyConstraint("version"),
        sa.UniqueConstraint("record_id", "act_id", name="uq_lot_move_record_id_act_id"),
    )
    op.create_index("ix_lot_move_act_id", "lot_move", ["act_id"], unique=False)
    op.create_index("ix_lot_move_rug_id", "lot_move", ["rug_id"], unique=False)
