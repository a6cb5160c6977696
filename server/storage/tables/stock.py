"""What happened to sheets of a lot, and when to order more. Levels are added up, never kept."""

from datetime import datetime

from sqlalchemy import Index
from sqlmodel import Field, SQLModel

from server.storage.tables.column import (
    UtcTime,
    Versioned,
    above_zero,
    not_below_zero,
    one_of,
    utc_now,
)

MOVE_KINDS = (
    "received", "reserved", "released", "consumed", "remnant", "counted", "scrapped",
)  # fmt: skip


class StockMove(SQLModel, table=True):
    """Something that happened to sheets of a lot; `price_per_kg` is an exact decimal in words."""

    __tablename__ = "stock_move"
    __table_args__ = (
        one_of("kind", MOVE_KINDS),
        *not_below_zero("sheets_count"),
        Index("ix_stock_move_lot", "lot_code", "at"),
    )

    id: int | None = Field(default=None, primary_key=True)
    kind: str
    lot_code: str = Field(foreign_key="lot.code")
    sheets_count: int
    at: datetime = Field(default_factory=utc_now, sa_type=UtcTime, nullable=False)
    job_number: str | None = Field(default=None, foreign_key="job.number", index=True)
    price_per_kg: str | None = None
    note: str = ""
    moved_by: str = ""


class ReorderPoint(Versioned, table=True):
    """Order when fewer free sheets than `least_count`; order up to `up_to_count`."""

    __tablename__ = "reorder_point"
    __table_args__ = (
        *above_zero("thickness_mm", "sheet_width_mm", "sheet_length_mm", "up_to_count"),
        *not_below_zero("least_count"),
        Index(
            "uq_reorder_point_size",
            "material_code", "thickness_mm", "sheet_width_mm", "sheet_length_mm",
            unique=True,
        ),
    )  # fmt: skip

    id: int | None = Field(default=None, primary_key=True)
    material_code: str = Field(foreign_key="material.code")
    thickness_mm: float
    sheet_width_mm: float
    sheet_length_mm: float
    least_count: int
    up_to_count: int
