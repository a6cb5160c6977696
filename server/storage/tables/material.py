"""Sheet metals, and the lots they came in."""

from sqlmodel import Field

from server.storage.tables.column import Kept, above_zero, no_longer_than, one_of

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
    """Sheets of one delivery: measured thickness and, where known, the certificate's strengths."""

    __tablename__ = "lot"
    __table_args__ = (
        *above_zero(
            "thickness_mm", "measured_thickness_mm", "yield_strength_mpa", "tensile_strength_mpa"
        ),
        *no_longer_than(40, "code"),
    )

    code: str = Field(primary_key=True)
    material_code: str = Field(foreign_key="material.code", index=True)
    thickness_mm: float
    measured_thickness_mm: float | None = None
    heat_number: str = Field(default="", index=True)
    yield_strength_mpa: float | None = None
    tensile_strength_mpa: float | None = None
    note: str = ""
