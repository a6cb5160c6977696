"""quotes in versions, cutting speeds, prices of sheet

Revision: 0005
Follows: 0004
"""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "cut_speed",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("cutter", sa.String(), nullable=False),
        sa.Column("family", sa.String(), nullable=False),
        sa.Column("thickness_mm", sa.Float(), nullable=False),
        sa.Column("cut_speed_mm_per_s", sa.Float(), nullable=False),
        sa.Column("pierce_s", sa.Float(), nullable=False),
        sa.Column("source", sa.String(), nullable=False),
        sa.CheckConstraint(
            "family IN ('steel', 'galvanized', 'stainless', 'aluminium', 'copper', 'brass')",
            name=op.f("ck_cut_speed_family_known"),
        ),
        sa.CheckConstraint(
            "cut_speed_mm_per_s > 0", name=op.f("ck_cut_speed_cut_speed_mm_per_s_above_zero")
        ),
        sa.CheckConstraint("length(cutter) <= 40", name=op.f("ck_cut_speed_cutter_not_too_long")),
        sa.CheckConstraint("pierce_s >= 0", name=op.f("ck_cut_speed_pierce_s_not_below_zero")),
        sa.CheckConstraint("thickness_mm > 0", name=op.f("ck_cut_speed_thickness_mm_above_zero")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_cut_speed")),
        sa.UniqueConstraint(
            "cutter", "family", "thickness_mm", name=op.f("uq_cut_speed_cutter_family_thickness_mm")
        ),
    )
    op.create_table(
        "sheet_price",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("material_code", sa.String(), nullable=False),
        sa.Column("thickness_mm", sa.Float(), nullable=False),
        sa.Column("sheet_width_mm", sa.Float(), nullable=False),
        sa.Column("sheet_height_mm", sa.Float(), nullable=False),
        sa.Column("price_per_kg", sa.String(), nullable=False),
        sa.Column("supplier", sa.String(), nullable=False),
        sa.Column("priced_on", sa.Date(), nullable=True),
        sa.CheckConstraint(
            "length(price_per_kg) <= 20", name=op.f("ck_sheet_price_price_per_kg_not_too_long")
        ),
        sa.CheckConstraint(
            "length(supplier) <= 80", name=op.f("ck_sheet_price_supplier_not_too_long")
        ),
        sa.CheckConstraint(
            "sheet_height_mm > 0", name=op.f("ck_sheet_price_sheet_height_mm_above_zero")
        ),
        sa.CheckConstraint(
            "sheet_width_mm > 0", name=op.f("ck_sheet_price_sheet_width_mm_above_zero")
        ),
        sa.CheckConstraint("thickness_mm > 0", name=op.f("ck_sheet_price_thickness_mm_above_zero")),
        sa.ForeignKeyConstraint(
            ["material_code"], ["material.code"], name=op.f("fk_sheet_price_material_code_material")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sheet_price")),
        sa.UniqueConstraint(
            "material_code",
            "thickness_mm",
            "sheet_width_mm",
            "sheet_height_mm",
            name=op.f("uq_sheet_price_material_code_thickness_mm_sheet_width_mm_sheet_height_mm"),
        ),
    )
    with op.batch_alter_table("sheet_price", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_sheet_price_material_code"), ["material_code"], unique=False
        )

    op.create_table(
        "quote",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("number", sa.String(), nullable=False),
        sa.Column("customer_code", sa.String(), nullable=True),
        sa.Column("order_number", sa.String(), nullable=True),
        sa.Column("their_reference", sa.String(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("lost_reason", sa.String(), nullable=False),
        sa.Column("decided_note", sa.String(), nullable=False),
        sa.Column("decided_at", sa.DateTime(), nullable=True),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("made_by", sa.String(), nullable=False),
        sa.CheckConstraint(
            "state IN ('draft', 'sent', 'won', 'lost')", name=op.f("ck_quote_state_known")
        ),
        sa.CheckConstraint(
            "length(lost_reason) <= 120", name=op.f("ck_quote_lost_reason_not_too_long")
        ),
        sa.CheckConstraint("length(number) <= 40", name=op.f("ck_quote_number_not_too_long")),
        sa.CheckConstraint(
            "length(their_reference) <= 120", name=op.f("ck_quote_their_reference_not_too_long")
        ),
        sa.ForeignKeyConstraint(
            ["customer_code"], ["customer.code"], name=op.f("fk_quote_customer_code_customer")
        ),
        sa.ForeignKeyConstraint(
            ["order_number"], ["order.number"], name=op.f("fk_quote_order_number_order")
        ),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_quote")),
    )
    with op.batch_alter_table("quote", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_quote_customer_code"), ["customer_code"], unique=False)
        batch_op.create_index(batch_op.f("ix_quote_order_number"), ["order_number"], unique=False)
        batch_op.create_index("ix_quote_state_changed_at", ["state", "changed_at"], unique=False)

    op.create_table(
        "quote_version",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("quote_number", sa.String(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("currency", sa.String(), nullable=False),
        sa.Column("validity_days_count", sa.Integer(), nullable=False),
        sa.Column("sent_at", sa.DateTime(), nullable=True),
        sa.Column("valid_until", sa.Date(), nullable=True),
        sa.Column("terms", sa.String(), nullable=False),
        sa.Column("message", sa.String(), nullable=False),
        sa.Column("rates", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("made_by", sa.String(), nullable=False),
        sa.CheckConstraint("position > 0", name=op.f("ck_quote_version_position_above_zero")),
        sa.CheckConstraint(
            "validity_days_count > 0", name=op.f("ck_quote_version_validity_days_count_above_zero")
        ),
        sa.ForeignKeyConstraint(
            ["quote_number"], ["quote.number"], name=op.f("fk_quote_version_quote_number_quote")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_quote_version")),
        sa.UniqueConstraint(
            "quote_number", "position", name=op.f("uq_quote_version_quote_number_position")
        ),
    )
    op.create_table(
        "quote_line",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("quote_version_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("part_number", sa.String(), nullable=False),
        sa.Column("revision_label", sa.String(), nullable=False),
        sa.Column("bend_sequence_id", sa.Integer(), nullable=True),
        sa.Column("job_number", sa.String(), nullable=True),
        sa.Column("won_quantity_count", sa.Integer(), nullable=True),
        sa.Column("wish", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("worked", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("findings", sa.JSON(none_as_null=True), nullable=False),
        sa.CheckConstraint("position > 0", name=op.f("ck_quote_line_position_above_zero")),
        sa.CheckConstraint(
            "won_quantity_count > 0", name=op.f("ck_quote_line_won_quantity_count_above_zero")
        ),
        sa.ForeignKeyConstraint(
            ["bend_sequence_id"],
            ["bend_sequence.id"],
            name=op.f("fk_quote_line_bend_sequence_id_bend_sequence"),
        ),
        sa.ForeignKeyConstraint(
            ["job_number"], ["job.number"], name=op.f("fk_quote_line_job_number_job")
        ),
        sa.ForeignKeyConstraint(
            ["part_number", "revision_label"],
            ["revision.part_number", "revision.label"],
            name=op.f("fk_quote_line_part_number_revision_label_revision"),
        ),
        sa.ForeignKeyConstraint(
            ["quote_version_id"],
            ["quote_version.id"],
            name=op.f("fk_quote_line_quote_version_id_quote_version"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_quote_line")),
        sa.UniqueConstraint(
            "quote_version_id", "position", name=op.f("uq_quote_line_quote_version_id_position")
        ),
    )
    with op.batch_alter_table("quote_line", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_quote_line_job_number"), ["job_number"], unique=False)
        batch_op.create_index(
            batch_op.f("ix_quote_line_part_number"), ["part_number"], unique=False
        )

    op.create_table(
        "quote_break",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("quote_line_id", sa.Integer(), nullable=False),
        sa.Column("quantity_count", sa.Integer(), nullable=False),
        sa.Column("unit_price_minor", sa.Integer(), nullable=False),
        sa.Column("total_minor", sa.Integer(), nullable=False),
        sa.Column("rounding_minor", sa.Integer(), nullable=False),
        sa.Column("cost_minor", sa.Integer(), nullable=False),
        sa.Column("cost_low_minor", sa.Integer(), nullable=False),
        sa.Column("cost_high_minor", sa.Integer(), nullable=False),
        sa.Column("sheets_count", sa.Integer(), nullable=False),
        sa.Column("used_ratio", sa.Float(), nullable=True),
        sa.Column("brake_min", sa.Float(), nullable=False),
        sa.Column("cut_min", sa.Float(), nullable=False),
        sa.Column("minimum_applied", sa.Boolean(), nullable=False),
        sa.Column("explained", sa.JSON(none_as_null=True), nullable=False),
        sa.CheckConstraint("brake_min >= 0", name=op.f("ck_quote_break_brake_min_not_below_zero")),
        sa.CheckConstraint("cut_min >= 0", name=op.f("ck_quote_break_cut_min_not_below_zero")),
        sa.CheckConstraint(
            "quantity_count > 0", name=op.f("ck_quote_break_quantity_count_above_zero")
        ),
        sa.CheckConstraint(
            "sheets_count >= 0", name=op.f("ck_quote_break_sheets_count_not_below_zero")
        ),
        sa.CheckConstraint(
            "total_minor >= 0", name=op.f("ck_quote_break_total_minor_not_below_zero")
        ),
        sa.CheckConstraint(
            "unit_price_minor >= 0", name=op.f("ck_quote_break_unit_price_minor_not_below_zero")
        ),
        sa.ForeignKeyConstraint(
            ["quote_line_id"],
            ["quote_line.id"],
            name=op.f("fk_quote_break_quote_line_id_quote_line"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_quote_break")),
        sa.UniqueConstraint(
            "quote_line_id",
            "quantity_count",
            name=op.f("uq_quote_break_quote_line_id_quantity_count"),
        ),
    )


def downgrade() -> None:
    op.drop_table("quote_break")
    with op.batch_alter_table("quote_line", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_quote_line_part_number"))
        batch_op.drop_index(batch_op.f("ix_quote_line_job_number"))

    op.drop_table("quote_line")
    op.drop_table("quote_version")
    with op.batch_alter_table("quote", schema=None) as batch_op:
        batch_op.drop_index("ix_quote_state_changed_at")
        batch_op.drop_index(batch_op.f("ix_quote_order_number"))
        batch_op.drop_index(batch_op.f("ix_quote_customer_code"))

    op.drop_table("quote")
    with op.batch_alter_table("sheet_price", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_sheet_price_material_code"))

    op.drop_table("sheet_price")
    op.drop_table("cut_speed")
