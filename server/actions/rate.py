"""Keeping the shop's rates, its cutting speeds and its prices of sheet."""

from collections.abc import Callable, Hashable, Iterable, Mapping
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any, TypeVar

from server.actions.history import keep
from server.errors import Amount, ShopError, say
from server.shop.cut_speed import CutSpeed
from server.shop.rate import ShopRates
from server.storage.database import Session
from server.storage.queries.material import get_material
from server.storage.queries.rate import (
    CUT_SPEEDS,
    RATES,
    SHEET_PRICES,
    find_shop_rates,
    get_version,
    list_cut_speeds,
    list_sheet_prices,
    plain_rates,
    put_shop_rates,
    put_version,
)
from server.storage.tables.material import FAMILIES
from server.storage.tables.rate import CutSpeedRow, SheetPriceRow

__all__ = [
    "FAMILIES",
    "NOUN",
    "SheetPriceValues",
    "save_cut_speeds",
    "save_rates",
    "save_sheet_prices",
]
NOUN = "rate"
Kept = TypeVar("Kept", CutSpeedRow, SheetPriceRow)


@dataclass(frozen=True, slots=True)
class SheetPriceValues:
    """What a person may say about the price of a sheet; the price is an exact decimal as text."""

    material_code: str
    thickness_mm: float
    sheet_width_mm: float
    sheet_height_mm: float
    price_per_kg: str
    supplier: str = ""
    priced_on: date | None = None


def save_rates(session: Session, rates: ShopRates, *, version: int, by: str) -> ShopRates:
    """Changed rates. Quotes already given keep the rates they were worked out with.

    Raises: ShopError `edit_conflict`.
    """
    _need_version(session, RATES, version)
    before = find_shop_rates(session)
    if before == rates:
        return rates
    put_shop_rates(session, rates)
    keep(
        session,
        "changed" if before else "set",
        noun=NOUN,
        key=RATES,
        by=by,
        before=_told(plain_rates(before)) if before else None,
        after=_told(plain_rates(rates)),
    )
    return rates


def save_cut_speeds(
    session: Session, rows: Iterable[CutSpeed], *, version: int, by: str, source: str = ""
) -> None:
    """All cutters' tables as they are to be; what is not among the rows is taken out.

    Raises: ShopError `edit_conflict`, `already_exists` for a row that comes twice.
    """
    _need_version(session, CUT_SPEEDS, version)
    wanted = {_speed_key(row): row for row in _once(rows, _speed_key)}
    now = {_speed_key(row): row for row in list_cut_speeds(session)}
    _replace(
        session,
        now,
        {key: {**asdict(row), "source": source} for key, row in wanted.items()},
        CutSpeedRow,
        skip=("source",),
        list_name=CUT_SPEEDS,
        by=by,
    )


def save_sheet_prices(
    session: Session, rows: Iterable[SheetPriceValues], *, version: int, by: str
) -> None:
    """The whole price list as it is to be; what is not among the rows is taken out.

    Raises: ShopError `edit_conflict`, `not_found` for a material, `already_exists` for a row that
        comes twice.
    """
    _need_version(session, SHEET_PRICES, version)
    wanted = {_price_key(row): row for row in _once(rows, _price_key)}
    for row in wanted.values():
        get_material(session, row.material_code)
    now = {_price_key(row): row for row in list_sheet_prices(session)}
    _replace(
        session,
        now,
        {key: asdict(row) for key, row in wanted.items()},
        SheetPriceRow,
        list_name=SHEET_PRICES,
        by=by,
    )


def _speed_key(row: CutSpeed | CutSpeedRow) -> Hashable:
    return (row.cutter, row.family, row.thickness_mm)


def _price_key(row: SheetPriceValues | SheetPriceRow) -> Hashable:
    return (row.material_code, row.thickness_mm, row.sheet_width_mm, row.sheet_height_mm)


Given = TypeVar("Given", CutSpeed, SheetPriceValues)


def _once(rows: Iterable[Given], key_of: Callable[[Given], Hashable]) -> list[Given]:
    kept: dict[Hashable, Given] = {}
    for row in rows:
        if key_of(row) in kept:
            raise ShopError(
                "already_exists",
                say("{thickness} is in the list twice.", thickness=Amount(row.thickness_mm, "mm")),
                remedy="Take one of the two rows out.",
                where="form",
            )
        kept[key_of(row)] = row
    return list(kept.values())


def _replace(
    session: Session,
    now: Mapping[Hashable, Kept],
    wanted: Mapping[Hashable, dict[str, Any]],
    table: type[Kept],
    *,
    list_name: str,
    by: str,
    skip: tuple[str, ...] = (),
) -> None:
    """Make a list's rows what is wanted, and keep what changed, row by row."""
    before: dict[str, str] = {}
    after: dict[str, str] = {}
    for key, row in now.items():
        if key not in wanted:
            before[_row_name(key)] = _row_told(row.model_dump())
            session.delete(row)
    session.flush()
    for key, values in wanted.items():
        there = now.get(key)
        if there is None:
            session.add(table(**values))
            after[_row_name(key)] = _row_told(values)
            continue
        changed = {n: v for n, v in values.items() if n not in skip and getattr(there, n) != v}
        if changed:
            before[_row_name(key)] = _row_told(there.model_dump())
            for name, value in changed.items():
                setattr(there, name, value)
            session.add(there)
            after[_row_name(key)] = _row_told(there.model_dump())
    if before or after:
        put_version(session, list_name)
        names = {*before, *after}
        keep(
            session,
            "changed",
            noun=NOUN,
            key=list_name,
            by=by,
            before={name: before.get(name, "") for name in names},
            after={name: after.get(name, "") for name in names},
        )


def _row_name(key: Any) -> str:
    return " ".join(f"{part:g}" if isinstance(part, float) else str(part) for part in key)


def _row_told(values: Mapping[str, Any]) -> str:
    names = ("cut_speed_mm_per_s", "pierce_s", "price_per_kg", "supplier")
    return ", ".join(str(values[name]) for name in names if values.get(name) not in (None, ""))


def _told(plain: dict[str, Any]) -> dict[str, Any]:
    """Rates as the history shows them."""
    other = {f"{one['name']} per hour minor": one["per_hour_minor"] for one in plain["other"]}
    return {**{name: value for name, value in plain.items() if name != "other"}, **other}


def _need_version(session: Session, key: str, version: int) -> None:
    if version != get_version(session, key):
        raise ShopError(
            "edit_conflict",
            "Somebody changed this list while you had it open.",
            remedy="Open it again in another window, compare, then save yours over it.",
            where="form",
        )
