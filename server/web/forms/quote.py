"""What is typed about quotes and their parts."""

import re
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, time
from typing import TYPE_CHECKING, cast

from server.actions.quote import QuoteValues
from server.actions.quote_work import USUAL_QUANTITIES, BoughtWish, LineWish, OtherWish
from server.errors import ShopError
from server.shop.money import MINOR_DIGITS, decimal_string
from server.shop.quote import MOST_BREAKS, MOST_QUANTITY
from server.shop.quote_cost import Charge
from server.shop.rate import OtherRate
from server.shop.sheet_room import Grain
from server.web.display import Display
from server.web.forms.form import Form

if TYPE_CHECKING:
    from server.storage.queries.quote import PricedLine, QuotePlace
    from server.storage.tables.rate import SheetPriceRow

CHARGES = (("", "as the shop does"), ("by mass", "by mass"), ("by sheet", "by whole sheets"))
GRAINS = (
    ("any", "any way"),
    ("along_width", "blank's length along it"),
    ("along_height", "blank's width along it"),
)
OTHER_ROWS, BOUGHT_ROWS = (1, 2, 3, 4), (1, 2, 3)
USUAL = ", ".join(str(one) for one in USUAL_QUANTITIES)


def read_quantities(form: Form, name: str = "quantities") -> tuple[int, ...]:
    """Price breaks as typed: whole numbers with commas, semicolons or spaces between."""
    words = [word for word in re.split(r"[\s,;]+", form.typed.get(name, "").strip()) if word]
    found: set[int] = set()
    for word in words:
        if not re.fullmatch(r"\d{1,12}", word):
            form.trouble(name, f"'{word[:20]}' is not a quantity.", "Type them like 1, 10, 50.")
        elif not 1 <= int(word) <= MOST_QUANTITY:
            form.trouble(name, f"A quantity of {word} cannot be made.", "Ask for at least one.")
        else:
            found.add(int(word))
    if not words:
        form.trouble(name, "There is no quantity.", "Type at least one, like 10.")
    if len(found) > MOST_BREAKS:
        form.trouble(name, f"These are more than {MOST_BREAKS} quantities.", "Leave some out.")
    return tuple(sorted(found)) or (1,)


def read_line(
    form: Form, line: "PricedLine", *, rates: Sequence[OtherRate], currency: str
) -> LineWish:
    """What is asked of one part; look at `form.ok` before using it."""
    margin = form.number("margin_percent", least=0, most=95, needed=False)
    sheet = form.typed.get("sheet", "")
    charge = form.choice("charge", [name for name, _ in CHARGES], "")
    return LineWish(
        part_number=line.line.part_number,
        revision_label=line.line.revision_label,
        quantities=read_quantities(form),
        sheet_price_id=int(sheet) if re.fullmatch(r"\d{1,9}", sheet) else None,
        charge=cast("Charge", charge) if charge else None,
        grain=cast("Grain", form.choice("grain", [name for name, _ in GRAINS], "any")),
        repeat=form.yes("repeat"),
        margin_ratio=None if margin is None else margin / 100,
        other=tuple(_other(form, rates)),
        bought=tuple(_bought(form, currency)),
    )


def _other(form: Form, rates: Sequence[OtherRate]) -> Iterator[OtherWish]:
    by_name = {rate.name: rate.per_hour_minor for rate in rates}
    seen: set[str] = set()
    for n in OTHER_ROWS:
        name = form.typed.get(f"other_{n}", "")
        if not name:
            continue
        if name not in by_name or name in seen:
            form.trouble(f"other_{n}", "This work has no rate, or comes twice.", "Choose another.")
            continue
        seen.add(name)
        yield OtherWish(
            name,
            by_name[name],
            form.number(f"other_part_min_{n}", least=0, most=10_000, needed=False) or 0.0,
            form.number(f"other_setup_min_{n}", least=0, most=10_000, needed=False) or 0.0,
        )


