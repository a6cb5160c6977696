"""Keeping account of sheet: received, reserved, consumed, remnants, counted, reorder points.

Every change is a move that stays; levels are added up from the moves by the stock rules.
"""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from fractions import Fraction

from server.actions.history import keep, picture
from server.errors import ShopError, say
from server.findings import Finding
from server.shop import stock as rules
from server.shop.nesting import nest_equal
from server.shop.sheet_room import Blank, Sheet
from server.storage.database import Session
from server.storage.queries.job import get_job
from server.storage.queries.lot import find_lot, get_lot
from server.storage.queries.material import get_material
from server.storage.queries.part import get_revision
from server.storage.queries.stock import (
    get_reorder_point,
    list_lot_moves,
    list_reorder_points,
    list_sheets,
    reserved_by,
    sheet_lot,
    stock_move,
)
from server.storage.tables.column import utc_now
from server.storage.tables.material import Lot
from server.storage.tables.stock import ReorderPoint, StockMove

NOUN = "lot"
MOST_DECIMALS = 6


@dataclass(frozen=True, slots=True)
class DeliveryValues:
    """Sheets that came in: of which lot, how large, how many, for how much."""

    lot_code: str
    material_code: str
    thickness_mm: float
    sheet_width_mm: float
    sheet_length_mm: float
    sheets_count: int
    price_per_kg: Fraction | None = None
    heat_number: str = ""
    thickness_standard: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class ReorderValues:
    """When to order more of a size, and up to how many."""

    material_code: str
    thickness_mm: float
    sheet_width_mm: float
    sheet_length_mm: float
    least_count: int
    up_to_count: int


def receive(session: Session, values: DeliveryValues, *, by: str) -> Lot:
    """Sheets of a new lot, or more of a lot that is there.

    Raises: ShopError `not_found` for the material, `other_lot` for a lot of other sheets,
        `no_sheets`, `too_many_decimals` for a price no file could keep exactly.
    """
    get_material(session, values.material_code)
    price = None if values.price_per_kg is None else _written(values.price_per_kg)
    row = find_lot(session, values.lot_code)
    if row is None:
        row = Lot(
            code=values.lot_code,
            material_code=values.material_code,
            thickness_mm=values.thickness_mm,
            sheet_width_mm=values.sheet_width_mm,
            sheet_length_mm=values.sheet_length_mm,
            heat_number=values.heat_number,
            thickness_standard=values.thickness_standard,
            note=values.note,
        )
        session.add(row)
        session.flush()
        keep(session, "added", noun=NOUN, key=row.code, by=by, after=picture(row))
    else:
        _need_same_sheets(row, values)
        row.sheet_width_mm, row.sheet_length_mm = values.sheet_width_mm, values.sheet_length_mm
        row.heat_number = row.heat_number or values.heat_number
        row.archived_at = None
        session.add(row)
    _record(
        session,
        StockMove(
            kind="received",
            lot_code=row.code,
            sheets_count=values.sheets_count,
            price_per_kg=price,
            note=values.note,
            moved_by=by,
        ),
    )
    return row


def reserve(
    session: Session, job_number: str, lot_code: str, sheets_count: int, *, by: str
) -> None:
    """Promise free sheets of a lot to a job.

    Raises: ShopError `not_found`, `not_enough_sheets`.
    """
    get_job(session, job_number)
    lot = get_lot(session, lot_code)
    free = level_of(session, lot).free_count
    if sheets_count > free:
        raise ShopError(
            "not_enough_sheets",
            say("{free} sheets of {lot} are free.", free=str(free), lot=lot_code),
            remedy="Reserve fewer, or choose another lot.",
            where="sheets_count",
        )
    _moved(session, "reserved", lot_code, sheets_count, job_number=job_number, by=by)


def sheets_wanted(
    session: Session, job_number: str, *, width_mm: float, height_mm: float
) -> rules.SheetsWanted:
    """How many sheets of a size a job takes, by the nesting estimate.

    Raises: ShopError `not_found`, or that its blank does not fit the sheet.
    """
    job = get_job(session, job_number)
    revision = get_revision(session, job.part_number, job.revision_label)
    blank = Blank(revision.blank_length_mm, revision.blank_width_mm)
    nest = nest_equal(
        blank=blank,
        sheet=Sheet(width_mm, height_mm),
        quantity_count=max(1, job.quantity_count - job.good_count),
    )
    return rules.SheetsWanted(
        job_number,
        revision.material_code,
        revision.thickness_mm,
        width_mm,
        height_mm,
        nest.sheets_count,
    )


