"""Plans say what a rug shrinks by and how large it came out, yarns how they finish the edges, masses how damp they were."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

COLUMNS: dict[str, dict[str, type[sa.types.TypeEngine[Any]]]] = {
    "rug_plan": {
        "size_measure": sa.String,
        "loom_shrinkage": sa.Float,
        "wash_shrinkage_width": sa.Float,
        "wash_shrinkage_length": sa.Float,
        "finished_width_cm": sa.Float,
        "finished_length_cm": sa.Float,
    },
    "yarn": {"per_cm": sa.Float, "pieces": sa.Integer},
    "lot": {"weighed_g": sa.Float, "regain": sa.Float},
    "weighing": {"weighed_g": sa.Float, "regain": sa.Float},
}
"""New columns of each kind."""


def upgrade() -> None:
    """Take one step forward."""
    # NULL stands for what nobody said, so the seals of older versions stay true.
    for table, columns in COLUMNS.items():
        for name, kind in columns.items():
            op.add_column(table, sa.Column(name, kind(), nullable=True))
