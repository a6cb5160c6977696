"""Quotes: asked, worked out, sent, changed in a new version, won or lost."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from server.actions.history import keep, need_same_version, picture
from server.actions.order import newest_revision
from server.actions.quote_work import (
    LineWish,
    WorkedLine,
    brake_minutes,
    cut_minutes,
    plain_wish,
    wish_of,
    work_out_line,
)
from server.errors import ShopError, say
from server.findings import Finding
from server.shop.money import rounded_minor
from server.shop.quote import QuoteBreak as PricedBreak
from server.shop.rate import ShopRates, example_rates
from server.storage.database import Session
from server.storage.plain_finding import plain_findings
from server.storage.plain_quote import plain_layout, plain_line
from server.storage.queries.customer import get_customer
from server.storage.queries.order import get_order, list_lines
from server.storage.queries.quote import (
    QuotePlace,
    get_line,
    get_quote,
    get_quote_place,
    list_breaks,
    next_quote_number,
)
from server.storage.queries.rate import find_shop_rates, plain_rates
from server.storage.queries.setting import get_shop_settings
from server.storage.tables.column import utc_now
from server.storage.tables.quote import Quote, QuoteBreak, QuoteLine, QuoteVersion

NOUN = "quote"
MOST_LINES = 50


@dataclass(frozen=True, slots=True)
class QuoteValues:
    """What a person may say about a quote as a whole."""

    customer_code: str
    their_reference: str = ""
    note: str = ""
    message: str = ""
    terms: str | None = None
    validity_days_count: int | None = None


def add_quote(
    session: Session,
    values: QuoteValues,
    wishes: Iterable[LineWish],
    *,
    order_number: str | None = None,
    by: str,
) -> Quote:
    """A new quote with its parts worked out.

    Raises: ShopError `not_found`, `nothing_asked`, or why a part cannot be priced.
    """
    get_customer(session, values.customer_code)
    rates = rates_now(session)
    quote = Quote(
        number=next_quote_number(session),
        customer_code=values.customer_code,
        order_number=order_number,
        their_reference=values.their_reference,
        note=values.note,
        made_by=by,
    )
    session.add(quote)
    session.flush()
    version = _new_version(session, quote, rates, position=1, by=by)
    version.message = values.message
    for wish in wishes:
        _add_line(session, version, work_out_line(session, wish, rates))
    keep(session, "added", noun=NOUN, key=quote.number, by=by, after=picture(quote))
    return quote


def add_quote_for_order(session: Session, order_number: str, *, by: str) -> Quote:
    """A quote that answers an enquiry: each of its lines at the quantity asked.

    Raises: ShopError `not_found`, `nothing_asked`, or why a part cannot be priced.
    """
    order = get_order(session, order_number)
    jobs = [job for job in list_lines(session, order_number) if job.archived_at is None]
    if not jobs:
        raise ShopError(
            "nothing_asked", "The enquiry has no line.", remedy="Add a part to it first."
        )
    values = QuoteValues(order.customer_code, order.their_reference)
    wishes = [LineWish(job.part_number, job.revision_label, (job.quantity_count,)) for job in jobs]
    quote = add_quote(session, values, wishes, order_number=order_number, by=by)
    lines = get_quote_place(session, quote.number).lines
    for job, one in zip(jobs, lines, strict=True):
        one.line.job_number = job.number
        session.add(one.line)
    return quote


def add_quote_line(
    session: Session, number: str, part_number: str, quantities: tuple[int, ...], *, by: str
) -> QuoteLine:
    """One more part on the newest version, at its newest revision.

    Raises: ShopError `not_found`, `no_revision`, `wrong_state`, or why it cannot be priced.
    """
    place = draft_place(session, number)
    if len(place.lines) >= MOST_LINES:
        raise ShopError(
            "too_many", "The quote has as many parts as one can hold.", remedy="Start another."
        )
    label = newest_revision(session, part_number).label
    worked = work_out_line(session, LineWish(part_number, label, quantities), rates_now(session))
    row = _add_line(session, place.version, worked)
    touch(session, place, did="added a part", by=by, after={"part": part_number})
    return row


def save_quote_line(
    session: Session, line_id: int, wish: LineWish, *, version: int, by: str
) -> QuoteLine:
    """Work one part out again as it is asked for now.

    Raises: ShopError `edit_conflict`, `wrong_state`, or why it cannot be priced.
    """
    row, place = _line_of_draft(session, line_id)
    need_same_version(place.version, version)
    before = {"total_minor": list_breaks(session, line_id)[-1].total_minor}
    worked = work_out_line(session, wish, rates_now(session))
    _fill_line(session, row, worked)
    place.version.rates = plain_rates(rates_now(session))
    total = worked.prices.breaks[-1].total_minor
    after = {"total_minor": total}
    touch(session, place, did="worked out again", by=by, before=before, after=after)
    return row


def remove_quote_line(session: Session, line_id: int, *, by: str) -> str:
    """Take a part off the newest version; returns the quote's number.

    Raises: ShopError `not_found`, `wrong_state`.
    """
    row, place = _line_of_draft(session, line_id)
    for old in list_breaks(session, line_id):
        session.delete(old)
    session.delete(row)
    did = "took a part off"
    touch(session, place, did=did, by=by, before={"part": row.part_number}, after={"part": ""})
    return place.quote.number


def save_quote(
    session: Session, number: str, values: QuoteValues, *, version: int, by: str
) -> Quote:
    """Changed words of a quote; what goes to the customer only while it was not sent.

    Raises: ShopError `not_found`, `edit_conflict`.
    """
    place = get_quote_place(session, number)
    need_same_version(place.version, version)
    get_customer(session, values.customer_code)
    quote, before = place.quote, picture(place.quote)
    quote.customer_code, quote.note = values.customer_code, values.note
    quote.their_reference = values.their_reference
    if place.version.sent_at is None:
        place.version.message = values.message
        if values.terms is not None:
            place.version.terms = values.terms
        if values.validity_days_count is not None:
            place.version.validity_days_count = values.validity_days_count
    touch(session, place, did="changed", by=by, before=before, after=picture(quote))
    return quote


def work_out_again(session: Session, number: str, *, by: str) -> Quote:
    """Every part of an unsent version with the rates, prices and times of now.

    Raises: ShopError `wrong_state`, or why a part cannot be priced.
    """
    place = draft_place(session, number)
    rates = rates_now(session)
    for one in place.lines:
        _fill_line(session, one.line, work_out_line(session, wish_of(one.line.wish), rates))
    place.version.rates = plain_rates(rates)
    place.version.currency = rates.currency
    touch(session, place, did="worked out again", by=by)
    return place.quote


def new_version(session: Session, number: str, *, by: str) -> QuoteVersion:
    """Another version to change, worked out with what the shop knows now.

    Raises: ShopError `wrong_state` while the newest was not sent, or once the quote is won.
    """
    place = get_quote_place(session, number)
    if place.version.sent_at is None or place.quote.state == "won":
        raise ShopError(
            "wrong_state",
            "There is nothing to make another version of.",
            remedy="Change the open version, or start a new quote.",
        )
    rates = rates_now(session)
    version = _new_version(session, place.quote, rates, position=place.version.position + 1, by=by)
    version.message, version.terms = place.version.message, place.version.terms
    for one in place.lines:
        wish = wish_of(one.line.wish)
        row = _add_line(session, version, work_out_line(session, wish, rates))
        row.job_number = one.line.job_number
    place.quote.state, place.quote.decided_at, place.quote.lost_reason = "draft", None, ""
    session.add(place.quote)
    after = {"quote version": str(version.position)}
    keep(session, "started a new version", noun=NOUN, key=number, by=by, after=after)
    return version


def set_quote_archived(session: Session, number: str, *, archived: bool, by: str) -> Quote:
    """Take a quote off the list, or put it back; history keeps it either way.

    Raises: ShopError `not_found`.
    """
    quote = get_quote(session, number)
    quote.archived_at = utc_now() if archived else None
    session.add(quote)
    keep(session, "archived" if archived else "restored", noun=NOUN, key=number, by=by)
    return quote


def rates_now(session: Session) -> ShopRates:
    """The shop's rates, or the examples in its currency while it has set none."""
    return find_shop_rates(session) or example_rates(get_shop_settings(session).currency)


