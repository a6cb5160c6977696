"""Parts, their frozen revisions, and the draft somebody is drawing."""

from datetime import datetime
from typing import Any

from sqlalchemy import Index
from sqlmodel import Field, SQLModel

from server.storage.tables.column import (
    JSON_OR_NULL,
    Kept,
    UtcTime,
    Versioned,
    above_zero,
    no_longer_than,
    not_below_zero,
    one_of,
    utc_now,
)

PART_KINDS = ("profile", "flat")


class Part(Kept, table=True):
    """A shop part number. Its shapes are the revisions."""

    __tablename__ = "part"
    __table_args__ = (
        *no_longer_than(40, "number"),
        *no_longer_than(200, "name"),
        Index("ix_part_changed", "archived_at", "changed_at", "number"),
        Index("ix_part_seen", "changed_at"),
    )

    number: str = Field(primary_key=True)
    name: str
    note: str = ""


class Revision(SQLModel, table=True):
    """One frozen geometry and material of a part; never changed, only superseded.

    `drawn` is what the person typed; `faces` the general faces-and-bends part made of it. The blank
    belongs to the die it was worked out for: `blank_v_opening_mm`.
    """

    __tablename__ = "revision"
    __table_args__ = (
        one_of("kind", PART_KINDS),
        *above_zero(
            "thickness_mm", "blank_length_mm", "blank_width_mm", "area_mm2", "blank_v_opening_mm"
        ),
        *not_below_zero("mass_kg", "cut_length_mm"),
        *no_longer_than(10, "label"),
    )

    part_number: str = Field(foreign_key="part.number", primary_key=True)
    label: str = Field(primary_key=True)
    kind: str
    material_code: str = Field(foreign_key="material.code", index=True)
    thickness_mm: float
    drawn: dict[str, Any] = Field(sa_type=JSON_OR_NULL, nullable=False)
    faces: dict[str, Any] = Field(sa_type=JSON_OR_NULL, nullable=False)
    blank_length_mm: float
    blank_width_mm: float
    area_mm2: float
    cut_length_mm: float
    pierces_count: int = 1
    mass_kg: float
    blank_v_opening_mm: float | None = None
    blank_die_code: str | None = Field(default=None, foreign_key="die.code")
    blank_k_factor: float | None = None
    blank_k_from: str = "din6935"
    note: str = ""
    made_by: str = ""
    made_at: datetime = Field(default_factory=utc_now, sa_type=UtcTime, nullable=False)
    superseded_at: datetime | None = Field(default=None, sa_type=UtcTime)


class Draft(Versioned, table=True):
    """A shape being drawn: every change is a snapshot, so it can be undone and redone."""

    __tablename__ = "draft"
    __table_args__ = (one_of("kind", PART_KINDS), *not_below_zero("place_count"))

    id: int | None = Field(default=None, primary_key=True)
    part_number: str = Field(default="", index=True)
    kind: str
    snapshots: list[Any] = Field(sa_type=JSON_OR_NULL, nullable=False)
    place_count: int = 0
    made_by: str = ""
