"""Bend sequences and their steps: the saved, repeatable way to bend a revision on one brake."""

from datetime import datetime
from typing import Any

from sqlalchemy import CheckConstraint, ForeignKeyConstraint, Index, UniqueConstraint
from sqlmodel import Field, SQLModel

from server.storage.tables.column import (
    JSON_OR_NULL,
    Kept,
    UtcTime,
    above_zero,
    no_longer_than,
    not_below_zero,
    one_of,
)

SEQUENCE_STATES = ("draft", "ready", "retired")
STEP_KINDS = ("air", "bottoming", "coining", "acute", "flatten", "offset", "bump")


class BendSequence(Kept, table=True):
    """Saved under part number, revision and brake; several ways of one part have labels.

    A sequence is never changed: another order is another sequence that supersedes it. `arrangement`
    is what a person fixed step by step, `wishes` what the planner had to respect.
    """

    __tablename__ = "bend_sequence"
    __table_args__ = (
        ForeignKeyConstraint(
            ["part_number", "revision_label"], ["revision.part_number", "revision.label"]
        ),
        UniqueConstraint("part_number", "revision_label", "brake_code", "label"),
        one_of("state", SEQUENCE_STATES),
        *above_zero("thickness_mm", "flat_length_mm"),
        *no_longer_than(40, "label"),
    )

    id: int | None = Field(default=None, primary_key=True)
    part_number: str = Field(index=True)
    revision_label: str
    brake_code: str = Field(foreign_key="brake.code", index=True)
    label: str = "1"
    state: str = "draft"
    arranged: str = "by hand"
    thickness_mm: float
    k_factor: float | None = None
    flat_length_mm: float | None = None
    seconds_s: float | None = None
    proven: bool = False
    cost: dict[str, Any] = Field(default_factory=dict, sa_type=JSON_OR_NULL, nullable=False)
    stations: list[Any] = Field(default_factory=list, sa_type=JSON_OR_NULL, nullable=False)
    note: str = ""
    findings: list[Any] = Field(default_factory=list, sa_type=JSON_OR_NULL, nullable=False)
    made_by: str = ""
    superseded_by_id: int | None = Field(default=None, foreign_key="bend_sequence.id")
    superseded_at: datetime | None = Field(default=None, sa_type=UtcTime)
    arrangement: list[Any] = Field(
        default_factory=list,
        sa_type=JSON_OR_NULL,
        nullable=False,
        sa_column_kwargs={"server_default": "[]"},
    )
    wishes: dict[str, Any] = Field(
        default_factory=dict,
        sa_type=JSON_OR_NULL,
        nullable=False,
        sa_column_kwargs={"server_default": "{}"},
    )
    dimensions: list[Any] = Field(
        default_factory=list,
        sa_type=JSON_OR_NULL,
        nullable=False,
        sa_column_kwargs={"server_default": "[]"},
    )


class Step(SQLModel, table=True):
    """One stroke. Depth and X are for the nominal sheet; a set-up turns them into readings."""

    __tablename__ = "step"
    __table_args__ = (
        UniqueConstraint("bend_sequence_id", "position"),
        one_of("kind", STEP_KINDS),
        one_of("side_up", ("A", "B")),
        one_of("rear", ("first", "second")),
        one_of("gauge_kind", ("edge", "flange")),
        CheckConstraint("position >= 1", name="position_counts_from_one"),
        *above_zero("bend_length_mm"),
        *not_below_zero("depth_mm", "force_kn"),
        Index("ix_step_tools", "punch_code", "die_code"),
    )

    id: int | None = Field(default=None, primary_key=True)
    bend_sequence_id: int = Field(foreign_key="bend_sequence.id", ondelete="CASCADE")
    position: int
    kind: str = "air"
    bends: list[Any] = Field(sa_type=JSON_OR_NULL, nullable=False)
    zones: list[Any] = Field(
        default_factory=list,
        sa_type=JSON_OR_NULL,
        nullable=False,
        sa_column_kwargs={"server_default": "[]"},
    )
    punch_code: str = Field(foreign_key="punch.code")
    die_code: str = Field(foreign_key="die.code")
    station: int = 1
    side_up: str
    rear: str
    turned_over: bool = False
    turned_end_for_end: bool = False
    gauge_kind: str
    gauge_face: int
    gauge_fingers_mm: list[Any] = Field(default_factory=list, sa_type=JSON_OR_NULL, nullable=False)
    x_mm: float
    x_exact_mm: float
    r_mm: float
    bend_length_mm: float
    bend_angle_deg: float
    loaded_bend_angle_deg: float
    inside_radius_mm: float
    depth_mm: float | None = None
    depth_mm_per_deg: float | None = None
    force_kn: float
    force_kn_per_m: float
    check_mm: float | None = None
    check_tolerance_mm: float | None = None
    angle_tolerance_deg: float = 1.0
    scene: dict[str, Any] = Field(sa_type=JSON_OR_NULL, nullable=False)
    findings: list[Any] = Field(default_factory=list, sa_type=JSON_OR_NULL, nullable=False)
    reasons: list[Any] = Field(default_factory=list, sa_type=JSON_OR_NULL, nullable=False)
