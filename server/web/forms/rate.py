"""What is typed about rates, cutting speeds and prices of sheet."""

import re
from collections.abc import Iterator, Sequence
from datetime import date
from typing import TYPE_CHECKING

from server.actions.rate import FAMILIES, SheetPriceValues
from server.errors import ShopError
from server.shop.cut_speed import CutSpeed
from server.shop.money import MINOR_DIGITS, decimal_string
from server.shop.rate import LARGEST_RATE_MINOR, MOST_OTHER_RATES, OtherRate, ShopRates
from server.web.display import Display
from server.web.forms.form import Form

if TYPE_CHECKING:
    from server.storage.tables.rate import CutSpeedRow, SheetPriceRow

CHARGES = (
    ("by mass", "own mass and scrap share"),
    ("by sheet", "whole sheets, less remnant"),
)
PRICE_RULES = (
    ("total first", "the total"),
    ("unit first", "the unit price"),
)
FAMILY_CHOICES = tuple((family, family) for family in FAMILIES)
NEW_ROWS = tuple(f"new{n}" for n in range(1, 5))
ROW = re.compile(r"thickness_(new\d{1,2}|\d{1,9})")


def read_rates(form: Form, *, currency: str) -> ShopRates | None:
    """The shop's rates as typed; None while something is wrong."""
    values = {
        "currency": currency,
        "brake_per_hour_minor": _rate(form, "brake_per_hour", currency),
        "cut_per_hour_minor": _rate(form, "cut_per_hour", currency),
        "minimum_charge_minor": form.need_money_minor("minimum_charge", currency=currency),
        "overhead_ratio": _share(form, "overhead_percent", most=1000),
        "margin_ratio": _share(form, "margin_percent", most=95),
        "scrap_allowance_ratio": _share(form, "scrap_allowance_percent", most=1000),
        "remnant_credit_ratio": _share(form, "remnant_credit_percent", most=100),
        "spacing_mm": form.need_length_mm("spacing", most_mm=200, above=False),
        "edge_mm": form.need_length_mm("edge", most_mm=500, above=False),
        "least_remnant_mm": form.need_length_mm("least_remnant", most_mm=10_000, above=False),
        "tool_change_min": form.need_number("tool_change_min", least=0, most=1000),
        "first_article_min": form.need_number("first_article_min", least=0, most=1000),
        "programming_min": form.need_number("programming_min", least=0, most=10_000),
        "validity_days_count": form.whole("validity_days", least=1, most=3650),
        "terms": form.text("terms", most=2000),
        "cutter": form.text("cutter", needed=True, most=40),
        "charge": form.choice("charge", [name for name, _ in CHARGES]),
        "price_rule": form.choice("price_rule", [name for name, _ in PRICE_RULES]),
        "other": tuple(_other(form, currency)),
    }
    return form.work_out(lambda: ShopRates(**values)) if form.ok else None  # type: ignore[arg-type]


def _other(form: Form, currency: str) -> Iterator[OtherRate]:
    for n in range(1, MOST_OTHER_RATES + 1):
        name = form.text(f"other_name_{n}", most=40)
        if name:
            yield OtherRate(name, _rate(form, f"other_rate_{n}", currency))
        elif form.typed.get(f"other_rate_{n}", "").strip():
            form.trouble(f"other_name_{n}", "This rate has no name.", "Name the work.")


def typed_of_rates(rates: ShopRates, version: int, show: Display) -> dict[str, str]:
    """The shop's rates as they stand in their form."""
    digits = MINOR_DIGITS.get(rates.currency, 2)
    other = {}
    for n, one in enumerate(rates.other, 1):
        other[f"other_name_{n}"] = one.name
        other[f"other_rate_{n}"] = decimal_string(one.per_hour_minor, digits=digits)
    return {
        "version": str(version),
        "brake_per_hour": decimal_string(rates.brake_per_hour_minor, digits=digits),
        "cut_per_hour": decimal_string(rates.cut_per_hour_minor, digits=digits),
        "minimum_charge": decimal_string(rates.minimum_charge_minor, digits=digits),
        "overhead_percent": f"{rates.overhead_ratio * 100:g}",
        "margin_percent": f"{rates.margin_ratio * 100:g}",
        "scrap_allowance_percent": f"{rates.scrap_allowance_ratio * 100:g}",
        "remnant_credit_percent": f"{rates.remnant_credit_ratio * 100:g}",
        "spacing": show.typed(rates.spacing_mm),
        "edge": show.typed(rates.edge_mm),
        "least_remnant": show.typed(rates.least_remnant_mm),
        "tool_change_min": f"{rates.tool_change_min:g}",
        "first_article_min": f"{rates.first_article_min:g}",
        "programming_min": f"{rates.programming_min:g}",
        "validity_days": str(rates.validity_days_count),
        "terms": rates.terms,
        "cutter": rates.cutter,
        "charge": rates.charge,
        "price_rule": rates.price_rule,
        **other,
    }


