"""The order behind a rug, and what its customer paid."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None

COLUMNS: dict[str, tuple[tuple[str, type[sa.String | sa.Float[float]], bool], ...]] = {
    "rug_order": (
        ("customer", sa.String, False),
        ("promised_day", sa.String, True),
        ("price", sa.Float, True),
        ("way", sa.String, False),
        ("address", sa.String, False),
        ("delivered_day", sa.String, True),
        ("note", sa.String, False),
        ("shown", sa.String, False),
    ),
    "payment": (
        ("day", sa.String, False),
        ("amount", sa.Float, False),
        ("kind", sa.String, False),
        ("note", sa.String, False),
    ),
}
"""Each new kind's own columns: (name, type, nullable)."""


def upgrade() -> None:
    """Take one step forward."""
    for table, own in COLUMNS.items():
        op.create_table(
            table,
            sa.Column("version", sa.Integer(), nullable=False),
            sa.Column("record_id", sa.String(), nullable=False),
            sa.Column("rug_id", sa.String(), nullable=True),
            sa.Column("act_id", sa.String(), nullable=False),
            sa.Column("device_id", sa.String(), nullable=False),
            sa.Column("clock", sa.BigInteger(), nullable=False),
            sa.Column("follows", sa.String(), nullable=True),
            sa.Column("withdrawn", sa.Integer(), nullable=False),
            sa.Column("seal", sa.BigInteger(), nullable=False),
            *(sa.Column(name, kind(), nullable=nullable) for name, kind, nullable in own),
            sa.ForeignKeyConstraint(["act_id"], ["act.act_id"]),
            sa.PrimaryKeyConstraint("version"),
            sa.UniqueConstraint("record_id", "act_id", name=f"uq_{table}_record_id_act_id"),
        )
        op.create_index(f"ix_{table}_act_id", table, ["act_id"], unique=False)
        op.create_index(f"ix_{table}_rug_id", table, ["rug_id"], unique=False)
