"""Punches, dies and holders, with cross-sections and the segments the shop owns."""

from typing import Any

from sqlmodel import Field, SQLModel

from server.storage.tables.column import (
    JSON_OR_NULL,
    Kept,
    above_zero,
    no_longer_than,
    not_below_zero,
    one_of,
)

PURPOSES = ("bend", "flatten", "offset")
"""What a tool is for: bending in a V, pressing hems flat, or one step of an offset."""


class Punch(Kept, table=True):
    """An upper tool. Its outline has the tip at (0, 0), pointing down. No rating: no job on it."""

    __tablename__ = "punch"
    __table_args__ = (
        one_of("purpose", PURPOSES),
        *above_zero("angle_deg", "height_mm", "rating_kn_per_m"),
        *not_below_zero("tip_radius_mm"),
        *no_longer_than(40, "code"),
    )

    code: str = Field(primary_key=True)
    name: str
    tip_radius_mm: float
    angle_deg: float
    height_mm: float
    rating_kn_per_m: float | None = None
    profile_mm: list[Any] = Field(sa_type=JSON_OR_NULL, nullable=False)
    purpose: str = Field(default="bend", sa_column_kwargs={"server_default": "bend"})
    note: str = ""


class PunchSegment(SQLModel, table=True):
    """How many pieces of one length the shop owns of a punch."""

    __tablename__ = "punch_segment"
    __table_args__ = (*above_zero("length_mm", "pieces_count"),)

    punch_code: str = Field(foreign_key="punch.code", primary_key=True, ondelete="CASCADE")
    length_mm: float = Field(primary_key=True)
    pieces_count: int


class Die(Kept, table=True):
    """One V of a lower tool. Several Vs of one block share its `block_code`."""

    __tablename__ = "die"
    __table_args__ = (
        one_of("purpose", PURPOSES),
        *above_zero("v_opening_mm", "angle_deg", "height_mm", "rating_kn_per_m", "v_depth_mm"),
        *not_below_zero("shoulder_radius_mm"),
        *no_longer_than(40, "code"),
    )

    code: str = Field(primary_key=True)
    name: str
    block_code: str = ""
    v_opening_mm: float
    angle_deg: float
    shoulder_radius_mm: float
    height_mm: float
    rating_kn_per_m: float | None = None
    v_depth_mm: float | None = None
    profile_mm: list[Any] = Field(sa_type=JSON_OR_NULL, nullable=False)
    purpose: str = Field(default="bend", sa_column_kwargs={"server_default": "bend"})
    note: str = ""


class DieSegment(SQLModel, table=True):
    """How many pieces of one length the shop owns of a die."""

    __tablename__ = "die_segment"
    __table_args__ = (*above_zero("length_mm", "pieces_count"),)

    die_code: str = Field(foreign_key="die.code", primary_key=True, ondelete="CASCADE")
    length_mm: float = Field(primary_key=True)
    pieces_count: int


class Holder(Kept, table=True):
    """What holds the punch to the ram; drawn above the punch's top, in punch coordinates."""

    __tablename__ = "holder"
    __table_args__ = (
        *above_zero("height_mm", "rating_kn_per_m"),
        *no_longer_than(40, "code"),
    )

    code: str = Field(primary_key=True)
    name: str
    height_mm: float
    rating_kn_per_m: float | None = None
    profile_mm: list[Any] = Field(sa_type=JSON_OR_NULL, nullable=False)
