"""Tool set-ups with their touch-off, what was told to be keyed, and the trials measured."""

from datetime import datetime
from typing import Any

from sqlalchemy import UniqueConstraint
from sqlmodel import Field, SQLModel

from server.storage.tables.column import (
    JSON_OR_NULL,
    UtcTime,
    Versioned,
    above_zero,
    one_of,
    utc_now,
)


class Setup(Versioned, table=True):
    """Tools placed along the bed for a bend sequence, touched off on one sheet."""

    __tablename__ = "setup"
    __table_args__ = (
        one_of("touch_off_on", ("sheet", "die")),
        *above_zero("thickness_mm", "tool_height_mm"),
    )

    id: int | None = Field(default=None, primary_key=True)
    bend_sequence_id: int = Field(foreign_key="bend_sequence.id", index=True)
    brake_code: str = Field(foreign_key="brake.code", index=True)
    lot_code: str | None = Field(default=None, foreign_key="lot.code")
    thickness_mm: float
    thickness_measured: bool = False
    tool_height_mm: float
    touch_off_on: str
    touch_off_reading_mm: float
    touch_off_tip_mm: float
    touch_off_checked: bool = False
    stroke_setting: dict[str, Any] = Field(sa_type=JSON_OR_NULL, nullable=False)
    stations: list[Any] = Field(default_factory=list, sa_type=JSON_OR_NULL, nullable=False)
    checks: dict[str, Any] = Field(default_factory=dict, sa_type=JSON_OR_NULL, nullable=False)
    signed_by: str = ""
    signed_at: datetime | None = Field(default=None, sa_type=UtcTime)


class SetupStep(SQLModel, table=True):
    """What the operator is told to key for one step on one set-up, and why."""

    __tablename__ = "setup_step"
    __table_args__ = (*above_zero("thickness_mm"),)

    setup_id: int = Field(foreign_key="setup.id", primary_key=True, ondelete="CASCADE")
    position: int = Field(primary_key=True)
    x_mm: float
    y_mm: float
    depth_mm: float
    thickness_mm: float
    x_correction_mm: float = 0.0
    y_correction_mm: float = 0.0
    predicted_low_deg: float | None = None
    predicted_high_deg: float | None = None
    reasons: list[Any] = Field(default_factory=list, sa_type=JSON_OR_NULL, nullable=False)


class Trial(SQLModel, table=True):
    """One measured bend, fed back. Never deleted; an outlier is shown and not learned from."""

    __tablename__ = "trial"
    __table_args__ = (
        UniqueConstraint("request_key"),
        *above_zero("thickness_mm", "bend_angle_deg", "v_opening_mm"),
    )

    id: int | None = Field(default=None, primary_key=True)
    request_key: str | None = None
    setup_id: int | None = Field(default=None, foreign_key="setup.id", index=True)
    run_id: int | None = Field(default=None, foreign_key="run.id", index=True)
    position: int | None = None
    part_number: str = Field(default="", index=True)
    revision_label: str = ""
    material_code: str = Field(foreign_key="material.code", index=True)
    lot_code: str | None = Field(default=None, foreign_key="lot.code")
    punch_code: str = Field(foreign_key="punch.code")
    die_code: str = Field(foreign_key="die.code")
    v_opening_mm: float
    thickness_mm: float
    wanted_bend_angle_deg: float
    depth_mm: float
    y_mm: float | None = None
    bend_angle_deg: float
    flange_mm: float | None = None
    wanted_flange_mm: float | None = None
    first_piece: bool = False
    outlier: bool = False
    confirmed: bool = False
    undone: bool = False
    measured_by: str = ""
    measured_at: datetime = Field(default_factory=utc_now, sa_type=UtcTime, nullable=False)
