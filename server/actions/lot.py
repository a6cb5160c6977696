"""Keeping lots: what came in, how thick it was measured, what its certificate says."""

from dataclasses import asdict, dataclass
from typing import Any

from server.actions.history import (
    archive_row,
    change_row,
    keep,
    need_same_version,
    picture,
    put_row_back,
)
from server.errors import ShopError, say
from server.mechanics.measured_thickness import mean_thickness
from server.storage.database import Session
from server.storage.queries.lot import find_lot, get_lot
from server.storage.queries.material import get_material
from server.storage.tables.material import Lot

NOUN = "lot"


@dataclass(frozen=True, slots=True)
class LotValues:
    """What a person may say about a lot; `edges_mm` are the readings at the sheet's edges."""

    material_code: str
    thickness_mm: float
    edges_mm: tuple[float, ...]
    thickness_standard: str
    sheet_width_mm: float | None
    heat_number: str
    yield_strength_mpa: float | None
    tensile_strength_mpa: float | None
    note: str


def add_lot(session: Session, code: str, values: LotValues, *, by: str) -> Lot:
    """A new lot.

    Raises: ShopError `already_exists`, `not_found` for its material.
    """
    if find_lot(session, code) is not None:
        raise ShopError(
            "already_exists",
            say("There is a lot '{code}' already.", code=code),
            remedy="Open that one, or use another code.",
            where="code",
        )
    get_material(session, values.material_code)
    row = Lot(code=code, **_columns(values))
    session.add(row)
    keep(session, "added", noun=NOUN, key=code, by=by, after=picture(row))
    return row


def save_lot(session: Session, code: str, values: LotValues, *, version: int, by: str) -> Lot:
    """Changed values of a lot, or a new measurement.

    Raises: ShopError `not_found`, `edit_conflict`.
    """
    row = get_lot(session, code)
    need_same_version(row, version)
    get_material(session, values.material_code)
    change_row(session, row, _columns(values), noun=NOUN, key=code, did="changed", by=by)
    return row


def set_lot_archived(session: Session, code: str, *, archived: bool, by: str) -> Lot:
    """Take a used-up lot off the lists, or put it back; what was made of it keeps its name.

    Raises: ShopError `not_found`.
    """
    row = get_lot(session, code)
    archive_row(session, row, archived=archived, noun=NOUN, key=code, by=by)
    return row


def put_lot_back(session: Session, code: str, event_id: int, *, by: str) -> Lot:
    """Undo one change of a lot.

    Raises: ShopError `not_found`, `edit_conflict` when the same was changed again since.
    """
    row = get_lot(session, code)
    put_row_back(session, row, event_id, noun=NOUN, key=code, by=by)
    return row


def _columns(values: LotValues) -> dict[str, Any]:
    columns = asdict(values)
    edges = list(columns.pop("edges_mm"))
    columns["measured_edges_mm"] = edges or None
    columns["measured_thickness_mm"] = mean_thickness(readings_mm=edges) if edges else None
    return columns
