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

KEYED_FROM = ("rule", "learned", "simple", "hand")


class Setup(Versioned, table=True):
    """Tools placed along the bed for a bend sequence, touched off on one sheet.

    `checks` has one entry for each point that was ticked: who and when. `read_back` is the last
    comparison of the control's own numbers with ours, with the override where somebody made one.
    """

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
    findings: list[Any] = Field(
        default_factory=list,
        sa_type=JSON_OR_NULL,
        nullable=False,
        sa_column_kwargs={"server_default": "[]"},
    )
    signed_by: str = ""
    signed_at: datetime | None = Field(default=None, sa_type=UtcTime)
    measured_edges_mm: list[Any] | None = Field(default=None, sa_type=JSON_OR_NULL)
    die_turned: bool | None = None
    read_back: dict[str, Any] | None = Field(default=None, sa_type=JSON_OR_NULL)


class SetupStep(SQLModel, table=True):
    """What the operator is told to key for one step on one set-up, and why.

    `sheet_x_mm` and `sheet_depth_mm` are X and depth for the sheet in hand where it is another one
    than the sequence was planned for; a stop among `findings` blocks the step.

    `come_from` says whose depth it is: the rule of the material table, what trials taught, the
    simple rule somebody accepted, or a hand.
    """

    __tablename__ = "setup_step"
    __table_args__ = (*above_zero("thickness_mm"), one_of("come_from", KEYED_FROM))

    setup_id: int = Field(foreign_key="setup.id", primary_key=True, ondelete="CASCADE")
    position: int = Field(primary_key=True)
    x_mm: float
    y_mm: float
    depth_mm: float
    thickness_mm: float
    x_correction_mm: float = 0.0
    y_correction_mm: float = 0.0
    predicted_deg: float | None = None
    predicted_low_deg: float | None = None
    predicted_high_deg: float | None = None
    sheet_x_mm: float | None = None
    sheet_depth_mm: float | None = None
    findings: list[Any] = Field(
        default_factory=list,
        sa_type=JSON_OR_NULL,
        nullable=False,
        sa_column_kwargs={"server_default": "[]"},
    )
    come_from: str = Field(default="rule", sa_column_kwargs={"server_default": "rule"})
    reasons: list[Any] = Field(default_factory=list, sa_type=JSON_OR_NULL, nullable=False)


class Trial(SQLModel, table=True):
    """One measured bend, fed back. Never deleted; an outlier is shown and not learned from.

    `piece` counts the blanks of the set-up, `foretold` is what was expected of the reading before
    it was made, `thickness_mm` is measured and `nominal_thickness_mm` the sheet's name.
    """

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
    other_flange_mm: float | None = None
    wanted_other_flange_mm: float | None = None
    x_mm: float | None = None
    nominal_thickness_mm: float | None = None
    angle_tolerance_deg: float | None = None
    flange_tolerance_mm: float | None = None
    piece: int | None = None
    typed: str = Field(default="", sa_column_kwargs={"server_default": ""})
    foretold: dict[str, Any] | None = Field(default=None, sa_type=JSON_OR_NULL)
    first_piece: bool = False
    outlier: bool = False
    confirmed: bool = False
    undone: bool = False
    measured_by: str = ""
    measured_at: datetime = Field(default_factory=utc_now, sa_type=UtcTime, nullable=False)