def _bought(form: Form, currency: str) -> Iterator[BoughtWish]:
    for n in BOUGHT_ROWS:
        name = form.text(f"bought_{n}", most=60)
        prices = (f"bought_part_{n}", f"bought_order_{n}")
        each, once = (
            form.money_minor(price, currency=currency, most_minor=10**10, needed=False) or 0
            for price in prices
        )
        if name:
            yield BoughtWish(name, each, once)
        elif each or once:
            form.trouble(f"bought_{n}", "What is bought has no name.", "Name it.")


def typed_of_line(line: "PricedLine", show: Display) -> dict[str, str]:
    """What was asked of one part, as it stands in its form."""
    wish, digits = line.line.wish, MINOR_DIGITS.get(show.currency, 2)
    typed = {
        "quantities": ", ".join(str(one) for one in wish["quantities"]),
        "sheet": "" if wish["sheet_price_id"] is None else str(wish["sheet_price_id"]),
        "charge": wish["charge"] or "",
        "grain": wish["grain"],
        "repeat": "yes" if wish["repeat"] else "",
        "margin_percent": (
            "" if wish["margin_ratio"] is None else f"{wish['margin_ratio'] * 100:g}"
        ),
    }
    for n, one in enumerate(wish["other"], 1):
        typed |= {
            f"other_{n}": one["name"],
            f"other_part_min_{n}": f"{one['per_part_min']:g}",
            f"other_setup_min_{n}": f"{one['setup_min']:g}",
        }
    for n, one in enumerate(wish["bought"], 1):
        typed |= {
            f"bought_{n}": one["name"],
            f"bought_part_{n}": decimal_string(one["per_part_minor"], digits=digits),
            f"bought_order_{n}": decimal_string(one["per_order_minor"], digits=digits),
        }
    return typed


def sheet_choices(rows: "Sequence[SheetPriceRow]", show: Display) -> tuple[tuple[str, str], ...]:
    """The price list's sheets of a part's metal, and the choice to take the cheapest."""
    places = 0 if show.unit == "mm" else 2
    told = []
    for row in rows:
        size = (
            f"{show.bare(row.sheet_width_mm, places)} × {show.length(row.sheet_height_mm, places)}"
        )
        told.append((str(row.id), f"{size}, {row.price_per_kg} a kg"))
    return (("", "the cheapest it fits"), *told)


def read_head(form: Form) -> QuoteValues:
    """The quote's own words; look at `form.ok` before using them."""
    open_version = "terms" in form.typed
    return QuoteValues(
        customer_code=form.text("customer_code", needed=True, most=40),
        their_reference=form.text("their_reference", most=80),
        note=form.text("note"),
        message=form.text("message"),
        terms=form.text("terms") if open_version else None,
        validity_days_count=(
            form.whole("validity_days", least=1, most=3650) if open_version else None
        ),
    )


def typed_of_head(place: "QuotePlace") -> dict[str, str]:
    """The quote's own words as they stand in their form."""
    return {
        "version": str(place.version.version),
        "customer_code": place.quote.customer_code or "",
        "their_reference": place.quote.their_reference,
        "note": place.quote.note,
        "message": place.version.message,
        "terms": place.version.terms,
        "validity_days": str(place.version.validity_days_count),
    }


def read_won(form: Form, place: "QuotePlace") -> tuple[dict[int, int], datetime | None]:
    """The quantity of each part that was taken, and the day it is due."""
    chosen = {}
    for one in place.lines:
        quantity = form.typed.get(f"quantity_{one.line.id}", "")
        if re.fullmatch(r"\d{1,9}", quantity) and one.line.id is not None:
            chosen[one.line.id] = int(quantity)
    return chosen, read_day(form, "due")


def read_day(form: Form, name: str) -> datetime | None:
    """A day that is today or later, at the end of its working hours; None when it is empty."""
    raw = form.typed.get(name, "").strip()
    if not raw:
        return None

    def read() -> datetime:
        try:
            day = datetime.fromisoformat(raw).date()
        except ValueError:
            raise ShopError(
                "no_date", "This is not a day.", remedy="Type it like 2026-11-25."
            ) from None
        if day < datetime.now(UTC).date():
            raise ShopError("past_day", "This day is past.", remedy="Use today or a later day.")
        return datetime.combine(day, time(15), UTC)

    return form.work_out(read, rename=lambda _: name)
