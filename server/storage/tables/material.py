"""Sheet metals, and the lots they came in."""

from datetime import datetime
from typing import Any

from sqlalchemy import Index
from sqlmodel import Field, SQLModel

from server.storage.tables.column import (
    JSON_OR_NULL,
    Kept,
    UtcTime,
    above_zero,
    no_longer_than,
    one_of,
    utc_now,
)

FAMILIES = ("steel", "galvanized", "stainless", "aluminium", "copper", "brass")


class Material(Kept, table=True):
    """A grade of sheet metal. Typical strengths are what a sheet is expected to have."""

    __tablename__ = "material"
    __table_args__ = (
        one_of("family", FAMILIES),
        *above_zero(
            "yield_typical_mpa",
            "tensile_typical_mpa",
            "youngs_modulus_mpa",
            "density_kg_m3",
            "radius_ratio",
        ),
        *no_longer_than(40, "code"),
    )

    code: str = Field(primary_key=True)
    name: str
    family: str
    standard: str = ""
    yield_min_mpa: float | None = None
    yield_max_mpa: float | None = None
    tensile_min_mpa: float | None = None
    tensile_max_mpa: float | None = None
    elongation_min_percent: float | None = None
    yield_typical_mpa: float
    tensile_typical_mpa: float
    youngs_modulus_mpa: float
    poisson_ratio: float
    density_kg_m3: float
    radius_ratio: float
    k_factor: float | None = None
    minimum_radius_ratio_to_3mm: float | None = None
    minimum_radius_ratio_3_to_6mm: float | None = None
    minimum_radius_ratio_over_6mm: float | None = None
    source: str = ""
    sure: str = ""


class Lot(Kept, table=True):
    """Sheets of one delivery: measured thickness and, where known, the certificate's strengths.

    `measured_thickness_mm` is the mean of the readings at the edges; `thickness_standard` is the
    product standard the sheet was ordered to, which says how far it may be from nominal. A remnant
    is a lot of one sheet that names the lot it was cut from: `parent_code`.
    """

    __tablename__ = "lot"
    __table_args__ = (
        *above_zero(
            "thickness_mm",
            "measured_thickness_mm",
            "yield_strength_mpa",
            "tensile_strength_mpa",
            "sheet_width_mm",
            "sheet_length_mm",
        ),
        *no_longer_than(40, "code"),
        Index("ix_lot_sheet", "material_code", "thickness_mm"),
    )

    code: str = Field(primary_key=True)
    material_code: str = Field(foreign_key="material.code")
    thickness_mm: float
    measured_thickness_mm: float | None = None
    measured_edges_mm: list[Any] | None = Field(default=None, sa_type=JSON_OR_NULL)
    thickness_standard: str = Field(default="", sa_column_kwargs={"server_default": ""})
    sheet_width_mm: float | None = None
    sheet_length_mm: float | None = None
    parent_code: str | None = Field(default=None, foreign_key="lot.code", index=True)
    heat_number: str = Field(default="", index=True)
    yield_strength_mpa: float | None = None
    tensile_strength_mpa: float | None = None
    note: str = ""


class Coupon(SQLModel, table=True):
    """Test strips measured on one metal, thickness and V: the shop's own deduction."""

    __tablename__ = "coupon"
    __table_args__ = (*above_zero("thickness_mm", "v_opening_mm", "bend_angle_deg"),)

    id: int | None = Field(default=None, primary_key=True)
    material_code: str = Field(foreign_key="material.code", index=True)
    lot_code: str | None = Field(default=None, foreign_key="lot.code")
    die_code: str = Field(foreign_key="die.code")
    punch_code: str = Field(foreign_key="punch.code")
    thickness_mm: float
    v_opening_mm: float
    bend_angle_deg: float
    inside_radius_mm: float
    strips: list[Any] = Field(sa_type=JSON_OR_NULL, nullable=False)
    bend_deduction_mm: float
    spread_mm: float
    k_factor: float
    in_use: bool = True
    measured_by: str = ""
    measured_at: datetime = Field(default_factory=utc_now, sa_type=UtcTime, nullable=False)
