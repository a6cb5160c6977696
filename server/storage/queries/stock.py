"""Reading stock: lots and moves as the pure rules want them, and what is short."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction

from sqlmodel import Session, col, select

from server.errors import Sentence, ShopError
from server.findings import Finding
from server.shop import stock as rules
from server.storage.tables.attachment import Attachment
from server.storage.tables.job import Job
from server.storage.tables.material import Lot
from server.storage.tables.part import Revision
from server.storage.tables.stock import ReorderPoint, StockMove


@dataclass(frozen=True, slots=True)
class Sheets:
    """Lots of sheet with everything that happened to them."""

    lots: tuple[rules.SheetLot, ...]
    moves: tuple[rules.StockMove, ...]

    def levels(self) -> dict[str, rules.Level]:
        """What there is of each lot now."""
        return rules.levels(self.lots, self.moves)


def list_sheets(
    session: Session,
    *,
    material_code: str = "",
    thickness_mm: float | None = None,
    lot_codes: Iterable[str] | None = None,
    with_archived: bool = False,
) -> Sheets:
    """Lots of known size that fit the wish, with their moves, in two queries."""
    query = select(Lot).where(
        col(Lot.sheet_width_mm).is_not(None), col(Lot.sheet_length_mm).is_not(None)
    )
    if not with_archived:
        query = query.where(col(Lot.archived_at).is_(None))
    if material_code:
        query = query.where(col(Lot.material_code) == material_code)
    if thickness_mm is not None:
        query = query.where(
            col(Lot.thickness_mm).between(
                thickness_mm - rules.SAME_MM, thickness_mm + rules.SAME_MM
            )
        )
    if lot_codes is not None:
        query = query.where(col(Lot.code).in_(list(lot_codes)))
    lots = list(session.exec(query.order_by(col(Lot.code))))
    codes = [lot.code for lot in lots]
    papers = _certificates(session, codes)
    moves = select(StockMove).where(col(StockMove.lot_code).in_(codes))
    rows = session.exec(moves.order_by(col(StockMove.at), col(StockMove.id))) if codes else ()
    return Sheets(
        tuple(sheet_lot(lot, papers.get(lot.code, "")) for lot in lots),
        tuple(stock_move(row) for row in rows),
    )


def sheet_lot(lot: Lot, certificate: str = "") -> rules.SheetLot:
    """A lot as the stock rules see it."""
    return rules.SheetLot(
        code=lot.code,
        material=lot.material_code,
        thickness_mm=lot.thickness_mm,
        width_mm=lot.sheet_width_mm or 0.0,
        height_mm=lot.sheet_length_mm or 0.0,
        heat_number=lot.heat_number,
        certificate=certificate,
        parent=lot.parent_code,
    )


def stock_move(row: StockMove) -> rules.StockMove:
    """A move as the stock rules see it."""
    kind = next(one for one in KINDS if one == row.kind)
    price = None if row.price_per_kg is None else Fraction(Decimal(row.price_per_kg))
    return rules.StockMove(
        kind, row.lot_code, row.sheets_count, row.at, row.job_number, price, row.note
    )


KINDS: tuple[rules.MoveKind, ...] = (
    "received", "reserved", "released", "consumed", "remnant", "counted", "scrapped",
)  # fmt: skip


def list_lot_moves(session: Session, lot_code: str, *, most: int = 200) -> list[StockMove]:
    """What happened to a lot, newest first."""
    query = (
        select(StockMove)
        .where(col(StockMove.lot_code) == lot_code)
        .order_by(col(StockMove.at).desc(), col(StockMove.id).desc())
        .limit(most)
    )
    return list(session.exec(query))


def list_job_moves(session: Session, job_number: str) -> list[StockMove]:
    """What a job reserved, consumed and left, in order."""
    query = (
        select(StockMove)
        .where(col(StockMove.job_number) == job_number)
        .order_by(col(StockMove.at), col(StockMove.id))
    )
    return list(session.exec(query))


def reserved_by(session: Session, job_number: str) -> dict[str, int]:
    """Sheets a job has reserved and not yet consumed, by lot."""
    left: dict[str, int] = {}
    for move in list_job_moves(session, job_number):
        sign = {"reserved": 1, "released": -1, "consumed": -1}.get(move.kind, 0)
        left[move.lot_code] = max(0, left.get(move.lot_code, 0) + sign * move.sheets_count)
    return {code: count for code, count in left.items() if count > 0}


def list_reorder_points(session: Session) -> list[ReorderPoint]:
    """The shop's reorder points by material, thickness and size."""
    query = select(ReorderPoint).order_by(
        col(ReorderPoint.material_code),
        col(ReorderPoint.thickness_mm),
        col(ReorderPoint.sheet_width_mm),
    )
    return list(session.exec(query))


