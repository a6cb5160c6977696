"""the first shape of the shop

Revision: 0001
Follows:
"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "die",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("block_code", sa.String(), nullable=False),
        sa.Column("v_opening_mm", sa.Float(), nullable=False),
        sa.Column("angle_deg", sa.Float(), nullable=False),
        sa.Column("shoulder_radius_mm", sa.Float(), nullable=False),
        sa.Column("height_mm", sa.Float(), nullable=False),
        sa.Column("rating_kn_per_m", sa.Float(), nullable=True),
        sa.Column("v_depth_mm", sa.Float(), nullable=True),
        sa.Column("profile_mm", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.CheckConstraint("angle_deg > 0", name=op.f("ck_die_angle_deg_above_zero")),
        sa.CheckConstraint("height_mm > 0", name=op.f("ck_die_height_mm_above_zero")),
        sa.CheckConstraint("length(code) <= 40", name=op.f("ck_die_code_not_too_long")),
        sa.CheckConstraint("rating_kn_per_m > 0", name=op.f("ck_die_rating_kn_per_m_above_zero")),
        sa.CheckConstraint(
            "shoulder_radius_mm >= 0", name=op.f("ck_die_shoulder_radius_mm_not_below_zero")
        ),
        sa.CheckConstraint("v_depth_mm > 0", name=op.f("ck_die_v_depth_mm_above_zero")),
        sa.CheckConstraint("v_opening_mm > 0", name=op.f("ck_die_v_opening_mm_above_zero")),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_die")),
    )
    op.create_table(
        "draft",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("part_number", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("snapshots", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("place_count", sa.Integer(), nullable=False),
        sa.Column("made_by", sa.String(), nullable=False),
        sa.CheckConstraint("kind IN ('profile', 'flat')", name=op.f("ck_draft_kind_known")),
        sa.CheckConstraint("place_count >= 0", name=op.f("ck_draft_place_count_not_below_zero")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_draft")),
    )
    with op.batch_alter_table("draft", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_draft_part_number"), ["part_number"], unique=False)

    op.create_table(
        "event",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.Column("did", sa.String(), nullable=False),
        sa.Column("noun", sa.String(), nullable=False),
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("before", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("after", sa.JSON(none_as_null=True), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_event")),
    )
    with op.batch_alter_table("event", schema=None) as batch_op:
        batch_op.create_index("ix_event_about", ["noun", "key", "at"], unique=False)
        batch_op.create_index("ix_event_at", ["at"], unique=False)

    op.create_table(
        "holder",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("height_mm", sa.Float(), nullable=False),
        sa.Column("rating_kn_per_m", sa.Float(), nullable=True),
        sa.Column("profile_mm", sa.JSON(none_as_null=True), nullable=False),
        sa.CheckConstraint("height_mm > 0", name=op.f("ck_holder_height_mm_above_zero")),
        sa.CheckConstraint("length(code) <= 40", name=op.f("ck_holder_code_not_too_long")),
        sa.CheckConstraint(
            "rating_kn_per_m > 0", name=op.f("ck_holder_rating_kn_per_m_above_zero")
        ),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_holder")),
    )
    op.create_table(
        "material",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("family", sa.String(), nullable=False),
        sa.Column("standard", sa.String(), nullable=False),
        sa.Column("yield_min_mpa", sa.Float(), nullable=True),
        sa.Column("yield_max_mpa", sa.Float(), nullable=True),
        sa.Column("tensile_min_mpa", sa.Float(), nullable=True),
        sa.Column("tensile_max_mpa", sa.Float(), nullable=True),
        sa.Column("elongation_min_percent", sa.Float(), nullable=True),
        sa.Column("yield_typical_mpa", sa.Float(), nullable=False),
        sa.Column("tensile_typical_mpa", sa.Float(), nullable=False),
        sa.Column("youngs_modulus_mpa", sa.Float(), nullable=False),
        sa.Column("poisson_ratio", sa.Float(), nullable=False),
        sa.Column("density_kg_m3", sa.Float(), nullable=False),
        sa.Column("radius_ratio", sa.Float(), nullable=False),
        sa.Column("k_factor", sa.Float(), nullable=True),
        sa.Column("minimum_radius_ratio_to_3mm", sa.Float(), nullable=True),
        sa.Column("minimum_radius_ratio_3_to_6mm", sa.Float(), nullable=True),
        sa.Column("minimum_radius_ratio_over_6mm", sa.Float(), nullable=True),
        sa.Column("source", sa.String(), nullable=False),
        sa.Column("sure", sa.String(), nullable=False),
        sa.CheckConstraint(
            "family IN ('steel', 'galvanized', 'stainless', 'aluminium', 'copper', 'brass')",
            name=op.f("ck_material_family_known"),
        ),
        sa.CheckConstraint("density_kg_m3 > 0", name=op.f("ck_material_density_kg_m3_above_zero")),
        sa.CheckConstraint("length(code) <= 40", name=op.f("ck_material_code_not_too_long")),
        sa.CheckConstraint("radius_ratio > 0", name=op.f("ck_material_radius_ratio_above_zero")),
        sa.CheckConstraint(
            "tensile_typical_mpa > 0", name=op.f("ck_material_tensile_typical_mpa_above_zero")
        ),
        sa.CheckConstraint(
            "yield_typical_mpa > 0", name=op.f("ck_material_yield_typical_mpa_above_zero")
        ),
        sa.CheckConstraint(
            "youngs_modulus_mpa > 0", name=op.f("ck_material_youngs_modulus_mpa_above_zero")
        ),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_material")),
    )
    op.create_table(
        "part",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("number", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.CheckConstraint("length(name) <= 200", name=op.f("ck_part_name_not_too_long")),
        sa.CheckConstraint("length(number) <= 40", name=op.f("ck_part_number_not_too_long")),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_part")),
    )
    op.create_table(
        "punch",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("tip_radius_mm", sa.Float(), nullable=False),
        sa.Column("angle_deg", sa.Float(), nullable=False),
        sa.Column("height_mm", sa.Float(), nullable=False),
        sa.Column("rating_kn_per_m", sa.Float(), nullable=True),
        sa.Column("profile_mm", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.CheckConstraint("angle_deg > 0", name=op.f("ck_punch_angle_deg_above_zero")),
        sa.CheckConstraint("height_mm > 0", name=op.f("ck_punch_height_mm_above_zero")),
        sa.CheckConstraint("length(code) <= 40", name=op.f("ck_punch_code_not_too_long")),
        sa.CheckConstraint("rating_kn_per_m > 0", name=op.f("ck_punch_rating_kn_per_m_above_zero")),
        sa.CheckConstraint(
            "tip_radius_mm >= 0", name=op.f("ck_punch_tip_radius_mm_not_below_zero")
        ),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_punch")),
    )
    op.create_table(
        "request_key",
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("did", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_request_key")),
    )
    with op.batch_alter_table("request_key", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_request_key_at"), ["at"], unique=False)

    op.create_table(
        "setting",
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("value", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_setting")),
    )
    op.create_table(
        "brake",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("max_force_kn", sa.Float(), nullable=False),
        sa.Column("bed_length_mm", sa.Float(), nullable=False),
        sa.Column("frame_distance_mm", sa.Float(), nullable=False),
        sa.Column("opening_mm", sa.Float(), nullable=False),
        sa.Column("stroke_mm", sa.Float(), nullable=False),
        sa.Column("throat_mm", sa.Float(), nullable=False),
        sa.Column("max_line_load_kn_per_m", sa.Float(), nullable=True),
        sa.Column("off_centre_ratio", sa.Float(), nullable=False),
        sa.Column("control_unit", sa.String(), nullable=False),
        sa.Column("x_least_mm", sa.Float(), nullable=False),
        sa.Column("x_most_mm", sa.Float(), nullable=False),
        sa.Column("x_resolution_mm", sa.Float(), nullable=False),
        sa.Column("y_least_mm", sa.Float(), nullable=False),
        sa.Column("y_most_mm", sa.Float(), nullable=False),
        sa.Column("y_resolution_mm", sa.Float(), nullable=False),
        sa.Column("y_sense", sa.Integer(), nullable=False),
        sa.Column("program_count", sa.Integer(), nullable=False),
        sa.Column("steps_per_program_count", sa.Integer(), nullable=False),
        sa.Column("finger_low_mm", sa.Float(), nullable=False),
        sa.Column("finger_high_mm", sa.Float(), nullable=False),
        sa.Column("finger_width_mm", sa.Float(), nullable=False),
        sa.Column("finger_count", sa.Integer(), nullable=False),
        sa.Column("bending_speed_mm_per_s", sa.Float(), nullable=False),
        sa.Column("approach_speed_mm_per_s", sa.Float(), nullable=False),
        sa.Column("mute_opening_mm", sa.Float(), nullable=True),
        sa.Column("holder_code", sa.String(), nullable=True),
        sa.Column("bed_mm", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("touch_off_on", sa.String(), nullable=True),
        sa.Column("touch_off_reading_mm", sa.Float(), nullable=True),
        sa.Column("touch_off_tip_mm", sa.Float(), nullable=True),
        sa.Column("touch_off_tool_height_mm", sa.Float(), nullable=True),
        sa.Column("ram_scale", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("note", sa.String(), nullable=False),
        sa.CheckConstraint(
            "control_unit IN ('mm', 'in')", name=op.f("ck_brake_control_unit_known")
        ),
        sa.CheckConstraint(
            "approach_speed_mm_per_s > 0", name=op.f("ck_brake_approach_speed_mm_per_s_above_zero")
        ),
        sa.CheckConstraint("bed_length_mm > 0", name=op.f("ck_brake_bed_length_mm_above_zero")),
        sa.CheckConstraint(
            "bending_speed_mm_per_s > 0", name=op.f("ck_brake_bending_speed_mm_per_s_above_zero")
        ),
        sa.CheckConstraint("finger_high_mm > finger_low_mm", name=op.f("ck_brake_finger_height")),
        sa.CheckConstraint("finger_width_mm > 0", name=op.f("ck_brake_finger_width_mm_above_zero")),
        sa.CheckConstraint(
            "frame_distance_mm > 0", name=op.f("ck_brake_frame_distance_mm_above_zero")
        ),
        sa.CheckConstraint("length(code) <= 40", name=op.f("ck_brake_code_not_too_long")),
        sa.CheckConstraint("max_force_kn > 0", name=op.f("ck_brake_max_force_kn_above_zero")),
        sa.CheckConstraint(
            "max_line_load_kn_per_m > 0", name=op.f("ck_brake_max_line_load_kn_per_m_above_zero")
        ),
        sa.CheckConstraint("opening_mm > 0", name=op.f("ck_brake_opening_mm_above_zero")),
        sa.CheckConstraint("program_count > 0", name=op.f("ck_brake_program_count_above_zero")),
        sa.CheckConstraint(
            "steps_per_program_count > 0", name=op.f("ck_brake_steps_per_program_count_above_zero")
        ),
        sa.CheckConstraint("stroke_mm > 0", name=op.f("ck_brake_stroke_mm_above_zero")),
        sa.CheckConstraint("x_most_mm > x_least_mm", name=op.f("ck_brake_x_range")),
        sa.CheckConstraint("x_resolution_mm > 0", name=op.f("ck_brake_x_resolution_mm_above_zero")),
        sa.CheckConstraint("y_most_mm > y_least_mm", name=op.f("ck_brake_y_range")),
        sa.CheckConstraint("y_resolution_mm > 0", name=op.f("ck_brake_y_resolution_mm_above_zero")),
        sa.CheckConstraint("y_sense IN (1, -1)", name=op.f("ck_brake_y_sense_known")),
        sa.ForeignKeyConstraint(
            ["holder_code"], ["holder.code"], name=op.f("fk_brake_holder_code_holder")
        ),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_brake")),
    )
    op.create_table(
        "die_segment",
        sa.Column("die_code", sa.String(), nullable=False),
        sa.Column("length_mm", sa.Float(), nullable=False),
        sa.Column("pieces_count", sa.Integer(), nullable=False),
        sa.CheckConstraint("length_mm > 0", name=op.f("ck_die_segment_length_mm_above_zero")),
        sa.CheckConstraint("pieces_count > 0", name=op.f("ck_die_segment_pieces_count_above_zero")),
        sa.ForeignKeyConstraint(
            ["die_code"], ["die.code"], name=op.f("fk_die_segment_die_code_die"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("die_code", "length_mm", name=op.f("pk_die_segment")),
    )
    op.create_table(
        "lot",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("material_code", sa.String(), nullable=False),
        sa.Column("thickness_mm", sa.Float(), nullable=False),
        sa.Column("measured_thickness_mm", sa.Float(), nullable=True),
        sa.Column("measured_edges_mm", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("thickness_standard", sa.String(), server_default="", nullable=False),
        sa.Column("sheet_width_mm", sa.Float(), nullable=True),
        sa.Column("heat_number", sa.String(), nullable=False),
        sa.Column("yield_strength_mpa", sa.Float(), nullable=True),
        sa.Column("tensile_strength_mpa", sa.Float(), nullable=True),
        sa.Column("note", sa.String(), nullable=False),
        sa.CheckConstraint("length(code) <= 40", name=op.f("ck_lot_code_not_too_long")),
        sa.CheckConstraint(
            "measured_thickness_mm > 0", name=op.f("ck_lot_measured_thickness_mm_above_zero")
        ),
        sa.CheckConstraint("sheet_width_mm > 0", name=op.f("ck_lot_sheet_width_mm_above_zero")),
        sa.CheckConstraint(
            "tensile_strength_mpa > 0", name=op.f("ck_lot_tensile_strength_mpa_above_zero")
        ),
        sa.CheckConstraint("thickness_mm > 0", name=op.f("ck_lot_thickness_mm_above_zero")),
        sa.CheckConstraint(
            "yield_strength_mpa > 0", name=op.f("ck_lot_yield_strength_mpa_above_zero")
        ),
        sa.ForeignKeyConstraint(
            ["material_code"], ["material.code"], name=op.f("fk_lot_material_code_material")
        ),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_lot")),
    )
    with op.batch_alter_table("lot", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_lot_heat_number"), ["heat_number"], unique=False)
        batch_op.create_index(batch_op.f("ix_lot_material_code"), ["material_code"], unique=False)

    op.create_table(
        "punch_segment",
        sa.Column("punch_code", sa.String(), nullable=False),
        sa.Column("length_mm", sa.Float(), nullable=False),
        sa.Column("pieces_count", sa.Integer(), nullable=False),
        sa.CheckConstraint("length_mm > 0", name=op.f("ck_punch_segment_length_mm_above_zero")),
        sa.CheckConstraint(
            "pieces_count > 0", name=op.f("ck_punch_segment_pieces_count_above_zero")
        ),
        sa.ForeignKeyConstraint(
            ["punch_code"],
            ["punch.code"],
            name=op.f("fk_punch_segment_punch_code_punch"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("punch_code", "length_mm", name=op.f("pk_punch_segment")),
    )
    op.create_table(
        "revision",
        sa.Column("part_number", sa.String(), nullable=False),
        sa.Column("label", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("material_code", sa.String(), nullable=False),
        sa.Column("thickness_mm", sa.Float(), nullable=False),
        sa.Column("drawn", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("faces", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("blank_length_mm", sa.Float(), nullable=False),
        sa.Column("blank_width_mm", sa.Float(), nullable=False),
        sa.Column("area_mm2", sa.Float(), nullable=False),
        sa.Column("cut_length_mm", sa.Float(), nullable=False),
        sa.Column("pierces_count", sa.Integer(), nullable=False),
        sa.Column("mass_kg", sa.Float(), nullable=False),
        sa.Column("blank_v_opening_mm", sa.Float(), nullable=True),
        sa.Column("blank_die_code", sa.String(), nullable=True),
        sa.Column("blank_k_factor", sa.Float(), nullable=True),
        sa.Column("blank_k_from", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("made_by", sa.String(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("superseded_at", sa.DateTime(), nullable=True),
        sa.CheckConstraint("kind IN ('profile', 'flat')", name=op.f("ck_revision_kind_known")),
        sa.CheckConstraint("area_mm2 > 0", name=op.f("ck_revision_area_mm2_above_zero")),
        sa.CheckConstraint(
            "blank_length_mm > 0", name=op.f("ck_revision_blank_length_mm_above_zero")
        ),
        sa.CheckConstraint(
            "blank_v_opening_mm > 0", name=op.f("ck_revision_blank_v_opening_mm_above_zero")
        ),
        sa.CheckConstraint(
            "blank_width_mm > 0", name=op.f("ck_revision_blank_width_mm_above_zero")
        ),
        sa.CheckConstraint(
            "cut_length_mm >= 0", name=op.f("ck_revision_cut_length_mm_not_below_zero")
        ),
        sa.CheckConstraint("length(label) <= 10", name=op.f("ck_revision_label_not_too_long")),
        sa.CheckConstraint("mass_kg >= 0", name=op.f("ck_revision_mass_kg_not_below_zero")),
        sa.CheckConstraint("thickness_mm > 0", name=op.f("ck_revision_thickness_mm_above_zero")),
        sa.ForeignKeyConstraint(
            ["blank_die_code"], ["die.code"], name=op.f("fk_revision_blank_die_code_die")
        ),
        sa.ForeignKeyConstraint(
            ["material_code"], ["material.code"], name=op.f("fk_revision_material_code_material")
        ),
        sa.ForeignKeyConstraint(
            ["part_number"], ["part.number"], name=op.f("fk_revision_part_number_part")
        ),
        sa.PrimaryKeyConstraint("part_number", "label", name=op.f("pk_revision")),
    )
    with op.batch_alter_table("revision", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_revision_material_code"), ["material_code"], unique=False
        )

    op.create_table(
        "bend_sequence",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("part_number", sa.String(), nullable=False),
        sa.Column("revision_label", sa.String(), nullable=False),
        sa.Column("brake_code", sa.String(), nullable=False),
        sa.Column("label", sa.String(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("arranged", sa.String(), nullable=False),
        sa.Column("thickness_mm", sa.Float(), nullable=False),
        sa.Column("k_factor", sa.Float(), nullable=True),
        sa.Column("flat_length_mm", sa.Float(), nullable=True),
        sa.Column("seconds_s", sa.Float(), nullable=True),
        sa.Column("proven", sa.Boolean(), nullable=False),
        sa.Column("cost", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("stations", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("findings", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("made_by", sa.String(), nullable=False),
        sa.CheckConstraint(
            "state IN ('draft', 'ready', 'retired')", name=op.f("ck_bend_sequence_state_known")
        ),
        sa.CheckConstraint(
            "flat_length_mm > 0", name=op.f("ck_bend_sequence_flat_length_mm_above_zero")
        ),
        sa.CheckConstraint("length(label) <= 40", name=op.f("ck_bend_sequence_label_not_too_long")),
        sa.CheckConstraint(
            "thickness_mm > 0", name=op.f("ck_bend_sequence_thickness_mm_above_zero")
        ),
        sa.ForeignKeyConstraint(
            ["brake_code"], ["brake.code"], name=op.f("fk_bend_sequence_brake_code_brake")
        ),
        sa.ForeignKeyConstraint(
            ["part_number", "revision_label"],
            ["revision.part_number", "revision.label"],
            name=op.f("fk_bend_sequence_part_number_revision_label_revision"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_bend_sequence")),
        sa.UniqueConstraint(
            "part_number",
            "revision_label",
            "brake_code",
            "label",
            name=op.f("uq_bend_sequence_part_number_revision_label_brake_code_label"),
        ),
    )
    with op.batch_alter_table("bend_sequence", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_bend_sequence_brake_code"), ["brake_code"], unique=False
        )
        batch_op.create_index(
            batch_op.f("ix_bend_sequence_part_number"), ["part_number"], unique=False
        )

    op.create_table(
        "coupon",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("material_code", sa.String(), nullable=False),
        sa.Column("lot_code", sa.String(), nullable=True),
        sa.Column("die_code", sa.String(), nullable=False),
        sa.Column("punch_code", sa.String(), nullable=False),
        sa.Column("thickness_mm", sa.Float(), nullable=False),
        sa.Column("v_opening_mm", sa.Float(), nullable=False),
        sa.Column("bend_angle_deg", sa.Float(), nullable=False),
        sa.Column("inside_radius_mm", sa.Float(), nullable=False),
        sa.Column("strips", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("bend_deduction_mm", sa.Float(), nullable=False),
        sa.Column("spread_mm", sa.Float(), nullable=False),
        sa.Column("k_factor", sa.Float(), nullable=False),
        sa.Column("in_use", sa.Boolean(), nullable=False),
        sa.Column("measured_by", sa.String(), nullable=False),
        sa.Column("measured_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint("bend_angle_deg > 0", name=op.f("ck_coupon_bend_angle_deg_above_zero")),
        sa.CheckConstraint("thickness_mm > 0", name=op.f("ck_coupon_thickness_mm_above_zero")),
        sa.CheckConstraint("v_opening_mm > 0", name=op.f("ck_coupon_v_opening_mm_above_zero")),
        sa.ForeignKeyConstraint(["die_code"], ["die.code"], name=op.f("fk_coupon_die_code_die")),
        sa.ForeignKeyConstraint(["lot_code"], ["lot.code"], name=op.f("fk_coupon_lot_code_lot")),
        sa.ForeignKeyConstraint(
            ["material_code"], ["material.code"], name=op.f("fk_coupon_material_code_material")
        ),
        sa.ForeignKeyConstraint(
            ["punch_code"], ["punch.code"], name=op.f("fk_coupon_punch_code_punch")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_coupon")),
    )
    with op.batch_alter_table("coupon", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_coupon_material_code"), ["material_code"], unique=False
        )

    op.create_table(
        "job",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("number", sa.String(), nullable=False),
        sa.Column("customer", sa.String(), nullable=False),
        sa.Column("part_number", sa.String(), nullable=False),
        sa.Column("revision_label", sa.String(), nullable=False),
        sa.Column("quantity_count", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("held_reason", sa.String(), nullable=False),
        sa.Column("due_at", sa.DateTime(), nullable=True),
        sa.Column("lot_code", sa.String(), nullable=True),
        sa.Column("bend_sequence_id", sa.Integer(), nullable=True),
        sa.Column("good_count", sa.Integer(), nullable=False),
        sa.Column("scrap_count", sa.Integer(), nullable=False),
        sa.Column("rework_count", sa.Integer(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.CheckConstraint(
            "state IN ('asked', 'priced', 'won', 'ready', 'running', 'held', 'made', 'gone', 'lost')",
            name=op.f("ck_job_state_known"),
        ),
        sa.CheckConstraint("good_count >= 0", name=op.f("ck_job_good_count_not_below_zero")),
        sa.CheckConstraint("length(number) <= 40", name=op.f("ck_job_number_not_too_long")),
        sa.CheckConstraint("quantity_count > 0", name=op.f("ck_job_quantity_count_above_zero")),
        sa.CheckConstraint("rework_count >= 0", name=op.f("ck_job_rework_count_not_below_zero")),
        sa.CheckConstraint("scrap_count >= 0", name=op.f("ck_job_scrap_count_not_below_zero")),
        sa.ForeignKeyConstraint(
            ["bend_sequence_id"],
            ["bend_sequence.id"],
            name=op.f("fk_job_bend_sequence_id_bend_sequence"),
        ),
        sa.ForeignKeyConstraint(["lot_code"], ["lot.code"], name=op.f("fk_job_lot_code_lot")),
        sa.ForeignKeyConstraint(
            ["part_number", "revision_label"],
            ["revision.part_number", "revision.label"],
            name=op.f("fk_job_part_number_revision_label_revision"),
        ),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_job")),
    )
    with op.batch_alter_table("job", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_job_customer"), ["customer"], unique=False)
        batch_op.create_index(batch_op.f("ix_job_part_number"), ["part_number"], unique=False)
        batch_op.create_index("ix_job_state_due", ["state", "due_at"], unique=False)

    op.create_table(
        "setup",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("bend_sequence_id", sa.Integer(), nullable=False),
        sa.Column("brake_code", sa.String(), nullable=False),
        sa.Column("lot_code", sa.String(), nullable=True),
        sa.Column("thickness_mm", sa.Float(), nullable=False),
        sa.Column("thickness_measured", sa.Boolean(), nullable=False),
        sa.Column("tool_height_mm", sa.Float(), nullable=False),
        sa.Column("touch_off_on", sa.String(), nullable=False),
        sa.Column("touch_off_reading_mm", sa.Float(), nullable=False),
        sa.Column("touch_off_tip_mm", sa.Float(), nullable=False),
        sa.Column("touch_off_checked", sa.Boolean(), nullable=False),
        sa.Column("stroke_setting", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("stations", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("checks", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("signed_by", sa.String(), nullable=False),
        sa.Column("signed_at", sa.DateTime(), nullable=True),
        sa.CheckConstraint(
            "touch_off_on IN ('sheet', 'die')", name=op.f("ck_setup_touch_off_on_known")
        ),
        sa.CheckConstraint("thickness_mm > 0", name=op.f("ck_setup_thickness_mm_above_zero")),
        sa.CheckConstraint("tool_height_mm > 0", name=op.f("ck_setup_tool_height_mm_above_zero")),
        sa.ForeignKeyConstraint(
            ["bend_sequence_id"],
            ["bend_sequence.id"],
            name=op.f("fk_setup_bend_sequence_id_bend_sequence"),
        ),
        sa.ForeignKeyConstraint(
            ["brake_code"], ["brake.code"], name=op.f("fk_setup_brake_code_brake")
        ),
        sa.ForeignKeyConstraint(["lot_code"], ["lot.code"], name=op.f("fk_setup_lot_code_lot")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_setup")),
    )
    with op.batch_alter_table("setup", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_setup_bend_sequence_id"), ["bend_sequence_id"], unique=False
        )
        batch_op.create_index(batch_op.f("ix_setup_brake_code"), ["brake_code"], unique=False)

    op.create_table(
        "step",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("bend_sequence_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("bends", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("punch_code", sa.String(), nullable=False),
        sa.Column("die_code", sa.String(), nullable=False),
        sa.Column("station", sa.Integer(), nullable=False),
        sa.Column("side_up", sa.String(), nullable=False),
        sa.Column("rear", sa.String(), nullable=False),
        sa.Column("turned_over", sa.Boolean(), nullable=False),
        sa.Column("turned_end_for_end", sa.Boolean(), nullable=False),
        sa.Column("gauge_kind", sa.String(), nullable=False),
        sa.Column("gauge_face", sa.Integer(), nullable=False),
        sa.Column("gauge_fingers_mm", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("x_mm", sa.Float(), nullable=False),
        sa.Column("x_exact_mm", sa.Float(), nullable=False),
        sa.Column("r_mm", sa.Float(), nullable=False),
        sa.Column("bend_length_mm", sa.Float(), nullable=False),
        sa.Column("bend_angle_deg", sa.Float(), nullable=False),
        sa.Column("loaded_bend_angle_deg", sa.Float(), nullable=False),
        sa.Column("inside_radius_mm", sa.Float(), nullable=False),
        sa.Column("depth_mm", sa.Float(), nullable=True),
        sa.Column("depth_mm_per_deg", sa.Float(), nullable=True),
        sa.Column("force_kn", sa.Float(), nullable=False),
        sa.Column("force_kn_per_m", sa.Float(), nullable=False),
        sa.Column("check_mm", sa.Float(), nullable=True),
        sa.Column("check_tolerance_mm", sa.Float(), nullable=True),
        sa.Column("angle_tolerance_deg", sa.Float(), nullable=False),
        sa.Column("scene", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("findings", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("reasons", sa.JSON(none_as_null=True), nullable=False),
        sa.CheckConstraint(
            "gauge_kind IN ('edge', 'flange')", name=op.f("ck_step_gauge_kind_known")
        ),
        sa.CheckConstraint(
            "kind IN ('air', 'bottoming', 'coining', 'acute', 'flatten', 'offset', 'bump')",
            name=op.f("ck_step_kind_known"),
        ),
        sa.CheckConstraint("rear IN ('first', 'second')", name=op.f("ck_step_rear_known")),
        sa.CheckConstraint("side_up IN ('A', 'B')", name=op.f("ck_step_side_up_known")),
        sa.CheckConstraint("bend_length_mm > 0", name=op.f("ck_step_bend_length_mm_above_zero")),
        sa.CheckConstraint("depth_mm >= 0", name=op.f("ck_step_depth_mm_not_below_zero")),
        sa.CheckConstraint("force_kn >= 0", name=op.f("ck_step_force_kn_not_below_zero")),
        sa.CheckConstraint("position >= 1", name=op.f("ck_step_position_counts_from_one")),
        sa.ForeignKeyConstraint(
            ["bend_sequence_id"],
            ["bend_sequence.id"],
            name=op.f("fk_step_bend_sequence_id_bend_sequence"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(["die_code"], ["die.code"], name=op.f("fk_step_die_code_die")),
        sa.ForeignKeyConstraint(
            ["punch_code"], ["punch.code"], name=op.f("fk_step_punch_code_punch")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_step")),
        sa.UniqueConstraint(
            "bend_sequence_id", "position", name=op.f("uq_step_bend_sequence_id_position")
        ),
    )
    with op.batch_alter_table("step", schema=None) as batch_op:
        batch_op.create_index("ix_step_tools", ["punch_code", "die_code"], unique=False)

    op.create_table(
        "run",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(), nullable=False),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job_number", sa.String(), nullable=True),
        sa.Column("part_number", sa.String(), nullable=False),
        sa.Column("revision_label", sa.String(), nullable=False),
        sa.Column("bend_sequence_id", sa.Integer(), nullable=False),
        sa.Column("setup_id", sa.Integer(), nullable=True),
        sa.Column("brake_code", sa.String(), nullable=False),
        sa.Column("quantity_count", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("good_count", sa.Integer(), nullable=False),
        sa.Column("scrap_count", sa.Integer(), nullable=False),
        sa.Column("rework_count", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("held_reason", sa.String(), nullable=False),
        sa.Column("operator", sa.String(), nullable=False),
        sa.Column("started_at", sa.DateTime(), nullable=True),
        sa.Column("ended_at", sa.DateTime(), nullable=True),
        sa.CheckConstraint(
            "state IN ('setting_up', 'first_article', 'running', 'held', 'done')",
            name=op.f("ck_run_state_known"),
        ),
        sa.CheckConstraint("good_count >= 0", name=op.f("ck_run_good_count_not_below_zero")),
        sa.CheckConstraint("position > 0", name=op.f("ck_run_position_above_zero")),
        sa.CheckConstraint("quantity_count > 0", name=op.f("ck_run_quantity_count_above_zero")),
        sa.CheckConstraint("rework_count >= 0", name=op.f("ck_run_rework_count_not_below_zero")),
        sa.CheckConstraint("scrap_count >= 0", name=op.f("ck_run_scrap_count_not_below_zero")),
        sa.ForeignKeyConstraint(
            ["bend_sequence_id"],
            ["bend_sequence.id"],
            name=op.f("fk_run_bend_sequence_id_bend_sequence"),
        ),
        sa.ForeignKeyConstraint(
            ["brake_code"], ["brake.code"], name=op.f("fk_run_brake_code_brake")
        ),
        sa.ForeignKeyConstraint(["job_number"], ["job.number"], name=op.f("fk_run_job_number_job")),
        sa.ForeignKeyConstraint(["setup_id"], ["setup.id"], name=op.f("fk_run_setup_id_setup")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_run")),
    )
    with op.batch_alter_table("run", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_run_bend_sequence_id"), ["bend_sequence_id"], unique=False
        )
        batch_op.create_index(batch_op.f("ix_run_brake_code"), ["brake_code"], unique=False)
        batch_op.create_index(batch_op.f("ix_run_job_number"), ["job_number"], unique=False)
        batch_op.create_index(batch_op.f("ix_run_part_number"), ["part_number"], unique=False)

    op.create_table(
        "setup_step",
        sa.Column("setup_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("x_mm", sa.Float(), nullable=False),
        sa.Column("y_mm", sa.Float(), nullable=False),
        sa.Column("depth_mm", sa.Float(), nullable=False),
        sa.Column("thickness_mm", sa.Float(), nullable=False),
        sa.Column("x_correction_mm", sa.Float(), nullable=False),
        sa.Column("y_correction_mm", sa.Float(), nullable=False),
        sa.Column("predicted_low_deg", sa.Float(), nullable=True),
        sa.Column("predicted_high_deg", sa.Float(), nullable=True),
        sa.Column("reasons", sa.JSON(none_as_null=True), nullable=False),
        sa.CheckConstraint("thickness_mm > 0", name=op.f("ck_setup_step_thickness_mm_above_zero")),
        sa.ForeignKeyConstraint(
            ["setup_id"],
            ["setup.id"],
            name=op.f("fk_setup_step_setup_id_setup"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("setup_id", "position", name=op.f("pk_setup_step")),
    )
    op.create_table(
        "trial",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("request_key", sa.String(), nullable=True),
        sa.Column("setup_id", sa.Integer(), nullable=True),
        sa.Column("run_id", sa.Integer(), nullable=True),
        sa.Column("position", sa.Integer(), nullable=True),
        sa.Column("part_number", sa.String(), nullable=False),
        sa.Column("revision_label", sa.String(), nullable=False),
        sa.Column("material_code", sa.String(), nullable=False),
        sa.Column("lot_code", sa.String(), nullable=True),
        sa.Column("punch_code", sa.String(), nullable=False),
        sa.Column("die_code", sa.String(), nullable=False),
        sa.Column("v_opening_mm", sa.Float(), nullable=False),
        sa.Column("thickness_mm", sa.Float(), nullable=False),
        sa.Column("wanted_bend_angle_deg", sa.Float(), nullable=False),
        sa.Column("depth_mm", sa.Float(), nullable=False),
        sa.Column("y_mm", sa.Float(), nullable=True),
        sa.Column("bend_angle_deg", sa.Float(), nullable=False),
        sa.Column("flange_mm", sa.Float(), nullable=True),
        sa.Column("wanted_flange_mm", sa.Float(), nullable=True),
        sa.Column("first_piece", sa.Boolean(), nullable=False),
        sa.Column("outlier", sa.Boolean(), nullable=False),
        sa.Column("confirmed", sa.Boolean(), nullable=False),
        sa.Column("undone", sa.Boolean(), nullable=False),
        sa.Column("measured_by", sa.String(), nullable=False),
        sa.Column("measured_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint("bend_angle_deg > 0", name=op.f("ck_trial_bend_angle_deg_above_zero")),
        sa.CheckConstraint("thickness_mm > 0", name=op.f("ck_trial_thickness_mm_above_zero")),
        sa.CheckConstraint("v_opening_mm > 0", name=op.f("ck_trial_v_opening_mm_above_zero")),
        sa.ForeignKeyConstraint(["die_code"], ["die.code"], name=op.f("fk_trial_die_code_die")),
        sa.ForeignKeyConstraint(["lot_code"], ["lot.code"], name=op.f("fk_trial_lot_code_lot")),
        sa.ForeignKeyConstraint(
            ["material_code"], ["material.code"], name=op.f("fk_trial_material_code_material")
        ),
        sa.ForeignKeyConstraint(
            ["punch_code"], ["punch.code"], name=op.f("fk_trial_punch_code_punch")
        ),
        sa.ForeignKeyConstraint(["run_id"], ["run.id"], name=op.f("fk_trial_run_id_run")),
        sa.ForeignKeyConstraint(["setup_id"], ["setup.id"], name=op.f("fk_trial_setup_id_setup")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_trial")),
        sa.UniqueConstraint("request_key", name=op.f("uq_trial_request_key")),
    )
    with op.batch_alter_table("trial", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_trial_material_code"), ["material_code"], unique=False)
        batch_op.create_index(batch_op.f("ix_trial_part_number"), ["part_number"], unique=False)
        batch_op.create_index(batch_op.f("ix_trial_run_id"), ["run_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_trial_setup_id"), ["setup_id"], unique=False)


def downgrade() -> None:
    with op.batch_alter_table("trial", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_trial_setup_id"))
        batch_op.drop_index(batch_op.f("ix_trial_run_id"))
        batch_op.drop_index(batch_op.f("ix_trial_part_number"))
        batch_op.drop_index(batch_op.f("ix_trial_material_code"))

    op.drop_table("trial")
    op.drop_table("setup_step")
    with op.batch_alter_table("run", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_run_part_number"))
        batch_op.drop_index(batch_op.f("ix_run_job_number"))
        batch_op.drop_index(batch_op.f("ix_run_brake_code"))
        batch_op.drop_index(batch_op.f("ix_run_bend_sequence_id"))

    op.drop_table("run")
    with op.batch_alter_table("step", schema=None) as batch_op:
        batch_op.drop_index("ix_step_tools")

    op.drop_table("step")
    with op.batch_alter_table("setup", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_setup_brake_code"))
        batch_op.drop_index(batch_op.f("ix_setup_bend_sequence_id"))

    op.drop_table("setup")
    with op.batch_alter_table("job", schema=None) as batch_op:
        batch_op.drop_index("ix_job_state_due")
        batch_op.drop_index(batch_op.f("ix_job_part_number"))
        batch_op.drop_index(batch_op.f("ix_job_customer"))

    op.drop_table("job")
    with op.batch_alter_table("coupon", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_coupon_material_code"))

    op.drop_table("coupon")
    with op.batch_alter_table("bend_sequence", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_bend_sequence_part_number"))
        batch_op.drop_index(batch_op.f("ix_bend_sequence_brake_code"))

    op.drop_table("bend_sequence")
    with op.batch_alter_table("revision", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_revision_material_code"))

    op.drop_table("revision")
    op.drop_table("punch_segment")
    with op.batch_alter_table("lot", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_lot_material_code"))
        batch_op.drop_index(batch_op.f("ix_lot_heat_number"))

    op.drop_table("lot")
    op.drop_table("die_segment")
    op.drop_table("brake")
    op.drop_table("setting")
    with op.batch_alter_table("request_key", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_request_key_at"))

    op.drop_table("request_key")
    op.drop_table("punch")
    op.drop_table("part")
    op.drop_table("material")
    op.drop_table("holder")
    with op.batch_alter_table("event", schema=None) as batch_op:
        batch_op.drop_index("ix_event_at")
        batch_op.drop_index("ix_event_about")

    op.drop_table("event")
    with op.batch_alter_table("draft", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_draft_part_number"))

    op.drop_table("draft")
    op.drop_table("die")