def reserve_best(
    session: Session, job_number: str, *, width_mm: float, height_mm: float, by: str
) -> tuple[Finding, ...]:
    """Reserve what a job takes: remnants first, one lot where one has enough.

    Returns: a caution where sheets are missing.

    Raises: ShopError `not_found`, or that its blank does not fit the sheet.
    """
    wanted = sheets_wanted(session, job_number, width_mm=width_mm, height_mm=height_mm)
    have = sum(reserved_by(session, job_number).values())
    if have >= wanted.sheets_count:
        return ()
    still = rules.SheetsWanted(
        wanted.job,
        wanted.material,
        wanted.thickness_mm,
        width_mm,
        height_mm,
        wanted.sheets_count - have,
    )
    sheets = list_sheets(session, material_code=wanted.material, thickness_mm=wanted.thickness_mm)
    moves, found = rules.reserved_for(still, sheets.levels(), at=utc_now())
    for move in moves:
        _moved(session, "reserved", move.lot, move.sheets_count, job_number=job_number, by=by)
    return found


def release(session: Session, job_number: str, *, by: str) -> None:
    """Free everything a job has reserved and not consumed.

    Raises: ShopError `not_found`.
    """
    get_job(session, job_number)
    for lot_code, count in reserved_by(session, job_number).items():
        _moved(session, "released", lot_code, count, job_number=job_number, by=by)


def consume(
    session: Session, lot_code: str, sheets_count: int, *, job_number: str | None = None, by: str
) -> None:
    """Sheets cut up, for a job or without one.

    Raises: ShopError `not_found`, `not_enough_sheets`, `no_sheets`.
    """
    if job_number:
        get_job(session, job_number)
    _moved(session, "consumed", lot_code, sheets_count, job_number=job_number or None, by=by)


def scrap(session: Session, lot_code: str, sheets_count: int, *, note: str, by: str) -> None:
    """Sheets that are no good any more.

    Raises: ShopError `not_found`, `not_enough_sheets`, `no_sheets`.
    """
    _moved(session, "scrapped", lot_code, sheets_count, note=note, by=by)


def count(session: Session, lot_code: str, sheets_count: int, *, note: str = "", by: str) -> None:
    """What somebody counted is what there is.

    Raises: ShopError `not_found`.
    """
    _moved(session, "counted", lot_code, sheets_count, note=note, by=by)


def put_remnant_back(
    session: Session,
    parent_code: str,
    *,
    width_mm: float,
    height_mm: float,
    job_number: str | None = None,
    by: str,
) -> Lot:
    """A rest that goes back to stock as a lot of one sheet, with its parent's papers.

    Raises: ShopError `not_found`, `remnant_too_large`.
    """
    parent = get_lot(session, parent_code)
    code = next(
        name
        for place in range(1, 1000)
        if find_lot(session, name := f"{parent_code}-R{place}") is None
    )
    rest = rules.remnant_lot(sheet_lot(parent), code=code, width_mm=width_mm, height_mm=height_mm)
    row = Lot(
        code=rest.code,
        material_code=parent.material_code,
        thickness_mm=parent.thickness_mm,
        measured_thickness_mm=parent.measured_thickness_mm,
        measured_edges_mm=parent.measured_edges_mm,
        thickness_standard=parent.thickness_standard,
        sheet_width_mm=width_mm,
        sheet_length_mm=height_mm,
        parent_code=parent.code,
        heat_number=parent.heat_number,
        yield_strength_mpa=parent.yield_strength_mpa,
        tensile_strength_mpa=parent.tensile_strength_mpa,
    )
    session.add(row)
    session.flush()
    keep(session, "added", noun=NOUN, key=code, by=by, after=picture(row))
    _moved(session, "remnant", code, 1, job_number=job_number or None, by=by)
    return row


def undo_last(session: Session, lot_code: str, *, by: str) -> None:
    """Take the newest move of a lot back, while it is one a person made by hand.

    Raises: ShopError `not_found`, `nothing_to_undo`.
    """
    lot = get_lot(session, lot_code)
    last = next(iter(list_lot_moves(session, lot_code, most=1)), None)
    if last is None:
        raise ShopError(
            "nothing_to_undo",
            say("Nothing happened to {lot} yet.", lot=lot_code),
            remedy="Reload the page.",
            where="form",
        )
    keep(session, "undid", noun=NOUN, key=lot_code, by=by, before=picture(last))
    session.delete(last)
    session.flush()
    level_of(session, lot)


