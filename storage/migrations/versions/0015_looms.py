"""Looms, which of them a rug lies on, and whose warp it shares."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None

OF_PLAN: dict[str, type[sa.String | sa.Float[float]]] = {
    "loom_id": sa.String,
    "warp_after": sa.String,
    "warp_lay": sa.String,
    "warp_gap_cm": sa.Float,
}
"""What plans say anew; NULL stands for what nobody said, so the seals of older plans stay true."""


def upgrade() -> None:
    """Take one step forward."""
    for name, kind in OF_PLAN.items():
        op.add_column("rug_plan", sa.Column(name, kind(), nullable=True))
    op.create_table(
        "loom",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("record_id", sa.String(), nullable=False),
        sa.Column("rug_id", sa.String(), nullable=True),
        sa.Column("act_id", sa.String(), nullable=False),
        sa.Column("device_id", sa.String(), nullable=False),
        sa.Column("clock", sa.BigInteger(), nullable=False),
        sa.Column("follows", sa.String(), nullable=True),
        sa.Column("withdrawn", sa.Integer(), nullable=False),
        sa.Column("seal", sa.BigInteger(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("width_cm", sa.Float(), nullable=True),
        sa.Column("longest_warp_cm", sa.Float(), nullable=True),
        sa.Column("waste_cm", sa.Float(), nullable=True),
        sa.Column("seats", sa.Integer(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["act_id"], ["act.act_id"]),
        sa.PrimaryKeyConstraint("version"),
        sa.UniqueConstraint("record_id", "act_id", name="uq_loom_record_id_act_id"),
    )
    op.create_index("ix_loom_act_id", "loom", ["act_id"], unique=False)
    op.create_index("ix_loom_rug_id", "loom", ["rug_id"], unique=False)