def check_rates(session: Session) -> tuple[Finding, ...]:
    """What keeps a quote from being sent for want of the shop's own rates."""
    currency, rates = get_shop_settings(session).currency, find_shop_rates(session)
    if rates is None:
        return (
            Finding(
                "stop",
                "example_rates",
                say("The prices rest on example rates."),
                say("Set the shop's own under Rates; then work the quote out again."),
            ),
        )
    if rates.currency == currency:
        return ()
    return (
        Finding(
            "stop",
            "other_currency",
            say(
                "The rates are in {was}, the shop counts in {now}.",
                was=rates.currency,
                now=currency,
            ),
            say("Correct the amounts under Rates, and save them."),
        ),
    )


def _new_version(
    session: Session, quote: Quote, rates: ShopRates, *, position: int, by: str
) -> QuoteVersion:
    version = QuoteVersion(
        quote_number=quote.number,
        position=position,
        currency=rates.currency,
        validity_days_count=rates.validity_days_count,
        terms=rates.terms,
        rates=plain_rates(rates),
        made_by=by,
    )
    session.add(version)
    session.flush()
    return version


def _add_line(session: Session, version: QuoteVersion, worked: WorkedLine) -> QuoteLine:
    there = get_quote_place(session, version.quote_number, version.position).lines
    row = QuoteLine(
        quote_version_id=version.id or 0,
        position=max((one.line.position for one in there), default=0) + 1,
        part_number=worked.revision.part_number,
        revision_label=worked.revision.label,
        wish={},
    )
    session.add(row)
    session.flush()
    _fill_line(session, row, worked)
    return row


