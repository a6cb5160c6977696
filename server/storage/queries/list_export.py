"""Every list of the shop as a table: plain columns under their own names, units and all."""

from collections.abc import Callable, Iterator, Sequence
from datetime import date, datetime
from typing import Any

from sqlmodel import Session, SQLModel, col, select

from server.errors import ShopError, say
from server.storage.queries.tool import list_dies_with_segments, list_punches_with_segments
from server.storage.tables.brake import Brake
from server.storage.tables.customer import Customer
from server.storage.tables.job import Job, Run
from server.storage.tables.material import Lot, Material
from server.storage.tables.measured_time import MeasuredTime
from server.storage.tables.order import Order
from server.storage.tables.part import Part, Revision
from server.storage.tables.quote import Quote, QuoteBreak, QuoteLine, QuoteVersion
from server.storage.tables.rate import CutSpeedRow, SheetPriceRow
from server.storage.tables.stock import ReorderPoint, StockMove
from server.storage.tables.tool import Holder

Table = tuple[Sequence[str], Iterator[Sequence[object]]]
LEFT_OUT = frozenset({"version", "created_at", "changed_at"})
PART_COLUMNS = (
    "number", "name", "revision", "material_code", "thickness_mm", "width_mm", "legs_mm",
    "bend_angles_deg", "die_code", "blank_length_mm", "blank_width_mm", "mass_kg",
)  # fmt: skip
WHOLE: dict[str, type[SQLModel]] = {
    "customer": Customer,
    "material": Material,
    "lot": Lot,
    "holder": Holder,
    "brake": Brake,
    "order": Order,
    "job": Job,
    "run": Run,
    "quote": Quote,
    "stock_move": StockMove,
    "reorder_point": ReorderPoint,
    "cut_speed": CutSpeedRow,
    "sheet_price": SheetPriceRow,
    "measured_time": MeasuredTime,
}


def list_exports() -> tuple[str, ...]:
    """The names of the lists that can be had."""
    return tuple(sorted({*WHOLE, *OWN}))


def get_export(session: Session, name: str) -> Table:
    """A list with its head line.

    Raises: ShopError `not_found`.
    """
    if name in OWN:
        return OWN[name](session)
    if name not in WHOLE:
        raise ShopError(
            "not_found",
            say("There is no list '{name}'.", name=name[:40]),
            remedy="Choose one of those shown.",
        )
    return _whole(session, WHOLE[name])


def points_text(points: Sequence[Sequence[float]]) -> str:
    """An outline in one cell: `0 0; 13 13.5`."""
    return "; ".join(f"{x:g} {y:g}" for x, y in points)


def _whole(session: Session, table: type[SQLModel]) -> Table:
    columns = [column.name for column in table.metadata.tables[str(table.__tablename__)].columns]
    names = [name for name in columns if name not in LEFT_OUT]
    rows = session.exec(select(table).order_by(*_key(table)))
    return names, ([cell(name, getattr(row, name)) for name in names] for row in rows)


def _key(table: type[SQLModel]) -> list[Any]:
    return list(table.metadata.tables[str(table.__tablename__)].primary_key.columns)


def cell(name: str, value: object) -> object:
    """A value as it stands in a cell."""
    if isinstance(value, datetime):
        return value.isoformat(timespec="minutes")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, list):
        is_outline = name.endswith("_mm") and all(isinstance(p, list) for p in value)
        return points_text(value) if is_outline else "; ".join(str(one) for one in value)
    if isinstance(value, dict):
        return "; ".join(f"{key}: {one}" for key, one in value.items())
    return "" if value is None else value


def _punches(session: Session) -> Table:
    names = ("code", "name", "tip_radius_mm", "angle_deg", "height_mm", "rating_kn_per_m",
             "profile_mm", "segments_mm", "note", "purpose")  # fmt: skip
    return names, (_tool(names, *one) for one in list_punches_with_segments(session))


def _dies(session: Session) -> Table:
    names = ("code", "name", "block_code", "v_opening_mm", "angle_deg", "shoulder_radius_mm",
             "height_mm", "rating_kn_per_m", "v_depth_mm", "profile_mm", "segments_mm",
             "note", "purpose")  # fmt: skip
    return names, (_tool(names, *one) for one in list_dies_with_segments(session))


def _tool(names: Sequence[str], row: Any, segments: Sequence[Any]) -> list[object]:
    pieces = "; ".join(f"{one.length_mm:g}x{one.pieces_count}" for one in segments)
    return [pieces if name == "segments_mm" else cell(name, getattr(row, name)) for name in names]


def _parts(session: Session) -> Table:
    query = (
        select(Part, Revision)
        .join(
            Revision,
            (col(Revision.part_number) == col(Part.number)) & col(Revision.superseded_at).is_(None),
            isouter=True,
        )
        .where(col(Part.archived_at).is_(None))
        .order_by(col(Part.number))
    )
    return PART_COLUMNS, (_part(part, revision) for part, revision in session.exec(query))


def _part(part: Part, revision: Revision | None) -> list[object]:
    if revision is None:
        return [part.number, part.name, *[""] * (len(PART_COLUMNS) - 2)]
    drawn = revision.drawn if revision.kind == "profile" else {}
    legs = " ".join(f"{leg:g}" for leg in drawn.get("legs_mm", ()))
    angles = " ".join(f"{one['bend_angle_deg']:g}" for one in drawn.get("bends", ()))
    plain = drawn.get("legs_are") == "outside" and all(
        one.get("kind", "air") == "air" for one in drawn["bends"]
    )
    return [
        part.number, part.name, revision.label, revision.material_code, revision.thickness_mm,
        drawn.get("width_mm", "") if plain else "", legs if plain else "", angles if plain else "",
        drawn.get("die_code") or "", round(revision.blank_length_mm, 3),
        round(revision.blank_width_mm, 3), round(revision.mass_kg, 4),
    ]  # fmt: skip


def _prices(session: Session) -> Table:
    """Every price of every quote's every version."""
    names = ("quote", "quote_version", "state", "part", "revision", "quantity_count",
             "unit_price_minor", "total_minor", "cost_minor", "currency", "sheets_count",
             "brake_min", "cut_min", "sent_at", "valid_until")  # fmt: skip
    query = (
        select(Quote, QuoteVersion, QuoteLine, QuoteBreak)
        .join(QuoteVersion, col(QuoteVersion.quote_number) == col(Quote.number))
        .join(QuoteLine, col(QuoteLine.quote_version_id) == col(QuoteVersion.id))
        .join(QuoteBreak, col(QuoteBreak.quote_line_id) == col(QuoteLine.id))
        .order_by(col(QuoteBreak.id))
    )
    return names, (
        [
            quote.number, version.position, quote.state, line.part_number, line.revision_label,
            one.quantity_count, one.unit_price_minor, one.total_minor, one.cost_minor,
            version.currency, one.sheets_count, round(one.brake_min, 2), round(one.cut_min, 2),
            cell("", version.sent_at), cell("", version.valid_until),
        ]
        for quote, version, line, one in session.exec(query)
    )  # fmt: skip


OWN: dict[str, Callable[[Session], Table]] = {
    "punch": _punches,
    "die": _dies,
    "part": _parts,
    "quote_price": _prices,
}
