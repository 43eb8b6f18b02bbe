"""Balls handed out to weavers, and taken back."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Take one step forward."""
    op.create_table(
        "hand_out",
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
        sa.Column("weaver_id", sa.String(), nullable=True),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("day", sa.String(), nullable=False),
        sa.Column("balls", sa.Float(), nullable=False),
        sa.Column("mass_g", sa.Float(), nullable=False),
        sa.Column("lot_id", sa.String(), nullable=True),
        sa.Column("note", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["act_id"], ["act.act_id"]),
        sa.PrimaryKeyConstraint("version"),
        sa.UniqueConstraint("record_id", "act_id", name="uq_hand_out_record_id_act_id"),
    )
    op.create_index("ix_hand_out_act_id", "hand_out", ["act_id"], unique=False)
    op.create_index("ix_hand_out_rug_id", "hand_out", ["rug_id"], unique=False)
