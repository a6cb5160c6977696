"""What the shop counts with beside its hour rates: cutting speeds and prices of sheet."""

from datetime import date

from sqlalchemy import UniqueConstraint
from sqlmodel import Field

from server.storage.tables.column import (
    Versioned,
    above_zero,
    no_longer_than,
    not_below_zero,
    one_of,
)
from server.storage.tables.material import FAMILIES


class CutSpeedRow(Versioned, table=True):
    """One row of a cutter's table: how fast it cuts a family of metals at a thickness."""

    __tablename__ = "cut_speed"
    __table_args__ = (
        UniqueConstraint("cutter", "family", "thickness_mm"),
        one_of("family", FAMILIES),
        *above_zero("thickness_mm", "cut_speed_mm_per_s"),
        *not_below_zero("pierce_s"),
        *no_longer_than(40, "cutter"),
    )

    id: int | None = Field(default=None, primary_key=True)
    cutter: str
    family: str
    thickness_mm: float
    cut_speed_mm_per_s: float
    pierce_s: float
    source: str = ""


class SheetPriceRow(Versioned, table=True):
    """What a sheet of a material and thickness costs. `price_per_kg` is an exact decimal as text."""

    __tablename__ = "sheet_price"
    __table_args__ = (
        UniqueConstraint("material_code", "thickness_mm", "sheet_width_mm", "sheet_height_mm"),
        *above_zero("thickness_mm", "sheet_width_mm", "sheet_height_mm"),
        *no_longer_than(20, "price_per_kg"),
        *no_longer_than(80, "supplier"),
    )

    id: int | None = Field(default=None, primary_key=True)
    material_code: str = Field(foreign_key="material.code", index=True)
    thickness_mm: float
    sheet_width_mm: float
    sheet_height_mm: float
    price_per_kg: str
    supplier: str = ""
    priced_on: date | None = None