def row_keys(form: Form) -> list[str]:
    """The keys of the rows of a typed list, in the order they stood on the page."""
    return [found[1] for name in form.typed if (found := ROW.fullmatch(name))]


def read_cut_speeds(form: Form) -> list[CutSpeed]:
    """The cutters' tables as typed; an empty new row and a row to remove are left out."""
    rows = []
    for key in _wanted(form, ("thickness", "speed", "pierce")):
        cutter = form.text(f"cutter_{key}", needed=True, most=40)
        family = form.choice(f"family_{key}", FAMILIES)
        thickness_mm = form.need_length_mm(f"thickness_{key}", most_mm=100)
        speed = form.need_amount(f"speed_{key}", "mm_per_s", most=5000)
        pierce_s = form.need_number(f"pierce_{key}", least=0, most=600)
        if cutter and thickness_mm and speed:
            rows.append(CutSpeed(cutter, family, thickness_mm, speed, pierce_s))
    return rows


def typed_of_cut_speeds(
    rows: "Sequence[CutSpeedRow]", version: int, show: Display, *, cutter: str
) -> dict[str, str]:
    """The cutters' tables as they stand in their form, with empty rows to fill in."""
    typed = {"version": str(version)}
    for row in rows:
        typed |= {
            f"cutter_{row.id}": row.cutter,
            f"family_{row.id}": row.family,
            f"thickness_{row.id}": show.typed(row.thickness_mm),
            f"speed_{row.id}": show.typed_amount(row.cut_speed_mm_per_s, "mm_per_s"),
            f"pierce_{row.id}": f"{row.pierce_s:g}",
        }
    for key in NEW_ROWS:
        typed |= {f"cutter_{key}": cutter, f"family_{key}": "steel", f"thickness_{key}": ""}
    return typed


def read_sheet_prices(form: Form, *, currency: str) -> list[SheetPriceValues]:
    """The price list as typed; an empty new row and a row to remove are left out."""
    return [
        SheetPriceValues(
            material_code=form.text(f"material_{key}", needed=True, most=40),
            thickness_mm=form.need_length_mm(f"thickness_{key}", most_mm=100),
            sheet_width_mm=form.need_length_mm(f"width_{key}", most_mm=20_000),
            sheet_height_mm=form.need_length_mm(f"height_{key}", most_mm=20_000),
            price_per_kg=form.price_text(f"price_{key}", currency=currency),
            supplier=form.text(f"supplier_{key}", most=80),
            priced_on=_day(form, f"priced_on_{key}"),
        )
        for key in _wanted(form, ("material", "thickness", "width", "height", "price"))
    ]


def typed_of_sheet_prices(
    rows: "Sequence[SheetPriceRow]", version: int, show: Display
) -> dict[str, str]:
    """The price list as it stands in its form, with empty rows to fill in."""
    typed = {"version": str(version)}
    for row in rows:
        typed |= {
            f"material_{row.id}": row.material_code,
            f"thickness_{row.id}": show.typed(row.thickness_mm),
            f"width_{row.id}": show.typed(row.sheet_width_mm),
            f"height_{row.id}": show.typed(row.sheet_height_mm),
            f"price_{row.id}": row.price_per_kg,
            f"supplier_{row.id}": row.supplier,
            f"priced_on_{row.id}": row.priced_on.isoformat() if row.priced_on else "",
        }
    for key in NEW_ROWS:
        typed |= {f"material_{key}": "", f"thickness_{key}": ""}
    return typed


def _wanted(form: Form, names: Sequence[str]) -> Iterator[str]:
    """Keys of the rows that stay: not ticked away, and, when new, not empty."""
    for key in row_keys(form):
        if form.yes(f"remove_{key}"):
            continue
        filled = any(form.typed.get(f"{name}_{key}", "").strip() for name in names)
        if filled or not key.startswith("new"):
            yield key


def _rate(form: Form, name: str, currency: str) -> int:
    return form.need_money_minor(name, currency=currency, most_minor=LARGEST_RATE_MINOR)


def _share(form: Form, name: str, *, most: float) -> float:
    return form.need_number(name, least=0, most=most) / 100


def _day(form: Form, name: str) -> date | None:
    raw = form.typed.get(name, "").strip()
    if not raw:
        return None

    def read() -> date:
        try:
            return date.fromisoformat(raw)
        except ValueError:
            raise ShopError(
                "no_date", "This is not a day.", remedy="Type it like 2026-11-25."
            ) from None

    return form.work_out(read, rename=lambda _: name)
