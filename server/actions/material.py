"""Keeping the list of materials."""

from dataclasses import asdict, dataclass

from server.actions.history import (
    archive_row,
    change_row,
    keep,
    need_same_version,
    picture,
    put_row_back,
)
from server.errors import ShopError, say
from server.storage.database import Session
from server.storage.queries.material import find_material, get_material
from server.storage.tables.material import FAMILIES, Material

__all__ = [
    "FAMILIES",
    "MaterialValues",
    "add_material",
    "put_material_back",
    "save_material",
    "set_material_archived",
]


@dataclass(frozen=True, slots=True)
class MaterialValues:
    """What a person may say about a material."""

    name: str
    family: str
    standard: str
    yield_typical_mpa: float
    tensile_typical_mpa: float
    tensile_max_mpa: float | None
    youngs_modulus_mpa: float
    poisson_ratio: float
    density_kg_m3: float
    radius_ratio: float
    k_factor: float | None
    minimum_radius_ratio_to_3mm: float | None
    minimum_radius_ratio_3_to_6mm: float | None
    minimum_radius_ratio_over_6mm: float | None
    source: str
    sure: str


def add_material(session: Session, code: str, values: MaterialValues, *, by: str) -> Material:
    """A new material.

    Raises: ShopError `already_exists`.
    """
    if find_material(session, code) is not None:
        raise ShopError(
            "already_exists",
            say("There is a material '{code}' already.", code=code),
            remedy="Open that one, or use another code.",
            where="code",
        )
    row = Material(code=code, **asdict(values))
    session.add(row)
    keep(session, "added", noun="material", key=code, by=by, after=picture(row))
    return row


def save_material(
    session: Session, code: str, values: MaterialValues, *, version: int, by: str
) -> Material:
    """Changed values of a material.

    Raises: ShopError `not_found`, `edit_conflict`.
    """
    row = get_material(session, code)
    need_same_version(row, version)
    change_row(session, row, asdict(values), noun="material", key=code, did="changed", by=by)
    return row


def set_material_archived(session: Session, code: str, *, archived: bool, by: str) -> Material:
    """Take a material off the lists, or put it back; history keeps it either way.

    Raises: ShopError `not_found`.
    """
    row = get_material(session, code)
    archive_row(session, row, archived=archived, noun="material", key=code, by=by)
    return row


def put_material_back(session: Session, code: str, event_id: int, *, by: str) -> Material:
    """Undo one change of a material.

    Raises: ShopError `not_found`, `edit_conflict` when the same was changed again since.
    """
    row = get_material(session, code)
    put_row_back(session, row, event_id, noun="material", key=code, by=by)
    return row
