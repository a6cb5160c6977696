"""what the brake side learns, logs and looks after

Revision: 0002
Follows: 0001
"""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "learned_bend",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("family", sa.String(), nullable=False),
        sa.Column("material_code", sa.String(), nullable=False),
        sa.Column("thickness_mm", sa.Float(), nullable=False),
        sa.Column("v_opening_mm", sa.Float(), nullable=False),
        sa.Column("lots", sa.JSON(none_as_null=True), nullable=False),
        sa.CheckConstraint(
            "thickness_mm > 0", name=op.f("ck_learned_bend_thickness_mm_above_zero")
        ),
        sa.CheckConstraint(
            "v_opening_mm > 0", name=op.f("ck_learned_bend_v_opening_mm_above_zero")
        ),
        sa.ForeignKeyConstraint(
            ["material_code"],
            ["material.code"],
            name=op.f("fk_learned_bend_material_code_material"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_learned_bend")),
        sa.UniqueConstraint(
            "material_code",
            "thickness_mm",
            "v_opening_mm",
            name=op.f("uq_learned_bend_material_code_thickness_mm_v_opening_mm"),
        ),
    )
    with op.batch_alter_table("learned_bend", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_learned_bend_family"), ["family"], unique=False)
        batch_op.create_index(
            batch_op.f("ix_learned_bend_material_code"), ["material_code"], unique=False
        )

    op.create_table(
        "care_task",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("brake_code", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("every_days", sa.Integer(), nullable=True),
        sa.Column("every_h", sa.Float(), nullable=True),
        sa.Column("source", sa.String(), nullable=False),
        sa.CheckConstraint("every_days > 0", name=op.f("ck_care_task_every_days_above_zero")),
        sa.CheckConstraint("every_h > 0", name=op.f("ck_care_task_every_h_above_zero")),
        sa.CheckConstraint("length(name) <= 120", name=op.f("ck_care_task_name_not_too_long")),
        sa.ForeignKeyConstraint(
            ["brake_code"], ["brake.code"], name=op.f("fk_care_task_brake_code_brake")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_care_task")),
    )
    with op.batch_alter_table("care_task", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_care_task_brake_code"), ["brake_code"], unique=False)

    op.create_table(
        "hour_reading",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("brake_code", sa.String(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("meter_h", sa.Float(), nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.CheckConstraint("meter_h >= 0", name=op.f("ck_hour_reading_meter_h_not_below_zero")),
        sa.ForeignKeyConstraint(
            ["brake_code"], ["brake.code"], name=op.f("fk_hour_reading_brake_code_brake")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_hour_reading")),
    )
    with op.batch_alter_table("hour_reading", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_hour_reading_brake_code"), ["brake_code"], unique=False
        )

    op.create_table(
        "care_entry",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("care_task_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.Column("meter_h", sa.Float(), nullable=True),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("undone", sa.Boolean(), nullable=False),
        sa.CheckConstraint("meter_h >= 0", name=op.f("ck_care_entry_meter_h_not_below_zero")),
        sa.ForeignKeyConstraint(
            ["care_task_id"], ["care_task.id"], name=op.f("fk_care_entry_care_task_id_care_task")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_care_entry")),
    )
    with op.batch_alter_table("care_entry", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_care_entry_care_task_id"), ["care_task_id"], unique=False
        )

    op.create_table(
        "program",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("brake_code", sa.String(), nullable=False),
        sa.Column("program", sa.Integer(), nullable=False),
        sa.Column("bend_sequence_id", sa.Integer(), nullable=True),
        sa.Column("setup_id", sa.Integer(), nullable=True),
        sa.Column("part_number", sa.String(), nullable=False),
        sa.Column("revision_label", sa.String(), nullable=False),
        sa.Column("sequence_label", sa.String(), nullable=False),
        sa.Column("which", sa.Integer(), nullable=False),
        sa.Column("many", sa.Integer(), nullable=False),
        sa.Column("steps_count", sa.Integer(), nullable=False),
        sa.Column("digits", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("keyed_by", sa.String(), nullable=False),
        sa.Column("keyed_at", sa.DateTime(), nullable=False),
        sa.Column("ended_at", sa.DateTime(), nullable=True),
        sa.Column("replaced_by", sa.String(), nullable=False),
        sa.CheckConstraint("program >= 1", name=op.f("ck_program_program_counts_from_one")),
        sa.CheckConstraint("steps_count >= 0", name=op.f("ck_program_steps_count_not_below_zero")),
        sa.CheckConstraint("which >= 1 AND which <= many", name=op.f("ck_program_which_of_many")),
        sa.ForeignKeyConstraint(
            ["bend_sequence_id"],
            ["bend_sequence.id"],
            name=op.f("fk_program_bend_sequence_id_bend_sequence"),
        ),
        sa.ForeignKeyConstraint(
            ["brake_code"], ["brake.code"], name=op.f("fk_program_brake_code_brake")
        ),
        sa.ForeignKeyConstraint(["setup_id"], ["setup.id"], name=op.f("fk_program_setup_id_setup")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_program")),
    )
    with op.batch_alter_table("program", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_program_bend_sequence_id"), ["bend_sequence_id"], unique=False
        )
        batch_op.create_index("ix_program_now", ["brake_code", "ended_at", "program"], unique=False)

    op.create_table(
        "setup_evidence",
        sa.Column("setup_id", sa.Integer(), nullable=False),
        sa.Column("learned_bend_id", sa.Integer(), nullable=False),
        sa.Column("lot_code", sa.String(), nullable=False),
        sa.Column("evidence", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("surprise_ratio", sa.Float(), nullable=False),
        sa.Column("held_back", sa.Boolean(), nullable=False),
        sa.Column("confirmed_by", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(
            ["learned_bend_id"],
            ["learned_bend.id"],
            name=op.f("fk_setup_evidence_learned_bend_id_learned_bend"),
        ),
        sa.ForeignKeyConstraint(
            ["setup_id"],
            ["setup.id"],
            name=op.f("fk_setup_evidence_setup_id_setup"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("setup_id", "learned_bend_id", name=op.f("pk_setup_evidence")),
    )
    op.create_table(
        "first_article",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("run_id", sa.Integer(), nullable=False),
        sa.Column("job_number", sa.String(), nullable=True),
        sa.Column("part_number", sa.String(), nullable=False),
        sa.Column("revision_label", sa.String(), nullable=False),
        sa.Column("verdict", sa.String(), nullable=False),
        sa.Column("lines", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("facts", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("signed_by", sa.String(), nullable=False),
        sa.Column("signed_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint(
            "verdict IN ('good', 'not good', 'not measured')",
            name=op.f("ck_first_article_verdict_known"),
        ),
        sa.ForeignKeyConstraint(
            ["job_number"], ["job.number"], name=op.f("fk_first_article_job_number_job")
        ),
        sa.ForeignKeyConstraint(["run_id"], ["run.id"], name=op.f("fk_first_article_run_id_run")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_first_article")),
    )
    with op.batch_alter_table("first_article", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_first_article_job_number"), ["job_number"], unique=False
        )
        batch_op.create_index(
            batch_op.f("ix_first_article_part_number"), ["part_number"], unique=False
        )
        batch_op.create_index(batch_op.f("ix_first_article_run_id"), ["run_id"], unique=False)

    op.create_table(
        "measured_time",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("run_id", sa.Integer(), nullable=False),
        sa.Column("job_number", sa.String(), nullable=True),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("work_class", sa.String(), nullable=False),
        sa.Column("seconds_s", sa.Float(), nullable=False),
        sa.Column("parts_count", sa.Integer(), nullable=False),
        sa.Column("accepted", sa.Boolean(), nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.CheckConstraint(
            "kind IN ('bend', 'load', 'setup', 'tool_change', 'first_article', 'programming')",
            name=op.f("ck_measured_time_kind_known"),
        ),
        sa.CheckConstraint("parts_count > 0", name=op.f("ck_measured_time_parts_count_above_zero")),
        sa.CheckConstraint("seconds_s > 0", name=op.f("ck_measured_time_seconds_s_above_zero")),
        sa.ForeignKeyConstraint(
            ["job_number"], ["job.number"], name=op.f("fk_measured_time_job_number_job")
        ),
        sa.ForeignKeyConstraint(["run_id"], ["run.id"], name=op.f("fk_measured_time_run_id_run")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_measured_time")),
    )
    with op.batch_alter_table("measured_time", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_measured_time_job_number"), ["job_number"], unique=False
        )
        batch_op.create_index(batch_op.f("ix_measured_time_kind"), ["kind"], unique=False)
        batch_op.create_index(batch_op.f("ix_measured_time_run_id"), ["run_id"], unique=False)

    op.create_table(
        "note",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("request_key", sa.String(), nullable=True),
        sa.Column("run_id", sa.Integer(), nullable=False),
        sa.Column("job_number", sa.String(), nullable=True),
        sa.Column("part_number", sa.String(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=True),
        sa.Column("text", sa.String(), nullable=False),
        sa.Column("photo", sa.String(), nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.CheckConstraint("length(text) <= 1000", name=op.f("ck_note_text_not_too_long")),
        sa.ForeignKeyConstraint(
            ["job_number"], ["job.number"], name=op.f("fk_note_job_number_job")
        ),
        sa.ForeignKeyConstraint(["run_id"], ["run.id"], name=op.f("fk_note_run_id_run")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_note")),
        sa.UniqueConstraint("request_key", name=op.f("uq_note_request_key")),
    )
    with op.batch_alter_table("note", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_note_job_number"), ["job_number"], unique=False)
        batch_op.create_index(batch_op.f("ix_note_part_number"), ["part_number"], unique=False)
        batch_op.create_index(batch_op.f("ix_note_run_id"), ["run_id"], unique=False)

    op.create_table(
        "stoppage",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("brake_code", sa.String(), nullable=False),
        sa.Column("run_id", sa.Integer(), nullable=True),
        sa.Column("cause", sa.String(), nullable=False),
        sa.Column("words", sa.String(), nullable=False),
        sa.Column("moves_again", sa.Boolean(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.CheckConstraint("length(note) <= 1000", name=op.f("ck_stoppage_note_not_too_long")),
        sa.ForeignKeyConstraint(
            ["brake_code"], ["brake.code"], name=op.f("fk_stoppage_brake_code_brake")
        ),
        sa.ForeignKeyConstraint(["run_id"], ["run.id"], name=op.f("fk_stoppage_run_id_run")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stoppage")),
    )
    with op.batch_alter_table("stoppage", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_stoppage_brake_code"), ["brake_code"], unique=False)
        batch_op.create_index(batch_op.f("ix_stoppage_run_id"), ["run_id"], unique=False)

    op.add_column("run", sa.Column("held_state", sa.String(), server_default="", nullable=False))
    op.add_column("run", sa.Column("held_at", sa.DateTime(), nullable=True))
    op.add_column("run", sa.Column("phase_at", sa.DateTime(), nullable=True))
    op.add_column("run", sa.Column("counted_at", sa.DateTime(), nullable=True))
    op.add_column("run", sa.Column("rested_s", sa.Float(), server_default="0", nullable=False))
    op.add_column(
        "run",
        sa.Column("part_times_s", sa.JSON(none_as_null=True), server_default="[]", nullable=False),
    )

    op.add_column(
        "setup", sa.Column("measured_edges_mm", sa.JSON(none_as_null=True), nullable=True)
    )
    op.add_column("setup", sa.Column("die_turned", sa.Boolean(), nullable=True))
    op.add_column("setup", sa.Column("read_back", sa.JSON(none_as_null=True), nullable=True))

    op.add_column("setup_step", sa.Column("predicted_deg", sa.Float(), nullable=True))
    op.execute(  # a check beside the column, because SQLite adds none to a table that is there
        "ALTER TABLE setup_step ADD COLUMN come_from VARCHAR DEFAULT 'rule' NOT NULL "
        "CONSTRAINT ck_setup_step_come_from_known "
        "CHECK (come_from IN ('rule', 'learned', 'simple', 'hand'))"
    )

    op.add_column("trial", sa.Column("other_flange_mm", sa.Float(), nullable=True))
    op.add_column("trial", sa.Column("wanted_other_flange_mm", sa.Float(), nullable=True))
    op.add_column("trial", sa.Column("x_mm", sa.Float(), nullable=True))
    op.add_column("trial", sa.Column("nominal_thickness_mm", sa.Float(), nullable=True))
    op.add_column("trial", sa.Column("angle_tolerance_deg", sa.Float(), nullable=True))
    op.add_column("trial", sa.Column("flange_tolerance_mm", sa.Float(), nullable=True))
    op.add_column("trial", sa.Column("piece", sa.Integer(), nullable=True))
    op.add_column("trial", sa.Column("typed", sa.String(), server_default="", nullable=False))
    op.add_column("trial", sa.Column("foretold", sa.JSON(none_as_null=True), nullable=True))


def downgrade() -> None:
    op.drop_column("trial", "foretold")
    op.drop_column("trial", "typed")
    op.drop_column("trial", "piece")
    op.drop_column("trial", "flange_tolerance_mm")
    op.drop_column("trial", "angle_tolerance_deg")
    op.drop_column("trial", "nominal_thickness_mm")
    op.drop_column("trial", "x_mm")
    op.drop_column("trial", "wanted_other_flange_mm")
    op.drop_column("trial", "other_flange_mm")

    op.drop_column("setup_step", "come_from")
    op.drop_column("setup_step", "predicted_deg")

    op.drop_column("setup", "read_back")
    op.drop_column("setup", "die_turned")
    op.drop_column("setup", "measured_edges_mm")

    op.drop_column("run", "part_times_s")
    op.drop_column("run", "rested_s")
    op.drop_column("run", "counted_at")
    op.drop_column("run", "phase_at")
    op.drop_column("run", "held_at")
    op.drop_column("run", "held_state")

    with op.batch_alter_table("stoppage", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_stoppage_run_id"))
        batch_op.drop_index(batch_op.f("ix_stoppage_brake_code"))

    op.drop_table("stoppage")
    with op.batch_alter_table("note", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_note_run_id"))
        batch_op.drop_index(batch_op.f("ix_note_part_number"))
        batch_op.drop_index(batch_op.f("ix_note_job_number"))

    op.drop_table("note")
    with op.batch_alter_table("measured_time", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_measured_time_run_id"))
        batch_op.drop_index(batch_op.f("ix_measured_time_kind"))
        batch_op.drop_index(batch_op.f("ix_measured_time_job_number"))

    op.drop_table("measured_time")
    with op.batch_alter_table("first_article", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_first_article_run_id"))
        batch_op.drop_index(batch_op.f("ix_first_article_part_number"))
        batch_op.drop_index(batch_op.f("ix_first_article_job_number"))

    op.drop_table("first_article")
    op.drop_table("setup_evidence")
    with op.batch_alter_table("program", schema=None) as batch_op:
        batch_op.drop_index("ix_program_now")
        batch_op.drop_index(batch_op.f("ix_program_bend_sequence_id"))

    op.drop_table("program")
    with op.batch_alter_table("care_entry", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_care_entry_care_task_id"))

    op.drop_table("care_entry")
    with op.batch_alter_table("hour_reading", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_hour_reading_brake_code"))

    op.drop_table("hour_reading")
    with op.batch_alter_table("care_task", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_care_task_brake_code"))

    op.drop_table("care_task")
    with op.batch_alter_table("learned_bend", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_learned_bend_material_code"))
        batch_op.drop_index(batch_op.f("ix_learned_bend_family"))

    op.drop_table("learned_bend")