def _fill_line(session: Session, row: QuoteLine, worked: WorkedLine) -> None:
    """Everything the prices rest on, and the prices themselves."""
    for old in list_breaks(session, row.id or 0):
        session.delete(old)
    session.flush()
    prices, times = worked.prices, worked.times
    digits, first = prices.request.minor_digits_count, prices.breaks[0]
    row.revision_label = worked.revision.label
    row.bend_sequence_id = worked.sequence.id if worked.sequence else None
    row.wish = plain_wish(worked.wish)
    row.findings = plain_findings(worked.findings)
    row.worked = {
        "layout": plain_layout(first.nest) if first.nest else None,
        "remnants_mm": [
            [b.nest.remnant.width_mm, b.nest.remnant.height_mm]
            if b.nest and b.nest.remnant
            else None
            for b in prices.breaks
        ],
        "supplier": worked.sheet.supplier,
        "price_per_kg": worked.sheet.price_per_kg,
        "priced_on": worked.sheet.priced_on.isoformat() if worked.sheet.priced_on else None,
        "sheet_price_id": worked.sheet.id,
        "strokes": worked.bends_count,
        "people": times.people_count,
        "handling": worked.brake.handling.name,
        "times": {
            name: [
                figure.value_s,
                figure.low_s,
                figure.high_s,
                figure.measured_count,
                figure.source,
            ]
            for name, figure in (
                ("bend", worked.brake.bend),
                ("load", worked.brake.load),
                ("setup", worked.brake.setup),
            )
        },
        "repeat": {str(b.quantity_count): b.unit_price_minor for b in worked.repeat_prices.breaks},
    }
    session.add(row)
    for one in prices.breaks:
        session.add(_break_row(row.id or 0, worked, one, digits))
    session.flush()


def _break_row(line_id: int, worked: WorkedLine, one: PricedBreak, digits: int) -> QuoteBreak:
    part = worked.prices.request.part
    return QuoteBreak(
        quote_line_id=line_id,
        quantity_count=one.quantity_count,
        unit_price_minor=one.unit_price_minor,
        total_minor=one.total_minor,
        rounding_minor=one.rounding_minor,
        cost_minor=rounded_minor(one.cost, digits=digits),
        cost_low_minor=rounded_minor(one.cost_low, digits=digits),
        cost_high_minor=rounded_minor(one.cost_high, digits=digits),
        sheets_count=one.sheets_count,
        used_ratio=one.nest.used_ratio if one.nest else None,
        brake_min=brake_minutes(
            worked.times,
            tool_changes=part.tool_changes_count,
            bends=part.bends_count,
            quantity=one.quantity_count,
        ),
        cut_min=cut_minutes(part, worked.times, one.quantity_count),
        minimum_applied=one.minimum_applied,
        explained=plain_line(one.price, digits=digits),
    )


def draft_place(session: Session, number: str) -> QuotePlace:
    """A quote whose newest version may still be changed.

    Raises: ShopError `not_found`, `wrong_state` once it was sent or decided.
    """
    place = get_quote_place(session, number)
    if place.version.sent_at is not None or place.quote.state in ("won", "lost"):
        raise ShopError(
            "wrong_state",
            say("Version {n} was sent and stays as it is.", n=str(place.version.position)),
            remedy="Start a new version to change it.",
        )
    return place


def _line_of_draft(session: Session, line_id: int) -> tuple[QuoteLine, QuotePlace]:
    row = get_line(session, line_id)
    version = session.get_one(QuoteVersion, row.quote_version_id)
    return row, draft_place(session, version.quote_number)


def touch(
    session: Session,
    place: QuotePlace,
    *,
    did: str,
    by: str,
    before: Mapping[str, Any] | None = None,
    after: Mapping[str, Any] | None = None,
) -> None:
    """Let the quote and its version grow older by one change, and keep who did what."""
    place.version.changed_at = place.quote.changed_at = utc_now()
    session.add_all((place.version, place.quote))
    session.flush()
    keep(session, did, noun=NOUN, key=place.quote.number, by=by, before=before, after=after)
