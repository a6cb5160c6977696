"""Stock: levels of each size, deliveries, one lot's sheets, reorder points."""

from collections.abc import Iterable
from fractions import Fraction
from itertools import groupby
from typing import TYPE_CHECKING
from urllib.parse import quote

from fastapi import APIRouter
from starlette.responses import Response

from server.actions import stock as actions
from server.shop import stock as rules
from server.shop.trace import traced_from_lot
from server.storage.database import Session
from server.storage.queries import stock as queries
from server.storage.queries.history import list_events
from server.storage.queries.lot import get_lot, list_family
from server.storage.queries.material import list_materials
from server.web.forms.form import Form
from server.web.forms.lot import STANDARD_CHOICES
from server.web.forms.stock import MOST_SHEETS, read_delivery, read_reorder
from server.web.house import Typed, Visit, Visiting
from server.web.pages.history import history_of
from server.web.pages.stock import PriceLine, SizeLine, StockList, StockReceive, StockShow
from server.web.problems import status_of
from server.web.routes.attachment import attachments_of

if TYPE_CHECKING:
    from server.storage.tables.stock import ReorderPoint

router = APIRouter(prefix="/office/stock", include_in_schema=False)


@router.get("")
def stock(visit: Visiting) -> Response:
    """Everything in stock."""
    return visit.answer(_list(visit, Form({}, visit.unit)))


@router.post("/reorder")
def set_reorder(visit: Visiting, typed: Typed) -> Response:
    """When to order a size again."""
    form = Form.posted(typed, visit.unit)
    values = read_reorder(form, _families(visit))
    with visit.database.writing() as session:
        form.attempt(lambda: actions.save_reorder_point(session, values, by=visit.person), session)
    if not form.ok:
        return visit.answer(_list(visit, form), status=status_of(form))
    return visit.go_to("/office/stock#reorder")


@router.post("/reorder/{point_id}/removed")
def remove_reorder(visit: Visiting, point_id: int) -> Response:
    """No longer warn of a size."""
    with visit.database.writing() as session:
        actions.remove_reorder_point(session, point_id, by=visit.person)
    return visit.go_to("/office/stock#reorder")


@router.get("/receive")
def new_delivery(visit: Visiting, material: str = "", lot: str = "") -> Response:
    """An empty delivery, or one more of a lot that is there."""
    typed = {"material_code": material}
    if lot:
        with visit.database.reading() as session:
            row = get_lot(session, lot)
        typed = {
            "lot": row.code,
            "material_code": row.material_code,
            "thickness": visit.show.typed(row.thickness_mm),
            "sheet_width": visit.show.typed(row.sheet_width_mm),
            "sheet_length": visit.show.typed(row.sheet_length_mm),
            "heat_number": row.heat_number,
        }
    return visit.answer(_receive(visit, Form(typed, visit.unit)))


@router.post("/receive")
def receive(visit: Visiting, typed: Typed) -> Response:
    """Write a delivery down."""
    form = Form.posted(typed, visit.unit)
    values = read_delivery(form, _families(visit), currency=visit.show.currency)
    with visit.database.writing() as session:
        form.attempt(lambda: actions.receive(session, values, by=visit.person), session)
    if not form.ok:
        return visit.answer(_receive(visit, form), status=status_of(form))
    return visit.go_to(f"/office/stock/lot/{values.lot_code}?saved=yes")


@router.get("/lot/{code}")
def lot(visit: Visiting, code: str, saved: bool = False, removed: int = 0) -> Response:
    """One lot's sheets, and everything that belongs together with it."""
    page = _show(visit, code, Form({}, visit.unit), saved=saved, removed=removed)
    return visit.answer(page)


@router.post("/lot/{code}/{what}")
def move(visit: Visiting, code: str, what: str, typed: Typed) -> Response:
    """Count, use up, scrap, put a remnant back, or undo the last of these."""
    form = Form.posted(typed, visit.unit)
    with visit.database.writing() as session:
        where = form.attempt(lambda: _move(session, form, code, what, by=visit.person), session)
    if not form.ok:
        return visit.answer(_show(visit, code, form), status=status_of(form))
    return visit.go_to(f"/office/stock/lot/{quote(where or code)}?saved=yes")


def _move(session: Session, form: Form, code: str, what: str, *, by: str) -> str:
    """Carry out what was asked of a lot; returns the lot to show."""
    job, note = form.code("job", needed=False), form.text("note", most=200)
    if what == "remnant":
        width = form.need_length_mm("width", most_mm=20_000)
        height = form.need_length_mm("height", most_mm=20_000)
        form.need_ok()
        rest = actions.put_remnant_back(
            session, code, width_mm=width, height_mm=height, job_number=job, by=by
        )
        return rest.code
    if what == "undo":
        actions.undo_last(session, code, by=by)
        return code
    count = form.whole("sheets_count", least=0, most=MOST_SHEETS)
    form.need_ok()
    match what:
        case "count":
            actions.count(session, code, count, note=note, by=by)
        case "scrap":
            actions.scrap(session, code, count, note=note, by=by)
        case "reserve":
            actions.reserve(session, job, code, count, by=by)
        case _:
            actions.consume(session, code, count, job_number=job, by=by)
    return code


