"""The demo shop's office: rates, cutting speeds and prices, kept by the same actions people use."""

from datetime import timedelta

from server.actions.rate import SheetPriceValues, save_cut_speeds, save_rates, save_sheet_prices
from server.settings import ShopSettings
from server.shop.cut_speed import CutSpeed
from server.shop.rate import example_rates
from server.storage.database import Session
from server.storage.seed import seed_rows
from server.storage.tables.column import utc_now

BY = "demo"


def load_demo_rates(session: Session, *, settings: ShopSettings) -> None:
    """What the demo shop counts with; all of it invented."""
    today = utc_now().date()
    save_rates(session, example_rates(settings.currency), version=0, by=BY)
    save_cut_speeds(
        session,
        [
            CutSpeed(
                row["cutter"],
                row["family"],
                float(row["thickness_mm"]),
                float(row["cut_speed_mm_per_s"]),
                float(row["pierce_s"]),
            )
            for row in seed_rows("cut_speed")
        ],
        version=0,
        by=BY,
        source="invented for the demo shop",
    )
    save_sheet_prices(
        session,
        [
            SheetPriceValues(
                material_code=row["material_code"],
                thickness_mm=float(row["thickness_mm"]),
                sheet_width_mm=float(row["sheet_width_mm"]),
                sheet_height_mm=float(row["sheet_height_mm"]),
                price_per_kg=row["price_per_kg"],
                supplier=row["supplier"],
                priced_on=today - timedelta(days=int(row["priced_days_ago"])),
            )
            for row in seed_rows("sheet_price")
        ],
        version=0,
        by=BY,
    )
    session.flush()
