"""The press brake and its control."""

from typing import Any

from sqlalchemy import CheckConstraint
from sqlmodel import Field

from server.storage.tables.column import JSON_OR_NULL, Kept, above_zero, no_longer_than, one_of


class Brake(Kept, table=True):
    """A press brake with a two-axis control: what its plate and its manual say.

    All lengths are in mm; `control_unit` is what the control's own display shows. The touch-off
    columns hold the last one recorded on this brake; a new set-up starts from it, not checked.
    """

    __tablename__ = "brake"
    __table_args__ = (
        one_of("control_unit", ("mm", "in")),
        CheckConstraint("y_sense IN (1, -1)", name="y_sense_known"),
        CheckConstraint("x_most_mm > x_least_mm", name="x_range"),
        CheckConstraint("y_most_mm > y_least_mm", name="y_range"),
        CheckConstraint("finger_high_mm > finger_low_mm", name="finger_height"),
        *above_zero(
            "max_force_kn",
            "bed_length_mm",
            "frame_distance_mm",
            "opening_mm",
            "stroke_mm",
            "x_resolution_mm",
            "y_resolution_mm",
            "finger_width_mm",
            "max_line_load_kn_per_m",
            "program_count",
            "steps_per_program_count",
            "bending_speed_mm_per_s",
            "approach_speed_mm_per_s",
        ),
        *no_longer_than(40, "code"),
    )

    code: str = Field(primary_key=True)
    name: str
    max_force_kn: float
    bed_length_mm: float
    frame_distance_mm: float
    opening_mm: float
    stroke_mm: float
    throat_mm: float = 0.0
    max_line_load_kn_per_m: float | None = None
    off_centre_ratio: float = 0.5
    control_unit: str = "mm"
    x_least_mm: float
    x_most_mm: float
    x_resolution_mm: float
    y_least_mm: float
    y_most_mm: float
    y_resolution_mm: float
    y_sense: int
    program_count: int
    steps_per_program_count: int
    finger_low_mm: float
    finger_high_mm: float
    finger_width_mm: float
    finger_count: int = 2
    bending_speed_mm_per_s: float = 10.0
    approach_speed_mm_per_s: float = 100.0
    mute_opening_mm: float | None = None
    holder_code: str | None = Field(default=None, foreign_key="holder.code")
    bed_mm: list[Any] = Field(sa_type=JSON_OR_NULL, nullable=False)
    touch_off_on: str | None = None
    touch_off_reading_mm: float | None = None
    touch_off_tip_mm: float | None = None
    touch_off_tool_height_mm: float | None = None
    ram_scale: list[Any] | None = Field(default=None, sa_type=JSON_OR_NULL)
    note: str = ""
