"""Plans say how long a raj is, what the shears take, how knots are tied and warps stand; yarns what twisting took."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

COLUMNS = {
    "rug_plan": ("raj_cm", "unshorn_mm", "jufti_share", "warp_offset_degrees"),
    "yarn": ("twist_contraction",),
}
"""New numbers of each kind."""


def upgrade() -> None:
    """Take one step forward."""
    # NULL stands for what nobody said, so the seals of older plans stay true.
    for table, numbers in COLUMNS.items():
        for name in numbers:
            op.add_column(table, sa.Column(name, sa.Float(), nullable=True))