def _list(visit: Visit, form: Form) -> StockList:
    with visit.database.reading() as session:
        sheets = queries.list_sheets(session)
        points = queries.list_reorder_points(session)
        low = queries.list_short_stock(session)
        materials = list_materials(session)
    return StockList(
        frame=visit.frame("Stock", "stock", styles=("tool", "job")),
        lines=tuple(_size_lines(sheets, points)),
        low_stock=low,
        points=points,
        form=form,
        materials=_choices((row.code, row.name) for row in materials),
    )


def _size_lines(sheets: queries.Sheets, points: "list[ReorderPoint]") -> Iterable[SizeLine]:
    def size(level: rules.Level) -> tuple[str, float, bool, float, float]:
        lot = level.lot
        return (lot.material, lot.thickness_mm, bool(lot.parent), lot.width_mm, lot.height_mm)

    there = [one for one in sheets.levels().values() if one.on_hand_count or one.reserved_count]
    for key, group in groupby(sorted(there, key=size), key=size):
        material, thickness_mm, remnant, width_mm, height_mm = key
        levels = tuple(group)
        prices = rules.price_history(
            sheets.lots, sheets.moves, material=material, thickness_mm=thickness_mm
        )
        least = next(
            (
                row.least_count
                for row in points
                if (row.material_code, row.thickness_mm, row.sheet_width_mm, row.sheet_length_mm)
                == (material, thickness_mm, width_mm, height_mm)
            ),
            None,
        )
        yield SizeLine(
            material=material,
            thickness_mm=thickness_mm,
            width_mm=width_mm,
            height_mm=height_mm,
            remnant=remnant,
            levels=levels,
            on_hand_count=sum(one.on_hand_count for one in levels),
            reserved_count=sum(one.reserved_count for one in levels),
            free_count=sum(one.free_count for one in levels),
            least_count=None if remnant else least,
            last_price_per_kg=_price(prices.last),
        )


def _show(
    visit: Visit, code: str, form: Form, *, saved: bool = False, removed: int = 0
) -> StockShow:
    with visit.database.reading() as session:
        row = get_lot(session, code)
        family = list_family(session, code)
        sheets = queries.list_sheets(
            session, lot_codes=[one.code for one in family], with_archived=True
        )
        of_kind = queries.list_sheets(
            session,
            material_code=row.material_code,
            thickness_mm=row.thickness_mm,
            with_archived=True,
        )
        prices = rules.price_history(
            of_kind.lots,
            of_kind.moves,
            material=row.material_code,
            thickness_mm=row.thickness_mm,
        )
        return StockShow(
            frame=visit.frame(
                code, "stock", styles=("tool", "job"), notice="Saved." if saved else ""
            ),
            lot=row,
            level=sheets.levels().get(code),
            moves=queries.list_lot_moves(session, code),
            trace=traced_from_lot(code, sheets.lots, sheets.moves),
            remnants=[one for one in family if one.parent_code == code],
            prices=_price_lines(prices),
            average_price=_price(prices.average),
            form=form,
            attachments=attachments_of(session, "lot", code, removed=removed),
            history=history_of(list_events(session, noun=actions.NOUN, key=code), visit.show),
        )


def _price_lines(prices: rules.PriceHistory) -> tuple[PriceLine, ...]:
    lines = []
    before: Fraction | None = None
    for at, price in prices.received:
        change = None if not before else price / before - 1
        lines.append(PriceLine(at, _price(price), change))
        before = price
    return tuple(reversed(lines))[:12]


def _price(price: Fraction | None) -> str:
    """A price as it was typed: at least two decimals, at most four."""
    if price is None:
        return ""
    text = f"{float(price):.4f}"
    return text[:-2] if text.endswith("00") else text.rstrip("0")


def _receive(visit: Visit, form: Form) -> StockReceive:
    with visit.database.reading() as session:
        materials = list_materials(session)
    return StockReceive(
        frame=visit.frame("Receive sheets", "stock", styles=("tool", "job")),
        form=form,
        materials=_choices((row.code, row.name) for row in materials),
        standards=STANDARD_CHOICES,
    )


def _choices(rows: Iterable[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    return (("", "choose"), *((code, f"{code} {name}") for code, name in rows))


def _families(visit: Visit) -> dict[str, str]:
    with visit.database.reading() as session:
        return {row.code: row.family for row in list_materials(session, with_archived=True)}
