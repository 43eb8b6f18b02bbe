"""The book as first released: acts, records and a version table for each kind of record."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Take one step forward."""
    # "Loom" in ASCII: tells a book from any other SQLite file.
    op.execute("PRAGMA application_id = 1282371437")
    op.create_table(
        "device",
        sa.Column("device_id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("seal", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("device_id"),
    )
    op.create_table(
        "tally",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("rug_id", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("versions", sa.Integer(), nullable=False),
        sa.Column("seals", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("number"),
        sa.UniqueConstraint("rug_id", "kind", name="uq_tally_rug_id_kind"),
    )
    op.create_table(
        "torn", sa.Column("act_id", sa.String(), nullable=False), sa.PrimaryKeyConstraint("act_id")
    )
    op.create_table(
        "act",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("act_id", sa.String(), nullable=False),
        sa.Column("device_id", sa.String(), nullable=False),
        sa.Column("clock", sa.BigInteger(), nullable=False),
        sa.Column("made_at", sa.BigInteger(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("rug_id", sa.String(), nullable=True),
        sa.Column("undoes_id", sa.String(), nullable=True),
        sa.Column("versions", sa.Integer(), nullable=False),
        sa.Column("seal", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(
            ["device_id"],
            ["device.device_id"],
        ),
        sa.PrimaryKeyConstraint("number"),
        sa.UniqueConstraint("act_id"),
    )
    op.create_index(op.f("ix_act_clock"), "act", ["clock"], unique=False)
    op.create_index("ix_act_rug_id_clock", "act", ["rug_id", "clock"], unique=False)
    op.create_index(op.f("ix_act_undoes_id"), "act", ["undoes_id"], unique=False)
    op.create_table(
        "here",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("device_id", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["device_id"],
            ["device.device_id"],
        ),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_table(
        "after_step",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("record_id", sa.String(), nullable=False),
        sa.Column("rug_id", sa.String(), nullable=True),
        sa.Column("act_id", sa.String(), nullable=False),
        sa.Column("device_id", sa.String(), nullable=False),
        sa.Column("clock", sa.BigInteger(), nullable=False),
        sa.Column("follows", sa.String(), nullable=True),
        sa.Column("withdrawn", sa.Integer(), nullable=False),
        sa.Column("seal", sa.BigInteger(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("days", sa.Float(), nullable=False),
        sa.Column("done_day", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(
            ["act_id"],
            ["act.act_id"],
        ),
        sa.PrimaryKeyConstraint("version"),
        sa.UniqueConstraint("record_id", "act_id", name="uq_after_step_record_id_act_id"),
    )
    op.create_index("ix_after_step_act_id", "after_step", ["act_id"], unique=False)
    op.create_index("ix_after_step_rug_id", "after_step", ["rug_id"], unique=False)
    op.create_table(
        "cartoon",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("record_id", sa.String(), nullable=False),
        sa.Column("rug_id", sa.String(), nullable=True),
        sa.Column("act_id", sa.String(), nullable=False),
        sa.Column("device_id", sa.String(), nullable=False),
        sa.Column("clock", sa.BigInteger(), nullable=False),
        sa.Column("follows", sa.String(), nullable=True),
        sa.Column("withdrawn", sa.Integer(), nullable=False),
        sa.Column("seal", sa.BigInteger(), nullable=False),
        sa.Column("cells", sa.LargeBinary(), nullable=False),
        sa.Column("palette", sa.String(), nullable=False),
        sa.Column("source_name", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["act_id"],
            ["act.act_id"],
        ),
        sa.PrimaryKeyConstraint("version"),
        sa.UniqueConstraint("record_id", "act_id", name="uq_cartoon_record_id_act_id"),
    )
    op.create_index("ix_cartoon_act_id", "cartoon", ["act_id"], unique=False)
    op.create_index("ix_cartoon_rug_id", "cartoon", ["rug_id"], unique=False)
    op.create_table(
        "days_off",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("record_id", sa.String(), nullable=False),
        sa.Column("rug_id", sa.String(), nullable=True),
        sa.Column("act_id", sa.String(), nullable=False),
        sa.Column("device_id", sa.String(), nullable=False),
        sa.Column("clock", sa.BigInteger(), nullable=False),
        sa.Column("follows", sa.String(), nullable=True),
        sa.Column("withdrawn", sa.Integer(), nullable=False),
        sa.Column("seal", sa.BigInteger(), nullable=False),
        sa.Column("first_day", sa.String(), nullable=False),
        sa.Column("last_day", sa.String(), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["act_id"],
            ["act.act_id"],
        ),
        sa.PrimaryKeyConstraint("version"),
        sa.UniqueConstraint("record_id", "act_id", name="uq_days_off_record_id_act_id"),
    )
    op.create_index("ix_days_off_act_id", "days_off", ["act_id"], unique=False)
    op.create_index("ix_days_off_rug_id", "days_off", ["rug_id"], unique=False)
    op.create_table(
        "lot",
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
        sa.Column("day", sa.String(), nullable=False),
        sa.Column("mass_g", sa.Float(), nullable=False),
        sa.Column("dye_lot", sa.String(), nullable=False),
        sa.Column("dyer", sa.String(), nullable=False),
        sa.Column("price", sa.Float(), nullable=True),
        sa.ForeignKeyConstraint(
            ["act_id"],
            ["act.act_id"],
        ),
        sa.PrimaryKeyConstraint("version"),
        sa.UniqueConstraint("record_id", "act_id", name="uq_lot_record_id_act_id"),
    )
    op.create_index("ix_lot_act_id", "lot", ["act_id"], unique=False)
    op.create_index("ix_lot_rug_id", "lot", ["rug_id"], unique=False)
    op.create_table(
        "measurement",
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
        sa.Column("length_cm", sa.Float(), nullable=False),
        sa.Column("resolution_cm", sa.Float(), nullable=False),
        sa.ForeignKeyConstraint(
            ["act_id"],
            ["act.act_id"],
        ),
        sa.PrimaryKeyConstraint("version"),
        sa.UniqueConstraint("record_id", "act_id", name="uq_measurement_record_id_act_id"),
    )
    op.create_index("ix_measurement_act_id", "measurement", ["act_id"], unique=False)
    op.create_index("ix_measurement_rug_id", "measurement", ["rug_id"], unique=False)
    op.create_table(
        "photo",
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
        sa.Column("file_name", sa.String(), nullable=False),
        sa.Column("caption", sa.String(), nullable=False),
        sa.Column("linked_id", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(
            ["act_id"],
            ["act.act_id"],
        ),
        sa.PrimaryKeyConstraint("version"),
        sa.UniqueConstraint("record_id", "act_id", name="uq_photo_record_id_act_id"),
    )
    op.create_index("ix_photo_act_id", "photo", ["act_id"], unique=False)
    op.create_index("ix_photo_rug_id", "photo", ["rug_id"], unique=False)
    op.create_table(
        "preparation",
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
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("yarn_id", sa.String(), nullable=True),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.Column("hours", sa.Float(), nullable=True),
        sa.ForeignKeyConstraint(
            ["act_id"],
            ["act.act_id"],
        ),
        sa.PrimaryKeyConstraint("version"),
        sa.UniqueConstraint("record_id", "act_id", name="uq_preparation_record_id_act_id"),
    )
    op.create_index("ix_preparation_act_id", "preparation", ["act_id"], unique=False)
    op.create_index("ix_preparation_rug_id", "preparation", ["rug_id"], unique=False)
    op.create_table(
        "rug_plan",
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
        sa.Column("width_cm", sa.Float(), nullable=False),
        sa.Column("length_cm", sa.Float(), nullable=False),
        sa.Column("knots_per_10cm", sa.Float(), nullable=False),
        sa.Column("rows_per_10cm", sa.Float(), nullable=False),
        sa.Column("knots_across", sa.Integer(), nullable=False),
        sa.Column("rows", sa.Integer(), nullable=False),
        sa.Column("pile_height_mm", sa.Float(), nullable=False),
        sa.Column("knot_kind", sa.String(), nullable=False),
        sa.Column("weekdays", sa.String(), nullable=False),
        sa.Column("hours_per_week", sa.Float(), nullable=False),
        sa.Column("weavers_planned", sa.Integer(), nullable=False),
        sa.Column("start_day", sa.String(), nullable=False),
        sa.Column("wished_day", sa.String(), nullable=True),
        sa.Column("stage", sa.String(), nullable=False),
        sa.Column("finished_day", sa.String(), nullable=True),
        sa.Column("hold", sa.String(), nullable=False),
        sa.Column("knots_per_hour", sa.Float(), nullable=True),
        sa.Column("selvedge_warps", sa.Integer(), nullable=False),
        sa.Column("end_cm", sa.Float(), nullable=False),
        sa.Column("fringe_cm", sa.Float(), nullable=False),
        sa.Column("loom_waste_cm", sa.Float(), nullable=False),
        sa.Column("loom_width_cm", sa.Float(), nullable=True),
        sa.Column("beam_roll_cm", sa.Float(), nullable=True),
        sa.Column("notes", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["act_id"],
            ["act.act_id"],
        ),
        sa.PrimaryKeyConstraint("version"),
        sa.UniqueConstraint("record_id", "act_id", name="uq_rug_plan_record_id_act_id"),
    )
    op.create_index("ix_rug_plan_act_id", "rug_plan", ["act_id"], unique=False)
    op.create_index("ix_rug_plan_rug_id", "rug_plan", ["rug_id"], unique=False)
    op.create_table(
        "sample",
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
        sa.Column("day", sa.String(), nullable=False),
        sa.Column("knots", sa.Integer(), nullable=False),
        sa.Column("mass_g", sa.Float(), nullable=False),
        sa.Column("resolution_g", sa.Float(), nullable=False),
        sa.ForeignKeyConstraint(
            ["act_id"],
            ["act.act_id"],
        ),
        sa.PrimaryKeyConstraint("version"),
        sa.UniqueConstraint("record_id", "act_id", name="uq_sample_record_id_act_id"),
    )
    op.create_index("ix_sample_act_id", "sample", ["act_id"], unique=False)
    op.create_index("ix_sample_rug_id", "sample", ["rug_id"], unique=False)
    op.create_table(
        "session",
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
        sa.Column("rows", sa.Integer(), nullable=False),
        sa.Column("hours", sa.Float(), nullable=True),
        sa.Column("weavers", sa.String(), nullable=False),
        sa.Column("used", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["act_id"],
            ["act.act_id"],
        ),
        sa.PrimaryKeyConstraint("version"),
        sa.UniqueConstraint("record_id", "act_id", name="uq_session_record_id_act_id"),
    )
    op.create_index("ix_session_act_id", "session", ["act_id"], unique=False)
    op.create_index("ix_session_rug_id", "session", ["rug_id"], unique=False)
    op.create_table(
        "setting",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("record_id", sa.String(), nullable=False),
        sa.Column("rug_id", sa.String(), nullable=True),
        sa.Column("act_id", sa.String(), nullable=False),
        sa.Column("device_id", sa.String(), nullable=False),
        sa.Column("clock", sa.BigInteger(), nullable=False),
        sa.Column("follows", sa.String(), nullable=True),
        sa.Column("withdrawn", sa.Integer(), nullable=False),
        sa.Column("seal", sa.BigInteger(), nullable=False),
        sa.Column("value", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["act_id"],
            ["act.act_id"],
        ),
        sa.PrimaryKeyConstraint("version"),
        sa.UniqueConstraint("record_id", "act_id", name="uq_setting_record_id_act_id"),
    )
    op.create_index("ix_setting_act_id", "setting", ["act_id"], unique=False)
    op.create_index("ix_setting_rug_id", "setting", ["rug_id"], unique=False)
    op.create_table(
        "spoilt",
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
        sa.Column("day", sa.String(), nullable=False),
        sa.Column("mass_g", sa.Float(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["act_id"],
            ["act.act_id"],
        ),
        sa.PrimaryKeyConstraint("version"),
        sa.UniqueConstraint("record_id", "act_id", name="uq_spoilt_record_id_act_id"),
    )
    op.create_index("ix_spoilt_act_id", "spoilt", ["act_id"], unique=False)
    op.create_index("ix_spoilt_rug_id", "spoilt", ["rug_id"], unique=False)
    op.create_table(
        "weaver",
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
        sa.ForeignKeyConstraint(
            ["act_id"],
            ["act.act_id"],
        ),
        sa.PrimaryKeyConstraint("version"),
        sa.UniqueConstraint("record_id", "act_id", name="uq_weaver_record_id_act_id"),
    )
    op.create_index("ix_weaver_act_id", "weaver", ["act_id"], unique=False)
    op.create_index("ix_weaver_rug_id", "weaver", ["rug_id"], unique=False)
    op.create_table(
        "weighing",
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
        sa.Column("day", sa.String(), nullable=False),
        sa.Column("mass_g", sa.Float(), nullable=False),
        sa.Column("resolution_g", sa.Float(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["act_id"],
            ["act.act_id"],
        ),
        sa.PrimaryKeyConstraint("version"),
        sa.UniqueConstraint("record_id", "act_id", name="uq_weighing_record_id_act_id"),
    )
    op.create_index("ix_weighing_act_id", "weighing", ["act_id"], unique=False)
    op.create_index("ix_weighing_rug_id", "weighing", ["rug_id"], unique=False)
    op.create_table(
        "yarn",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("record_id", sa.String(), nullable=False),
        sa.Column("rug_id", sa.String(), nullable=True),
        sa.Column("act_id", sa.String(), nullable=False),
        sa.Column("device_id", sa.String(), nullable=False),
        sa.Column("clock", sa.BigInteger(), nullable=False),
        sa.Column("follows", sa.String(), nullable=True),
        sa.Column("withdrawn", sa.Integer(), nullable=False),
        sa.Column("seal", sa.BigInteger(), nullable=False),
        sa.Column("role", sa.String(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("swatch", sa.String(), nullable=False),
        sa.Column("share", sa.Float(), nullable=True),
        sa.Column("cartoon_values", sa.String(), nullable=False),
        sa.Column("count", sa.String(), nullable=False),
        sa.Column("tex", sa.Float(), nullable=False),
        sa.Column("fibre", sa.String(), nullable=False),
        sa.Column("unit_mass_g", sa.Float(), nullable=False),
        sa.Column("passes_per_row", sa.Integer(), nullable=False),
        sa.Column("take_up", sa.Float(), nullable=True),
        sa.Column("cut_length_mm", sa.Float(), nullable=True),
        sa.Column("pile_g_per_m2", sa.Float(), nullable=True),
        sa.Column("skein_g", sa.Float(), nullable=False),
        sa.Column("least_purchase_g", sa.Float(), nullable=False),
        sa.Column("margin", sa.Float(), nullable=False),
        sa.Column("price_per_kg", sa.Float(), nullable=True),
        sa.Column("dyer", sa.String(), nullable=False),
        sa.Column("lead_days", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["act_id"],
            ["act.act_id"],
        ),
        sa.PrimaryKeyConstraint("version"),
        sa.UniqueConstraint("record_id", "act_id", name="uq_yarn_record_id_act_id"),
    )
    op.create_index("ix_yarn_act_id", "yarn", ["act_id"], unique=False)
    op.create_index("ix_yarn_rug_id", "yarn", ["rug_id"], unique=False)