def get_reorder_point(session: Session, point_id: int) -> ReorderPoint:
    """One reorder point.

    Raises: ShopError `not_found`.
    """
    found = session.get(ReorderPoint, point_id)
    if found is None:
        raise ShopError("not_found", "That reorder point is gone.", remedy="Reload the page.")
    return found


def list_short_stock(
    session: Session, *, material_code: str = "", thickness_mm: float | None = None
) -> tuple[Finding, ...]:
    """A caution for every size of which fewer sheets are free than its reorder point asks.

    This is what the board, the quote and the schedule show of low stock; give a material and a
    thickness to be told of those only.
    """
    points = [
        rules.ReorderPoint(
            row.material_code,
            row.thickness_mm,
            row.sheet_width_mm,
            row.sheet_length_mm,
            row.least_count,
            row.up_to_count,
        )
        for row in list_reorder_points(session)
        if material_code in ("", row.material_code)
        and (thickness_mm is None or abs(row.thickness_mm - thickness_mm) <= rules.SAME_MM)
    ]
    if not points:
        return ()
    sheets = list_sheets(session, material_code=material_code, thickness_mm=thickness_mm)
    return rules.check_reorder(points, sheets.levels())


def list_jobs_short_of_stock(session: Session, numbers: Iterable[str]) -> tuple[Finding, ...]:
    """A caution for every one of these jobs whose size of sheet is low, in the order given.

    A job that has its sheets reserved is not concerned.
    """
    wanted = list(dict.fromkeys(numbers))
    query = (
        select(Job.number, Revision.material_code, Revision.thickness_mm)
        .join(
            Revision,
            (col(Revision.part_number) == col(Job.part_number))
            & (col(Revision.label) == col(Job.revision_label)),
        )
        .where(col(Job.number).in_(wanted))
    )
    sheets = {number: (code, thickness_mm) for number, code, thickness_mm in session.exec(query)}
    low = {
        (code, thickness_mm): list_short_stock(
            session, material_code=code, thickness_mm=thickness_mm
        )
        for code, thickness_mm in set(sheets.values())
    }
    return tuple(
        replace(
            found,
            what=Sentence(
                "Job {job}: " + found.what.template, {**found.what.amounts, "job": number}
            ),
        )
        for number in wanted
        for found in low.get(sheets.get(number, ("", 0.0)), ())
        if not reserved_by(session, number)
    )


def find_price_per_kg(
    session: Session, *, material_code: str, thickness_mm: float
) -> Fraction | None:
    """The price last paid for a material and thickness, in major units; None when unknown."""
    sheets = list_sheets(
        session, material_code=material_code, thickness_mm=thickness_mm, with_archived=True
    )
    history = rules.price_history(
        sheets.lots, sheets.moves, material=material_code, thickness_mm=thickness_mm
    )
    return history.last


def keeps_stock(session: Session, *, material_code: str, thickness_mm: float) -> bool:
    """Whether the shop keeps account of a material and thickness at all."""
    query = (
        select(StockMove.id)
        .join(Lot, col(Lot.code) == col(StockMove.lot_code))
        .where(
            col(Lot.material_code) == material_code,
            col(Lot.thickness_mm).between(
                thickness_mm - rules.SAME_MM, thickness_mm + rules.SAME_MM
            ),
        )
        .limit(1)
    )
    return session.exec(query).first() is not None


def _certificates(session: Session, codes: list[str]) -> dict[str, str]:
    if not codes:
        return {}
    query = select(col(Attachment.key), col(Attachment.name)).where(
        col(Attachment.noun) == "lot",
        col(Attachment.key).in_(codes),
        col(Attachment.certificate),
        col(Attachment.removed_at).is_(None),
    )
    return dict(session.exec(query).all())
