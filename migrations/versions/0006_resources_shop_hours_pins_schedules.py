"""resources, the shop's hours, pins, schedules and their placements

Revision: 0006
Follows: 0005
"""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "closed_day",
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("day", name=op.f("pk_closed_day")),
    )
    op.create_table(
        "schedule",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("title", sa.String(), nullable=False),
        sa.Column("planned_from_at", sa.DateTime(), nullable=False),
        sa.Column("based_on_id", sa.Integer(), nullable=True),
        sa.Column("wishes", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("outcome", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("trouble", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("objective_min", sa.Float(), nullable=False),
        sa.Column("bound_min", sa.Float(), nullable=False),
        sa.Column("changeover_min", sa.Float(), nullable=False),
        sa.Column("changeovers_count", sa.Integer(), nullable=False),
        sa.Column("late_count", sa.Integer(), nullable=False),
        sa.Column("method", sa.String(), nullable=False),
        sa.Column("made_by", sa.String(), nullable=False),
        sa.CheckConstraint(
            "state IN ('solving', 'proposed', 'kept', 'replaced', 'dropped', 'failed')",
            name=op.f("ck_schedule_state_known"),
        ),
        sa.CheckConstraint("bound_min >= 0", name=op.f("ck_schedule_bound_min_not_below_zero")),
        sa.CheckConstraint(
            "changeover_min >= 0", name=op.f("ck_schedule_changeover_min_not_below_zero")
        ),
        sa.CheckConstraint(
            "changeovers_count >= 0", name=op.f("ck_schedule_changeovers_count_not_below_zero")
        ),
        sa.CheckConstraint(
            "objective_min >= 0", name=op.f("ck_schedule_objective_min_not_below_zero")
        ),
        sa.ForeignKeyConstraint(
            ["based_on_id"], ["schedule.id"], name=op.f("fk_schedule_based_on_id_schedule")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_schedule")),
    )
    with op.batch_alter_table("schedule", schema=None) as batch_op:
        batch_op.create_index("ix_schedule_state", ["state", "id"], unique=False)

    op.create_table(
        "shift",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("weekday", sa.String(), nullable=False),
        sa.Column("start_min", sa.Integer(), nullable=False),
        sa.Column("end_min", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "weekday IN ('monday', 'tuesday', 'wednesday', 'thursday', 'friday', 'saturday', 'sunday')",
            name=op.f("ck_shift_weekday_known"),
        ),
        sa.CheckConstraint("end_min BETWEEN 0 AND 1439", name=op.f("ck_shift_end_in_day")),
        sa.CheckConstraint("start_min BETWEEN 0 AND 1439", name=op.f("ck_shift_start_in_day")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_shift")),
    )
    op.create_table(
        "resource",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("does", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("brake_code", sa.String(), nullable=True),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "kind IN ('brake', 'cutter', 'other')", name=op.f("ck_resource_kind_known")
        ),
        sa.CheckConstraint("length(code) <= 40", name=op.f("ck_resource_code_not_too_long")),
        sa.ForeignKeyConstraint(
            ["brake_code"], ["brake.code"], name=op.f("fk_resource_brake_code_brake")
        ),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_resource")),
        sa.UniqueConstraint("brake_code", name=op.f("uq_resource_brake_code")),
    )
    op.create_table(
        "hours",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("resource_code", sa.String(), nullable=True),
        sa.Column("start_at", sa.DateTime(), nullable=False),
        sa.Column("end_at", sa.DateTime(), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.Column("made_by", sa.String(), nullable=False),
        sa.CheckConstraint("kind IN ('open', 'closed')", name=op.f("ck_hours_kind_known")),
        sa.CheckConstraint("end_at > start_at", name=op.f("ck_hours_end_after_start")),
        sa.ForeignKeyConstraint(
            ["resource_code"], ["resource.code"], name=op.f("fk_hours_resource_code_resource")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_hours")),
    )
    op.create_table(
        "pin",
        sa.Column("job_number", sa.String(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("hot", sa.Boolean(), nullable=False),
        sa.Column("resource_code", sa.String(), nullable=True),
        sa.Column("start_at", sa.DateTime(), nullable=True),
        sa.Column("made_by", sa.String(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(["job_number"], ["job.number"], name=op.f("fk_pin_job_number_job")),
        sa.ForeignKeyConstraint(
            ["resource_code"], ["resource.code"], name=op.f("fk_pin_resource_code_resource")
        ),
        sa.PrimaryKeyConstraint("job_number", "position", name=op.f("pk_pin")),
    )
    op.create_table(
        "placement",
        sa.Column("schedule_id", sa.Integer(), nullable=False),
        sa.Column("job_number", sa.String(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("resource_code", sa.String(), nullable=False),
        sa.Column("family", sa.String(), nullable=False),
        sa.Column("changeover_at", sa.DateTime(), nullable=False),
        sa.Column("changeover_min", sa.Float(), nullable=False),
        sa.Column("start_at", sa.DateTime(), nullable=False),
        sa.Column("finish_at", sa.DateTime(), nullable=False),
        sa.Column("planned_min", sa.Float(), nullable=False),
        sa.Column("due_at", sa.DateTime(), nullable=True),
        sa.Column("late_min", sa.Float(), nullable=False),
        sa.Column("pinned", sa.Boolean(), nullable=False),
        sa.Column("hot", sa.Boolean(), nullable=False),
        sa.Column("running", sa.Boolean(), nullable=False),
        sa.CheckConstraint(
            "changeover_min >= 0", name=op.f("ck_placement_changeover_min_not_below_zero")
        ),
        sa.CheckConstraint("late_min >= 0", name=op.f("ck_placement_late_min_not_below_zero")),
        sa.CheckConstraint("planned_min > 0", name=op.f("ck_placement_planned_min_above_zero")),
        sa.ForeignKeyConstraint(
            ["job_number"], ["job.number"], name=op.f("fk_placement_job_number_job")
        ),
        sa.ForeignKeyConstraint(
            ["resource_code"], ["resource.code"], name=op.f("fk_placement_resource_code_resource")
        ),
        sa.ForeignKeyConstraint(
            ["schedule_id"],
            ["schedule.id"],
            name=op.f("fk_placement_schedule_id_schedule"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("schedule_id", "job_number", "position", name=op.f("pk_placement")),
    )
    with op.batch_alter_table("placement", schema=None) as batch_op:
        batch_op.create_index("ix_placement_job", ["job_number"], unique=False)
        batch_op.create_index(
            "ix_placement_resource", ["schedule_id", "resource_code", "start_at"], unique=False
        )


def downgrade() -> None:
    with op.batch_alter_table("placement", schema=None) as batch_op:
        batch_op.drop_index("ix_placement_resource")
        batch_op.drop_index("ix_placement_job")

    op.drop_table("placement")
    op.drop_table("pin")
    op.drop_table("hours")
    op.drop_table("resource")
    op.drop_table("shift")
    with op.batch_alter_table("schedule", schema=None) as batch_op:
        batch_op.drop_index("ix_schedule_state")

    op.drop_table("schedule")
    op.drop_table("closed_day")
