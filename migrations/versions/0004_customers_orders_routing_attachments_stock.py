"""customers orders routing attachments stock moves

Revision: 0004
Follows: 0003
"""

import re
from datetime import UTC, datetime

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "attachment",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("noun", sa.String(), nullable=False),
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("content_sha256", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("media_type", sa.String(), nullable=False),
        sa.Column("size_bytes", sa.Integer(), nullable=False),
        sa.Column("certificate", sa.Boolean(), nullable=False),
        sa.Column("added_by", sa.String(), nullable=False),
        sa.Column("added_at", sa.DateTime(), nullable=False),
        sa.Column("removed_at", sa.DateTime(), nullable=True),
        sa.CheckConstraint(
            "noun IN ('part', 'job', 'order', 'customer', 'lot')",
            name=op.f("ck_attachment_noun_known"),
        ),
        sa.CheckConstraint("length(name) <= 200", name=op.f("ck_attachment_name_not_too_long")),
        sa.CheckConstraint("size_bytes >= 0", name=op.f("ck_attachment_size_bytes_not_below_zero")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_attachment")),
    )
    with op.batch_alter_table("attachment", schema=None) as batch_op:
        batch_op.create_index("ix_attachment_about", ["noun", "key"], unique=False)
        batch_op.create_index(
            batch_op.f("ix_attachment_content_sha256"), ["content_sha256"], unique=False
        )

    op.create_table(
        "customer",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("contact", sa.String(), nullable=False),
        sa.Column("email", sa.String(), nullable=False),
        sa.Column("phone", sa.String(), nullable=False),
        sa.Column("address", sa.String(), nullable=False),
        sa.Column("currency", sa.String(), nullable=False),
        sa.Column("terms", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.CheckConstraint("length(code) <= 40", name=op.f("ck_customer_code_not_too_long")),
        sa.CheckConstraint("length(currency) <= 3", name=op.f("ck_customer_currency_not_too_long")),
        sa.CheckConstraint("length(name) <= 200", name=op.f("ck_customer_name_not_too_long")),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_customer")),
    )
    with op.batch_alter_table("customer", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_customer_name"), ["name"], unique=False)

    op.create_table(
        "order",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("number", sa.String(), nullable=False),
        sa.Column("customer_code", sa.String(), nullable=False),
        sa.Column("their_reference", sa.String(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("asked_at", sa.DateTime(), nullable=True),
        sa.Column("ordered_at", sa.DateTime(), nullable=True),
        sa.Column("due_at", sa.DateTime(), nullable=True),
        sa.Column("note", sa.String(), nullable=False),
        sa.CheckConstraint(
            "state IN ('asked', 'priced', 'won', 'ready', 'running', 'held', 'made', 'gone', 'lost')",
            name=op.f("ck_order_state_known"),
        ),
        sa.CheckConstraint("length(number) <= 40", name=op.f("ck_order_number_not_too_long")),
        sa.CheckConstraint(
            "length(their_reference) <= 80", name=op.f("ck_order_their_reference_not_too_long")
        ),
        sa.ForeignKeyConstraint(
            ["customer_code"], ["customer.code"], name=op.f("fk_order_customer_code_customer")
        ),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_order")),
    )
    with op.batch_alter_table("order", schema=None) as batch_op:
        batch_op.create_index("ix_order_customer", ["customer_code", "asked_at"], unique=False)
        batch_op.create_index(
            "ix_order_state_due", ["archived_at", "state", "due_at", "number"], unique=False
        )
        batch_op.create_index(
            batch_op.f("ix_order_their_reference"), ["their_reference"], unique=False
        )

    op.create_table(
        "reorder_point",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("material_code", sa.String(), nullable=False),
        sa.Column("thickness_mm", sa.Float(), nullable=False),
        sa.Column("sheet_width_mm", sa.Float(), nullable=False),
        sa.Column("sheet_length_mm", sa.Float(), nullable=False),
        sa.Column("least_count", sa.Integer(), nullable=False),
        sa.Column("up_to_count", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "least_count >= 0", name=op.f("ck_reorder_point_least_count_not_below_zero")
        ),
        sa.CheckConstraint(
            "sheet_length_mm > 0", name=op.f("ck_reorder_point_sheet_length_mm_above_zero")
        ),
        sa.CheckConstraint(
            "sheet_width_mm > 0", name=op.f("ck_reorder_point_sheet_width_mm_above_zero")
        ),
        sa.CheckConstraint(
            "thickness_mm > 0", name=op.f("ck_reorder_point_thickness_mm_above_zero")
        ),
        sa.CheckConstraint("up_to_count > 0", name=op.f("ck_reorder_point_up_to_count_above_zero")),
        sa.ForeignKeyConstraint(
            ["material_code"],
            ["material.code"],
            name=op.f("fk_reorder_point_material_code_material"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reorder_point")),
    )
    with op.batch_alter_table("reorder_point", schema=None) as batch_op:
        batch_op.create_index(
            "uq_reorder_point_size",
            ["material_code", "thickness_mm", "sheet_width_mm", "sheet_length_mm"],
            unique=True,
        )

    op.create_table(
        "operation",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job_number", sa.String(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("words", sa.String(), nullable=False),
        sa.Column("estimated_s", sa.Float(), nullable=True),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("done_at", sa.DateTime(), nullable=True),
        sa.Column("done_by", sa.String(), nullable=False),
        sa.CheckConstraint(
            "kind IN ('cut', 'bend', 'weld', 'finish', 'bought_out')",
            name=op.f("ck_operation_kind_known"),
        ),
        sa.CheckConstraint("state IN ('waiting', 'done')", name=op.f("ck_operation_state_known")),
        sa.CheckConstraint(
            "estimated_s >= 0", name=op.f("ck_operation_estimated_s_not_below_zero")
        ),
        sa.ForeignKeyConstraint(
            ["job_number"], ["job.number"], name=op.f("fk_operation_job_number_job")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_operation")),
    )
    with op.batch_alter_table("operation", schema=None) as batch_op:
        batch_op.create_index("ix_operation_job", ["job_number", "position"], unique=False)

    op.create_table(
        "stock_move",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("lot_code", sa.String(), nullable=False),
        sa.Column("sheets_count", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("job_number", sa.String(), nullable=True),
        sa.Column("price_per_kg", sa.String(), nullable=True),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("moved_by", sa.String(), nullable=False),
        sa.CheckConstraint(
            "kind IN ('received', 'reserved', 'released', 'consumed', 'remnant', 'counted', 'scrapped')",
            name=op.f("ck_stock_move_kind_known"),
        ),
        sa.CheckConstraint(
            "sheets_count >= 0", name=op.f("ck_stock_move_sheets_count_not_below_zero")
        ),
        sa.ForeignKeyConstraint(
            ["job_number"], ["job.number"], name=op.f("fk_stock_move_job_number_job")
        ),
        sa.ForeignKeyConstraint(
            ["lot_code"], ["lot.code"], name=op.f("fk_stock_move_lot_code_lot")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stock_move")),
    )
    with op.batch_alter_table("stock_move", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_stock_move_job_number"), ["job_number"], unique=False)
        batch_op.create_index("ix_stock_move_lot", ["lot_code", "at"], unique=False)

    with op.batch_alter_table("job", schema=None) as batch_op:
        batch_op.add_column(sa.Column("order_number", sa.String(), nullable=True))
        batch_op.add_column(sa.Column("position", sa.Integer(), server_default="1", nullable=False))
        batch_op.add_column(sa.Column("customer_code", sa.String(), nullable=True))
        batch_op.add_column(sa.Column("moved_at", sa.DateTime(), nullable=True))
        batch_op.add_column(sa.Column("held_from", sa.String(), server_default="", nullable=False))
        batch_op.add_column(
            sa.Column("lost_reason", sa.String(), server_default="", nullable=False)
        )
        batch_op.add_column(sa.Column("made_at", sa.DateTime(), nullable=True))
        batch_op.add_column(sa.Column("gone_at", sa.DateTime(), nullable=True))
        batch_op.add_column(sa.Column("material_due_at", sa.DateTime(), nullable=True))
        batch_op.add_column(
            sa.Column("hot", sa.Boolean(), server_default=sa.false(), nullable=False)
        )
        batch_op.add_column(sa.Column("unit_price_minor", sa.Integer(), nullable=True))
        batch_op.add_column(sa.Column("finish", sa.String(), server_default="", nullable=False))
        batch_op.add_column(
            sa.Column(
                "short_delivery_agreed", sa.Boolean(), server_default=sa.false(), nullable=False
            )
        )
        batch_op.add_column(
            sa.Column(
                "old_revision_agreed", sa.Boolean(), server_default=sa.false(), nullable=False
            )
        )
        batch_op.add_column(sa.Column("repeat_of", sa.String(), nullable=True))
        batch_op.add_column(sa.Column("made_with", sa.JSON(none_as_null=True), nullable=True))
        batch_op.drop_index(batch_op.f("ix_job_part_number"))
        batch_op.drop_index(batch_op.f("ix_job_customer"))

    name_customers()

    with op.batch_alter_table("job", schema=None) as batch_op:
        batch_op.create_index("ix_job_customer", ["customer_code", "due_at"], unique=False)
        batch_op.drop_index(batch_op.f("ix_job_state_due"))
        batch_op.create_index(
            "ix_job_state_due", ["archived_at", "state", "due_at", "number"], unique=False
        )
        batch_op.create_index("ix_job_due", ["archived_at", "due_at", "number"], unique=False)
        batch_op.create_index(batch_op.f("ix_job_order_number"), ["order_number"], unique=False)
        batch_op.create_index("ix_job_part", ["part_number", "created_at"], unique=False)
        batch_op.create_foreign_key(
            batch_op.f("fk_job_customer_code_customer"), "customer", ["customer_code"], ["code"]
        )
        batch_op.create_foreign_key(
            batch_op.f("fk_job_order_number_order"), "order", ["order_number"], ["number"]
        )
        batch_op.create_foreign_key(
            batch_op.f("fk_job_repeat_of_job"), "job", ["repeat_of"], ["number"]
        )
        batch_op.drop_column("customer")
        batch_op.create_check_constraint(op.f("ck_job_position_above_zero"), "position > 0")
        batch_op.create_check_constraint(
            op.f("ck_job_unit_price_minor_not_below_zero"), "unit_price_minor >= 0"
        )

    with op.batch_alter_table("lot", schema=None) as batch_op:
        batch_op.add_column(sa.Column("sheet_length_mm", sa.Float(), nullable=True))
        batch_op.add_column(sa.Column("parent_code", sa.String(), nullable=True))
        batch_op.drop_index(batch_op.f("ix_lot_material_code"))
        batch_op.create_check_constraint(
            op.f("ck_lot_sheet_length_mm_above_zero"), "sheet_length_mm > 0"
        )
        batch_op.create_index(batch_op.f("ix_lot_parent_code"), ["parent_code"], unique=False)
        batch_op.create_index("ix_lot_sheet", ["material_code", "thickness_mm"], unique=False)
        batch_op.create_foreign_key(
            batch_op.f("fk_lot_parent_code_lot"), "lot", ["parent_code"], ["code"]
        )


def name_customers() -> None:
    """Every name a job had becomes a customer with a code made of it."""
    connection = op.get_bind()
    names = connection.execute(
        sa.text("SELECT DISTINCT customer FROM job WHERE customer <> '' ORDER BY customer")
    ).scalars()
    now = datetime.now(UTC).replace(tzinfo=None).isoformat(sep=" ")
    taken: set[str] = set()
    for name in list(names):
        plain = re.sub("[^A-Z0-9]+", "-", name.upper()).strip("-")[:36] or "CUSTOMER"
        code, place = plain, 2
        while code in taken:
            code, place = f"{plain}-{place}", place + 1
        taken.add(code)
        connection.execute(
            sa.text(
                "INSERT INTO customer (version, created_at, changed_at, code, name, contact, email,"
                " phone, address, currency, terms, note) VALUES (1, :now, :now, :code, :name, '',"
                " '', '', '', '', '', '')"
            ),
            {"now": now, "code": code, "name": name[:200]},
        )
        connection.execute(
            sa.text("UPDATE job SET customer_code = :code WHERE customer = :name"),
            {"code": code, "name": name},
        )


def downgrade() -> None:
    with op.batch_alter_table("lot", schema=None) as batch_op:
        batch_op.drop_constraint(batch_op.f("fk_lot_parent_code_lot"), type_="foreignkey")
        batch_op.drop_index("ix_lot_sheet")
        batch_op.drop_index(batch_op.f("ix_lot_parent_code"))
        batch_op.create_index(batch_op.f("ix_lot_material_code"), ["material_code"], unique=False)
        batch_op.drop_constraint(op.f("ck_lot_sheet_length_mm_above_zero"), type_="check")
        batch_op.drop_column("parent_code")
        batch_op.drop_column("sheet_length_mm")

    with op.batch_alter_table("job", schema=None) as batch_op:
        batch_op.add_column(sa.Column("customer", sa.String(), server_default="", nullable=False))

    op.execute(
        "UPDATE job SET customer = coalesce("
        "(SELECT name FROM customer WHERE code = job.customer_code), '')"
    )
    with op.batch_alter_table("job", schema=None) as batch_op:
        batch_op.drop_constraint(batch_op.f("fk_job_repeat_of_job"), type_="foreignkey")
        batch_op.drop_constraint(batch_op.f("fk_job_order_number_order"), type_="foreignkey")
        batch_op.drop_constraint(batch_op.f("fk_job_customer_code_customer"), type_="foreignkey")
        batch_op.drop_index("ix_job_part")
        batch_op.drop_index(batch_op.f("ix_job_order_number"))
        batch_op.drop_index("ix_job_due")
        batch_op.drop_index("ix_job_state_due")
        batch_op.create_index(batch_op.f("ix_job_state_due"), ["state", "due_at"], unique=False)
        batch_op.drop_index("ix_job_customer")
        batch_op.create_index(batch_op.f("ix_job_customer"), ["customer"], unique=False)
        batch_op.create_index(batch_op.f("ix_job_part_number"), ["part_number"], unique=False)
        batch_op.drop_constraint(op.f("ck_job_position_above_zero"), type_="check")
        batch_op.drop_constraint(op.f("ck_job_unit_price_minor_not_below_zero"), type_="check")
        batch_op.drop_column("made_with")
        batch_op.drop_column("repeat_of")
        batch_op.drop_column("old_revision_agreed")
        batch_op.drop_column("short_delivery_agreed")
        batch_op.drop_column("finish")
        batch_op.drop_column("unit_price_minor")
        batch_op.drop_column("hot")
        batch_op.drop_column("material_due_at")
        batch_op.drop_column("gone_at")
        batch_op.drop_column("made_at")
        batch_op.drop_column("lost_reason")
        batch_op.drop_column("held_from")
        batch_op.drop_column("moved_at")
        batch_op.drop_column("customer_code")
        batch_op.drop_column("position")
        batch_op.drop_column("order_number")

    with op.batch_alter_table("stock_move", schema=None) as batch_op:
        batch_op.drop_index("ix_stock_move_lot")
        batch_op.drop_index(batch_op.f("ix_stock_move_job_number"))

    op.drop_table("stock_move")
    with op.batch_alter_table("operation", schema=None) as batch_op:
        batch_op.drop_index("ix_operation_job")

    op.drop_table("operation")
    with op.batch_alter_table("reorder_point", schema=None) as batch_op:
        batch_op.drop_index("uq_reorder_point_size")

    op.drop_table("reorder_point")
    with op.batch_alter_table("order", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_order_their_reference"))
        batch_op.drop_index("ix_order_state_due")
        batch_op.drop_index("ix_order_customer")

    op.drop_table("order")
    with op.batch_alter_table("customer", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_customer_name"))

    op.drop_table("customer")
    with op.batch_alter_table("attachment", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_attachment_content_sha256"))
        batch_op.drop_index("ix_attachment_about")

    op.drop_table("attachment")
