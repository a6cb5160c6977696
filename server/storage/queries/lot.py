"""Reading lots: the deliveries of sheet the shop has measured."""

from sqlmodel import Session, col, select

from server.errors import ShopError, say
from server.storage.queries.material import find_lot
from server.storage.tables.material import Lot, Material

__all__ = ["find_lot", "get_lot", "list_lots_with_materials"]


def list_lots_with_materials(
    session: Session, *, with_archived: bool = False, most: int = 500
) -> list[tuple[Lot, Material]]:
    """Lots with their materials, newest first, in one query."""
    query = (
        select(Lot, Material)
        .join(Material, col(Material.code) == col(Lot.material_code))
        .order_by(col(Lot.created_at).desc(), col(Lot.code))
        .limit(most)
    )
    if not with_archived:
        query = query.where(col(Lot.archived_at).is_(None))
    return [(lot, material) for lot, material in session.exec(query)]


def get_lot(session: Session, code: str) -> Lot:
    """The lot with a code.

    Raises: ShopError `not_found`.
    """
    found = find_lot(session, code)
    if found is None:
        raise ShopError(
            "not_found",
            say("There is no lot '{code}'.", code=code),
            remedy="Choose one from the list, or add it.",
            where="lot_code",
        )
    return found


def list_family(session: Session, code: str) -> list[Lot]:
    """A lot with its remnants and theirs."""
    found = [get_lot(session, code)]
    codes = [code]
    while codes:
        query = select(Lot).where(col(Lot.parent_code).in_(codes)).order_by(col(Lot.code))
        children = list(session.exec(query))
        found += children
        codes = [child.code for child in children]
    return found
