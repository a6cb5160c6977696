"""Reading and keeping the shop's rates, cutting speeds and prices of sheet."""

from dataclasses import asdict, fields
from fractions import Fraction
from typing import Any

from sqlmodel import Session, col, select

from server.shop.cut_speed import CutSpeed
from server.shop.rate import OtherRate, ShopRates
from server.storage.queries.setting import find_setting, put_setting
from server.storage.tables.rate import CutSpeedRow, SheetPriceRow

RATES, CUT_SPEEDS, SHEET_PRICES = "rates", "cut_speeds", "sheet_prices"


def find_shop_rates(session: Session) -> ShopRates | None:
    """The shop's rates, or None while it has set none."""
    kept = find_setting(session, RATES)
    return shop_rates_of(kept["rates"]) if kept else None


def put_shop_rates(session: Session, rates: ShopRates) -> None:
    """Keep the shop's rates as the next version."""
    version = get_version(session, RATES) + 1
    put_setting(session, RATES, {"version": version, "rates": plain_rates(rates)})


def get_version(session: Session, key: str) -> int:
    """How often a list was kept; grows with every change."""
    return int((find_setting(session, key) or {}).get("version", 0))


def put_version(session: Session, key: str) -> None:
    """Count one change of a list."""
    put_setting(session, key, {"version": get_version(session, key) + 1})


def plain_rates(rates: ShopRates) -> dict[str, Any]:
    """Rates as plain values."""
    return asdict(rates)


def shop_rates_of(plain: dict[str, Any]) -> ShopRates:
    """The rates that `plain_rates` wrote; an unknown value is left out."""
    known = {field.name: plain[field.name] for field in fields(ShopRates) if field.name in plain}
    known["other"] = tuple(OtherRate(**one) for one in plain.get("other", ()))
    return ShopRates(**known)


def list_cut_speeds(session: Session) -> list[CutSpeedRow]:
    """The tables of all cutters."""
    query = select(CutSpeedRow).order_by(
        col(CutSpeedRow.cutter), col(CutSpeedRow.family), col(CutSpeedRow.thickness_mm)
    )
    return list(session.exec(query))


def cut_speed_table(session: Session) -> tuple[CutSpeed, ...]:
    """The tables of all cutters as the rules want them."""
    return tuple(
        CutSpeed(row.cutter, row.family, row.thickness_mm, row.cut_speed_mm_per_s, row.pierce_s)
        for row in list_cut_speeds(session)
    )


def list_sheet_prices(
    session: Session, *, material_code: str = "", thickness_mm: float | None = None
) -> list[SheetPriceRow]:
    """Prices of sheet, of one material and thickness where they are given; smallest sheets first."""
    query = select(SheetPriceRow).order_by(
        col(SheetPriceRow.material_code),
        col(SheetPriceRow.thickness_mm),
        col(SheetPriceRow.sheet_width_mm),
        col(SheetPriceRow.sheet_height_mm),
    )
    if material_code:
        query = query.where(col(SheetPriceRow.material_code) == material_code)
    if thickness_mm is not None:
        query = query.where(
            col(SheetPriceRow.thickness_mm).between(thickness_mm - 1e-6, thickness_mm + 1e-6)
        )
    return list(session.exec(query))


def price_of(row: SheetPriceRow) -> Fraction:
    """A row's price per kilogram in major units, exact."""
    return Fraction(row.price_per_kg)
