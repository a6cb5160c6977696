"""What stands on a quote's paper: prices and how long they hold, nothing of what they cost us."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from server.actions.work_out import section_of_faces
from server.drawings.section import draw_section
from server.files.paper import on_paper
from server.settings import ShopSettings
from server.storage.queries.quote import PricedLine, QuotePlace
from server.web.display import Display, day
from server.web.paper import Paper

Fact = tuple[str, str]


@dataclass(frozen=True)
class QuotePaper(Paper):
    """A quote as it goes to the customer; each part has its prices by quantity."""

    template: ClassVar[str] = "quote.typ"
    shop: str
    shop_address: tuple[str, ...]
    number: str
    version: str
    dated: str
    warning: str
    customer: str
    address: tuple[str, ...]
    contact: str
    facts: tuple[Fact, ...]
    message: str
    currency: str
    parts: tuple[dict[str, object], ...]
    rounding: str
    validity: str
    terms: str


def quote_paper(
    place: QuotePlace, *, shop: ShopSettings, person: str, show: Display, now: datetime
) -> QuotePaper:
    """One version of a quote as paper; `show` counts in the version's currency."""
    version, customer = place.version, place.customer
    sent = version.sent_at
    rounded = any(b.rounding_minor for one in place.lines for b in one.breaks)
    return QuotePaper(
        shop=shop.shop_name,
        shop_address=shop.address_lines,
        number=place.quote.number,
        version=str(version.position),
        dated=day(sent or now),
        warning=_warning(place),
        customer=customer.name if customer else "",
        address=tuple(customer.address.splitlines()) if customer else (),
        contact=customer.contact if customer else "",
        facts=tuple(_facts(place, person, sent is not None)),
        message=version.message,
        currency=version.currency,
        parts=tuple(_part(one, show) for one in place.lines),
        rounding="Unit prices are rounded; the total is what counts." if rounded else "",
        validity=(
            f"Valid until {day(datetime.combine(version.valid_until, datetime.min.time()))}."
            if version.valid_until
            else f"Valid for {version.validity_days_count} days from the day it is sent."
        ),
        terms=version.terms,
    )


def _warning(place: QuotePlace) -> str:
    if not place.newest:
        return f"Replaced by version {place.versions[-1].position}."
    if place.version.sent_at is None:
        return "Draft: not an offer yet."
    return ""


def _facts(place: QuotePlace, person: str, sent: bool) -> Iterator[Fact]:
    yield "Your reference", place.quote.their_reference or "—"
    yield "From us", place.version.made_by or person
    if sent and place.version.valid_until:
        until = datetime.combine(place.version.valid_until, datetime.min.time())
        yield "Valid until", day(until)
    yield "Currency", place.version.currency


def _part(one: PricedLine, show: Display) -> dict[str, object]:
    revision, wish = one.revision, one.line.wish
    section = section_of_faces(revision.faces)
    mass = show.mass(revision.mass_kg)
    return {
        "number": one.part.number,
        "name": one.part.name,
        "hint": f"revision {revision.label}, {revision.material_code}, "
        f"{show.short(revision.thickness_mm)}, {mass}",
        "picture": on_paper(draw_section(section, title=one.part.number)) if section else "",
        "prices": [
            [
                str(b.quantity_count),
                show.bare_money(b.unit_price_minor),
                show.bare_money(b.total_minor),
            ]
            for b in one.breaks
        ],
        "with": [each["name"] for each in (*wish["other"], *wish["bought"])],
    }
