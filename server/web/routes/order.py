"""Enquiries and orders: written down, understood while typed, changed, given more lines."""

from fastapi import APIRouter
from starlette.responses import Response

from server.actions import order as actions
from server.shop.typed_date import spoken_day
from server.storage.database import Session
from server.storage.queries import order as queries
from server.storage.queries.bend_sequence import list_bend_sequences
from server.storage.queries.board import JobLine
from server.storage.queries.customer import list_customers
from server.storage.queries.finder import find_parts_like
from server.storage.queries.history import list_events
from server.storage.queries.part import find_newest_revision, find_part
from server.web.forms.conflict import conflict_of
from server.web.forms.due import read_day, today_here
from server.web.forms.form import Form
from server.web.forms.order import read_line, read_order, typed_of_order
from server.web.house import Typed, Visit, Visiting
from server.web.pages.history import history_of
from server.web.pages.job import job_row, now_utc
from server.web.pages.order import OrderEdit, OrderShow, PartHits, Understood
from server.web.problems import status_of
from server.web.routes.attachment import attachments_of

router = APIRouter(prefix="/office/order", include_in_schema=False)
MOST_HITS = 6


@router.get("/new")
def new_order(visit: Visiting, customer: str = "", part: str = "") -> Response:
    """An empty enquiry."""
    form = Form({"customer_code": customer, "part_number": part}, visit.unit)
    return visit.answer(_edit(visit, form))


@router.post("/new")
def add_order(visit: Visiting, typed: Typed) -> Response:
    """Keep an enquiry with its first line."""
    form = Form.posted(typed, visit.unit)
    values, line = read_order(form), read_line(form, currency=visit.show.currency)
    with visit.database.writing() as session:
        order = form.attempt(
            lambda: actions.add_order(session, values, [line], by=visit.person), session
        )
    if order is None:
        return visit.answer(_edit(visit, form), status=status_of(form))
    return visit.go_to(f"/office/order/{order.number}?saved=yes")


@router.get("/parts")
def parts(visit: Visiting, part_number: str = "") -> Response:
    """Parts like what is being typed."""
    text = part_number.strip()[:40]
    with visit.database.reading() as session:
        lines = find_parts_like(session, text, limit=MOST_HITS) if len(text) > 1 else []
    hits = tuple((line.part.number, line.part.name) for line in lines)
    exact = len(hits) > 0 and hits[0][0] == text.upper()
    return visit.answer(PartHits(() if exact else hits, text))


@router.post("/understood")
def understood(visit: Visiting, typed: Typed) -> Response:
    """What a line means as far as it is typed."""
    with visit.database.reading() as session:
        page = understood_of(session, Form.posted(typed, visit.unit))
    return visit.answer(page)


@router.get("/{number}")
def order(visit: Visiting, number: str, saved: bool = False, removed: int = 0) -> Response:
    """One order."""
    return visit.answer(_show(visit, number, None, saved=saved, removed=removed))


@router.post("/{number}")
def save_order(visit: Visiting, number: str, typed: Typed) -> Response:
    """Change an order."""
    form = Form.posted(typed, visit.unit)
    values, version = read_order(form), form.version()
    with visit.database.writing() as session:
        form.attempt(
            lambda: actions.save_order(session, number, values, version=version, by=visit.person),
            session,
        )
    if not form.ok:
        return visit.answer(_show(visit, number, form), status=status_of(form))
    return visit.go_to(f"/office/order/{number}?saved=yes")


@router.post("/{number}/line")
def add_line(visit: Visiting, number: str, typed: Typed) -> Response:
    """One more line."""
    line = Form.posted(typed, visit.unit)
    values = read_line(line, currency=visit.show.currency)
    with visit.database.writing() as session:
        line.attempt(lambda: actions.add_line(session, number, values, by=visit.person), session)
    if not line.ok:
        return visit.answer(_show(visit, number, None, line=line), status=status_of(line))
    return visit.go_to(f"/office/order/{number}?saved=yes")


def understood_of(session: Session, form: Form) -> Understood:
    """What a half typed line means; nothing is a problem while it is still empty."""
    aside = Form(form.typed, form.unit)
    number = form.typed.get("part_number", "").strip().upper()
    part = find_part(session, number) if number else None
    revision = find_newest_revision(session, part.number) if part else None
    sequences = (
        list_bend_sequences(session, part.number, revision.label) if revision and part else []
    )
    due = read_day(aside, "line_due") if "line_due" in form.typed else read_day(aside, "due")
    if form.typed.get("quantity", "").strip():
        aside.whole("quantity", least=1, most=1_000_000)
    return Understood(
        part=part,
        revision=revision,
        has_sequence=any(row.state == "ready" for row in sequences),
        due="" if due is None else spoken_day(due.date()),
        in_days=None if due is None else (due.date() - today_here()).days,
        trouble=tuple(problem.what for problem in aside.problems.values()),
    )


def _edit(visit: Visit, form: Form) -> OrderEdit:
    with visit.database.reading() as session:
        known = understood_of(session, form)
        choices = _customers(session, form)
    return OrderEdit(
        frame=visit.frame("New enquiry", "job", styles=("tool", "job"), scripts=("order",)),
        form=form,
        customers=choices,
        understood=known,
    )


def _show(
    visit: Visit,
    number: str,
    form: Form | None,
    *,
    line: Form | None = None,
    saved: bool = False,
    removed: int = 0,
) -> OrderShow:
    line = line or Form({}, visit.unit)
    with visit.database.reading() as session:
        place = queries.get_order_place(session, number)
        events = list_events(session, noun=actions.NOUN, key=number)
        form = form or Form(typed_of_order(place.order), visit.unit)
        return OrderShow(
            frame=visit.frame(
                number,
                "job",
                styles=("tool", "job"),
                scripts=("order",),
                notice="Saved." if saved else "",
            ),
            order=place.order,
            customer=place.customer,
            rows=tuple(
                job_row(JobLine(job, place.customer.name), now_utc()) for job in place.lines
            ),
            total_minor=_total(place),
            form=form,
            line=line,
            customers=_customers(session, form),
            understood=understood_of(session, line),
            conflict=conflict_of(form, typed_of_order(place.order), version=place.order.version),
            attachments=attachments_of(session, "order", number, removed=removed),
            history=history_of(events, visit.show),
        )


def _total(place: queries.OrderPlace) -> int | None:
    """The sum of the lines' prices; None while one has no price."""
    lines = [job for job in place.lines if job.state != "lost" and job.archived_at is None]
    prices = [
        job.unit_price_minor * job.quantity_count
        for job in lines
        if job.unit_price_minor is not None
    ]
    return sum(prices) if lines and len(prices) == len(lines) else None


def _customers(session: Session, form: Form) -> tuple[tuple[str, str], ...]:
    chosen = form.typed.get("customer_code", "")
    rows = list_customers(session, with_archived=bool(chosen))
    return (
        *([("", "choose")] if not chosen else []),
        *((row.code, row.name) for row in rows if row.archived_at is None or row.code == chosen),
    )
