"""what the planner was asked, kept orders, tolerances, and other sheets than planned

Revision: 0003
Follows: 0002
"""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "planning",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("part_number", sa.String(), nullable=False),
        sa.Column("revision_label", sa.String(), nullable=False),
        sa.Column("bend_sequence_id", sa.Integer(), nullable=True),
        sa.Column("wish", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("outcome", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("trouble", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("spent_s", sa.Float(), nullable=False),
        sa.Column("made_by", sa.String(), nullable=False),
        sa.CheckConstraint(
            "kind IN ('plan', 'alternative', 'worth')", name=op.f("ck_planning_kind_known")
        ),
        sa.CheckConstraint(
            "state IN ('running', 'planned', 'blocked', 'found', 'cancelled', 'failed')",
            name=op.f("ck_planning_state_known"),
        ),
        sa.CheckConstraint("spent_s >= 0", name=op.f("ck_planning_spent_s_not_below_zero")),
        sa.ForeignKeyConstraint(
            ["bend_sequence_id"],
            ["bend_sequence.id"],
            name=op.f("fk_planning_bend_sequence_id_bend_sequence"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_planning")),
    )
    with op.batch_alter_table("planning", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_planning_bend_sequence_id"), ["bend_sequence_id"], unique=False
        )
        batch_op.create_index(batch_op.f("ix_planning_part_number"), ["part_number"], unique=False)

    op.create_table(
        "tolerance",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("part_number", sa.String(), nullable=False),
        sa.Column("revision_label", sa.String(), nullable=False),
        sa.Column("tolerance_class", sa.String(), nullable=False),
        sa.Column("marked", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("made_by", sa.String(), nullable=False),
        sa.CheckConstraint(
            "tolerance_class IN ('f', 'm', 'c', 'v')",
            name=op.f("ck_tolerance_tolerance_class_known"),
        ),
        sa.ForeignKeyConstraint(
            ["part_number", "revision_label"],
            ["revision.part_number", "revision.label"],
            name=op.f("fk_tolerance_part_number_revision_label_revision"),
        ),
        sa.PrimaryKeyConstraint("part_number", "revision_label", name=op.f("pk_tolerance")),
    )

    with op.batch_alter_table("bend_sequence", schema=None) as batch_op:
        batch_op.add_column(sa.Column("superseded_by_id", sa.Integer(), nullable=True))
        batch_op.add_column(sa.Column("superseded_at", sa.DateTime(), nullable=True))
        batch_op.add_column(
            sa.Column(
                "arrangement", sa.JSON(none_as_null=True), server_default="[]", nullable=False
            )
        )
        batch_op.add_column(
            sa.Column("wishes", sa.JSON(none_as_null=True), server_default="{}", nullable=False)
        )
        batch_op.add_column(
            sa.Column("dimensions", sa.JSON(none_as_null=True), server_default="[]", nullable=False)
        )
        batch_op.create_foreign_key(
            batch_op.f("fk_bend_sequence_superseded_by_id_bend_sequence"),
            "bend_sequence",
            ["superseded_by_id"],
            ["id"],
        )

    op.add_column(
        "setup",
        sa.Column("findings", sa.JSON(none_as_null=True), server_default="[]", nullable=False),
    )
    op.add_column("setup_step", sa.Column("sheet_x_mm", sa.Float(), nullable=True))
    op.add_column("setup_step", sa.Column("sheet_depth_mm", sa.Float(), nullable=True))
    op.add_column(
        "setup_step",
        sa.Column("findings", sa.JSON(none_as_null=True), server_default="[]", nullable=False),
    )


def downgrade() -> None:
    op.drop_column("setup_step", "findings")
    op.drop_column("setup_step", "sheet_depth_mm")
    op.drop_column("setup_step", "sheet_x_mm")
    op.drop_column("setup", "findings")

    with op.batch_alter_table("bend_sequence", schema=None) as batch_op:
        batch_op.drop_constraint(
            batch_op.f("fk_bend_sequence_superseded_by_id_bend_sequence"), type_="foreignkey"
        )
        batch_op.drop_column("dimensions")
        batch_op.drop_column("wishes")
        batch_op.drop_column("arrangement")
        batch_op.drop_column("superseded_at")
        batch_op.drop_column("superseded_by_id")

    op.drop_table("tolerance")
    with op.batch_alter_table("planning", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_planning_part_number"))
        batch_op.drop_index(batch_op.f("ix_planning_bend_sequence_id"))

    op.drop_table("planning")