def save_reorder_point(session: Session, values: ReorderValues, *, by: str) -> ReorderPoint:
    """When to order a size again; the same size has one reorder point.

    Raises: ShopError `not_found`, `least_above_most`.
    """
    get_material(session, values.material_code)
    if values.up_to_count < values.least_count:
        raise ShopError(
            "least_above_most",
            "Ordering up to fewer than the least would never end.",
            remedy="Order up to at least the least.",
            where="up_to",
        )
    row = _same_size(session, values) or ReorderPoint(
        material_code=values.material_code,
        thickness_mm=values.thickness_mm,
        sheet_width_mm=values.sheet_width_mm,
        sheet_length_mm=values.sheet_length_mm,
        least_count=values.least_count,
        up_to_count=values.up_to_count,
    )
    before = picture(row) if row.id is not None else None
    row.least_count, row.up_to_count = values.least_count, values.up_to_count
    session.add(row)
    session.flush()
    keep(
        session,
        "set reorder point",
        noun="material",
        key=values.material_code,
        by=by,
        before=before,
        after=picture(row),
    )
    return row


def remove_reorder_point(session: Session, point_id: int, *, by: str) -> None:
    """No longer warn of one size.

    Raises: ShopError `not_found`.
    """
    row = get_reorder_point(session, point_id)
    keep(
        session,
        "removed reorder point",
        noun="material",
        key=row.material_code,
        by=by,
        before=picture(row),
    )
    session.delete(row)


def level_of(session: Session, lot: Lot, *, then: StockMove | None = None) -> rules.Level:
    """What there is of a lot, or what there would be after one more move.

    Raises: ShopError `not_enough_sheets`, `not_reserved` when its moves contradict each other.
    """
    moves = [stock_move(row) for row in list_lot_moves(session, lot.code, most=100_000)]
    moves.reverse()
    if then is not None:
        moves.append(stock_move(then))
    return rules.levels([sheet_lot(lot)], moves)[lot.code]


def _moved(
    session: Session,
    kind: rules.MoveKind,
    lot_code: str,
    sheets_count: int,
    *,
    job_number: str | None = None,
    note: str = "",
    by: str,
) -> None:
    get_lot(session, lot_code)
    _record(
        session,
        StockMove(
            kind=kind,
            lot_code=lot_code,
            sheets_count=sheets_count,
            job_number=job_number,
            note=note,
            moved_by=by,
        ),
    )


def _record(session: Session, move: StockMove) -> None:
    """Keep a move if the rules allow it after all that happened before."""
    lot = get_lot(session, move.lot_code)
    move.at = _after_the_last(session, lot.code)
    level_of(session, lot, then=move)
    session.add(move)
    session.flush()
    about = ("job", move.job_number) if move.job_number else (NOUN, move.lot_code)
    words = {"sheets_count": move.sheets_count, "lot": move.lot_code, "price": move.price_per_kg}
    keep(session, f"sheets {move.kind}", noun=about[0], key=about[1], by=move.moved_by, after=words)


def _after_the_last(session: Session, lot_code: str) -> datetime:
    """Now, but never before the lot's last move: the order of moves is what counts."""
    last = next(iter(list_lot_moves(session, lot_code, most=1)), None)
    now = utc_now()
    return now if last is None else max(now, last.at)


def _need_same_sheets(row: Lot, values: DeliveryValues) -> None:
    same = (
        row.material_code == values.material_code
        and abs(row.thickness_mm - values.thickness_mm) <= rules.SAME_MM
        and row.sheet_width_mm in (None, values.sheet_width_mm)
        and row.sheet_length_mm in (None, values.sheet_length_mm)
        and (not values.heat_number or row.heat_number in ("", values.heat_number))
    )
    if not same:
        raise ShopError(
            "other_lot",
            say("Lot {lot} is of other sheets.", lot=row.code),
            remedy="Use another lot code: a lot is one material, size and heat.",
            where="lot",
        )


def _same_size(session: Session, values: ReorderValues) -> ReorderPoint | None:
    return next(
        (
            row
            for row in list_reorder_points(session)
            if row.material_code == values.material_code
            and abs(row.thickness_mm - values.thickness_mm) <= rules.SAME_MM
            and abs(row.sheet_width_mm - values.sheet_width_mm) <= rules.SAME_MM
            and abs(row.sheet_length_mm - values.sheet_length_mm) <= rules.SAME_MM
        ),
        None,
    )


def _written(price: Fraction) -> str:
    """An exact decimal in words.

    Raises: ShopError `too_many_decimals`.
    """
    scaled = price * 10**MOST_DECIMALS
    if scaled.denominator != 1:
        raise ShopError(
            "too_many_decimals",
            "The price has more decimals than are kept.",
            remedy="Give at most six decimals.",
            where="price_per_kg",
        )
    return f"{Decimal(int(scaled)).scaleb(-MOST_DECIMALS).normalize():f}"
