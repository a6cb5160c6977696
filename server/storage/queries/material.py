"""Reading materials and lots."""

from sqlmodel import Session, col, select

from server.errors import ShopError, say
from server.mechanics.material import Family
from server.mechanics.material import Material as SheetMetal
from server.storage.tables.material import Lot, Material


def list_materials(session: Session, *, with_archived: bool = False) -> list[Material]:
    """All materials by family and code."""
    query = select(Material).order_by(col(Material.family), col(Material.code))
    if not with_archived:
        query = query.where(col(Material.archived_at).is_(None))
    return list(session.exec(query))


def find_material(session: Session, code: str) -> Material | None:
    """The material with a code, or None."""
    return session.get(Material, code)


def get_material(session: Session, code: str) -> Material:
    """The material with a code.

    Raises: ShopError `not_found`.
    """
    found = find_material(session, code)
    if found is None:
        raise ShopError(
            "not_found",
            say("There is no material '{code}'.", code=code),
            remedy="Choose one from the list, or add it.",
            where="material_code",
        )
    return found


def list_lots(session: Session, material_code: str) -> list[Lot]:
    """Lots of a material, newest first."""
    query = (
        select(Lot)
        .where(col(Lot.material_code) == material_code, col(Lot.archived_at).is_(None))
        .order_by(col(Lot.created_at).desc(), col(Lot.code))
    )
    return list(session.exec(query))


def find_lot(session: Session, code: str | None) -> Lot | None:
    """The lot with a code, or None."""
    return session.get(Lot, code) if code else None


def sheet_metal(material: Material, *, thickness_mm: float, lot: Lot | None = None) -> SheetMetal:
    """What the formulas need of a material at a thickness; a lot's certificate comes first."""
    metal = SheetMetal(
        code=material.code,
        family=_family(material.family),
        youngs_modulus_mpa=material.youngs_modulus_mpa,
        poisson_ratio=material.poisson_ratio,
        yield_strength_mpa=material.yield_typical_mpa,
        tensile_strength_mpa=material.tensile_typical_mpa,
        tensile_max_mpa=material.tensile_max_mpa,
        density_kg_m3=material.density_kg_m3,
        radius_ratio=material.radius_ratio,
        k_factor=material.k_factor,
        minimum_radius_ratio=minimum_radius_ratio(material, thickness_mm=thickness_mm),
        source=material.source,
    )
    if lot is not None and lot.yield_strength_mpa and lot.tensile_strength_mpa:
        return metal.with_strengths(
            yield_strength_mpa=lot.yield_strength_mpa,
            tensile_strength_mpa=lot.tensile_strength_mpa,
        )
    return metal


def minimum_radius_ratio(material: Material, *, thickness_mm: float) -> float | None:
    """Least inside radius / thickness of the material in a thickness band, None when unknown."""
    if thickness_mm <= 3.0:
        return material.minimum_radius_ratio_to_3mm
    if thickness_mm <= 6.0:
        return material.minimum_radius_ratio_3_to_6mm
    return material.minimum_radius_ratio_over_6mm


def _family(family: str) -> Family:
    match family:
        case "steel" | "galvanized" | "stainless" | "aluminium" | "copper" | "brass":
            return family
        case _:
            raise ValueError(f"unknown family {family}")
