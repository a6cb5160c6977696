"""How a quote ends: sent as it stands, then won with its jobs, or lost with its reason."""

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta

from server.actions.job import move_job
from server.actions.order import LineValues, OrderValues, add_order
from server.actions.quote import draft_place, touch
from server.errors import Amount, ShopError, say
from server.findings import has_stop
from server.storage.database import Session
from server.storage.plain_finding import findings_of
from server.storage.queries.job import get_job
from server.storage.queries.order import list_lines
from server.storage.queries.quote import PricedLine, QuotePlace, get_quote_place
from server.storage.queries.rate import find_shop_rates
from server.storage.tables.column import utc_now
from server.storage.tables.quote import Quote, QuoteLine

LOST_REASONS = ("price", "delivery time", "went elsewhere", "not made after all", "cannot be made")


def send_quote(session: Session, number: str, *, now: datetime, by: str) -> Quote:
    """Freeze the newest version as sent; from here only a new version can change it.

    Raises: ShopError `wrong_state`, `blocked` for a stop, `examples` while the shop has no rates.
    """
    place = draft_place(session, number)
    if find_shop_rates(session) is None:
        raise ShopError(
            "blocked",
            "The prices rest on example rates.",
            remedy="Set the shop's own rates first, then work the quote out again.",
        )
    if not place.lines:
        raise ShopError("blocked", "The quote has no part.", remedy="Add one first.")
    for one in place.lines:
        stops = [found for found in findings_of(one.line.findings) if has_stop([found])]
        if stops:
            raise ShopError("blocked", stops[0].what, remedy=stops[0].frees or "")
    version = place.version
    version.sent_at = now
    version.valid_until = (now + timedelta(days=version.validity_days_count)).date()
    place.quote.state = "sent"
    _move_jobs(session, place.lines, {"asked": ("priced",)}, by=by)
    touch(session, place, did="sent", by=by, after={"sent": f"version {version.position}"})
    return place.quote


def set_quote_won(
    session: Session,
    number: str,
    chosen: Mapping[int, int],
    *,
    due_at: datetime | None,
    their_reference: str = "",
    by: str,
) -> Quote:
    """The customer took it: each chosen part becomes a won job at the price of its quantity.

    `chosen` has the quantity of each line taken; a line that is not in it was not ordered.

    Raises: ShopError `wrong_state`, `nothing_asked`, `no_such_break`, or why a job may not go on.
    """
    place = _sent(session, number)
    if not chosen:
        raise ShopError(
            "nothing_asked", "No part is chosen.", remedy="Choose the quantity of at least one."
        )
    fresh: list[tuple[QuoteLine, LineValues]] = []
    for one in place.lines:
        quantity = chosen.get(one.line.id or 0)
        if quantity is None:
            continue
        price = next((b for b in one.breaks if b.quantity_count == quantity), None)
        if price is None:
            raise ShopError(
                "no_such_break",
                say("The quote has no price for {count}.", count=Amount(quantity, "count")),
                remedy="Choose one of its quantities.",
            )
        one.line.won_quantity_count = quantity
        session.add(one.line)
        if one.line.job_number:
            job = get_job(session, one.line.job_number)
            job.quantity_count, job.unit_price_minor = quantity, price.unit_price_minor
            job.due_at = due_at or job.due_at
            session.add(job)
            continue
        values = LineValues(one.line.part_number, quantity, due_at, price.unit_price_minor)
        fresh.append((one.line, values))
    if fresh:
        _order_fresh(session, place, fresh, due_at, by=by)
    session.flush()
    taken = [one for one in place.lines if one.line.won_quantity_count is not None]
    _move_jobs(session, taken, {"asked": ("priced", "won"), "priced": ("won",)}, by=by)
    place.quote.state, place.quote.decided_at = "won", utc_now()
    if their_reference:
        place.quote.their_reference = their_reference
    touch(session, place, did="won", by=by, after={"order": place.quote.order_number})
    return place.quote


def set_quote_lost(session: Session, number: str, *, reason: str, note: str = "", by: str) -> Quote:
    """The customer did not take it, and why; its jobs are lost with it.

    Raises: ShopError `wrong_state`, `no_reason`.
    """
    place = get_quote_place(session, number)
    if place.quote.state not in ("draft", "sent"):
        raise ShopError("wrong_state", "The quote is decided already.", remedy="Reload the page.")
    if not reason.strip():
        raise ShopError(
            "no_reason",
            "Why it was lost is empty.",
            remedy="Say why: it is what the numbers are made of.",
            where="reason",
        )
    quote = place.quote
    quote.state, quote.decided_at = "lost", utc_now()
    quote.lost_reason, quote.decided_note = reason.strip(), note
    ways = {"asked": ("lost",), "priced": ("lost",)}
    _move_jobs(session, place.lines, ways, by=by, reason=reason)
    touch(session, place, did="lost", by=by, after={"lost reason": reason})
    return quote


def _order_fresh(
    session: Session,
    place: QuotePlace,
    fresh: list[tuple[QuoteLine, LineValues]],
    due_at: datetime | None,
    *,
    by: str,
) -> None:
    """The order of a quote nobody had written an enquiry for."""
    quote = place.quote
    values = OrderValues(
        customer_code=quote.customer_code or "",
        their_reference=quote.their_reference,
        due_at=due_at,
        note=f"from quote {quote.number}",
    )
    order = add_order(session, values, [line for _, line in fresh], by=by)
    jobs = list_lines(session, order.number)
    for (row, _), job in zip(fresh, jobs, strict=True):
        row.job_number, job.revision_label = job.number, row.revision_label
        job.bend_sequence_id = row.bend_sequence_id
        session.add_all((row, job))
    quote.order_number = quote.order_number or order.number


def _move_jobs(
    session: Session,
    lines: Iterable[PricedLine],
    ways: Mapping[str, tuple[str, ...]],
    *,
    by: str,
    reason: str = "",
) -> None:
    """Take the jobs of a quote's parts along, as far as they are not further already."""
    today = utc_now().date()
    for one in lines:
        if one.line.job_number is None:
            continue
        job = get_job(session, one.line.job_number)
        if job.unit_price_minor is None and one.breaks:
            same = (b for b in one.breaks if b.quantity_count == job.quantity_count)
            job.unit_price_minor = next(same, one.breaks[0]).unit_price_minor
            session.add(job)
        for state in ways.get(job.state, ()):
            move_job(session, job.number, state, reason=reason, today=today, by=by)


def _sent(session: Session, number: str) -> QuotePlace:
    place = get_quote_place(session, number)
    if place.quote.state != "sent":
        raise ShopError(
            "wrong_state",
            say("The quote is {state}.", state=place.quote.state),
            remedy="Only a quote that was sent can be won.",
        )
    return place
