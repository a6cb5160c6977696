"""Customers: list, add, change, archive."""

from fastapi import APIRouter
from starlette.responses import Response

from server.actions import customer as actions
from server.shop.job_state import MOVES
from server.storage.queries import customer as queries
from server.storage.queries.board import JobWish, list_job_lines
from server.storage.queries.history import list_events, list_noun_events
from server.web.forms.conflict import Conflict, conflict_of
from server.web.forms.customer import read_customer, typed_of_customer
from server.web.forms.form import Form
from server.web.house import Typed, Visit, Visiting
from server.web.pages.attachment import Attachments
from server.web.pages.customer import CustomerEdit, CustomerList
from server.web.pages.history import history_of
from server.web.pages.job import JobRow, job_row, now_utc
from server.web.problems import status_of
from server.web.routes.attachment import attachments_of

router = APIRouter(prefix="/office/customer", include_in_schema=False)
MOST_JOBS = 12


@router.get("")
def customers(visit: Visiting, archived: bool = False) -> Response:
    """All customers."""
    with visit.database.reading() as session:
        lines = queries.list_customer_lines(session, with_archived=archived)
        events = list_noun_events(session, actions.NOUN)
    page = CustomerList(
        frame=visit.frame("Customers", "customer", styles=("tool",)),
        customers=lines,
        with_archived=archived,
        history=history_of(events, visit.show, with_names=True),
    )
    return visit.answer(page)


@router.get("/new")
def new_customer(visit: Visiting) -> Response:
    """An empty form."""
    return visit.answer(_edit(visit, Form({}, visit.unit)))


@router.post("/new")
def add_customer(visit: Visiting, typed: Typed) -> Response:
    """Add a customer."""
    form = Form.posted(typed, visit.unit)
    code, values = form.code("code"), read_customer(form)
    with visit.database.writing() as session:
        form.attempt(lambda: actions.add_customer(session, code, values, by=visit.person), session)
    if not form.ok:
        return visit.answer(_edit(visit, form), status=status_of(form))
    return visit.go_to(f"/office/customer/{code}?saved=yes")


@router.get("/{code}")
def customer(visit: Visiting, code: str, saved: bool = False, removed: int = 0) -> Response:
    """One customer."""
    with visit.database.reading() as session:
        row = queries.get_customer(session, code)
    form = Form(typed_of_customer(row), visit.unit)
    return visit.answer(_edit(visit, form, code=code, saved=saved, removed=removed))


@router.post("/{code}")
def save_customer(visit: Visiting, code: str, typed: Typed) -> Response:
    """Change a customer."""
    form = Form.posted(typed, visit.unit)
    values, version = read_customer(form), form.version()
    with visit.database.writing() as session:
        form.attempt(
            lambda: actions.save_customer(session, code, values, version=version, by=visit.person),
            session,
        )
    if not form.ok:
        return visit.answer(_edit(visit, form, code=code), status=status_of(form))
    return visit.go_to(f"/office/customer/{code}?saved=yes")


@router.post("/{code}/archived")
def archive_customer(visit: Visiting, code: str, typed: Typed) -> Response:
    """Take a customer off the lists, or put it back."""
    archived = Form(typed).yes("archived")
    with visit.database.writing() as session:
        actions.set_customer_archived(session, code, archived=archived, by=visit.person)
    return visit.go_to("/office/customer" if archived else f"/office/customer/{code}")


@router.post("/{code}/removed")
def remove_customer(visit: Visiting, code: str) -> Response:
    """Throw away a customer without history; one with history is archived."""
    with visit.database.writing() as session:
        gone = actions.remove_customer(session, code, by=visit.person)
    return visit.go_to("/office/customer" if gone else f"/office/customer/{code}")


@router.post("/{code}/put-back")
def put_customer_back(visit: Visiting, code: str, typed: Typed) -> Response:
    """Undo one change of a customer."""
    event_id = Form(typed).whole("event", least=0, most=10**12)
    with visit.database.writing() as session:
        actions.put_customer_back(session, code, event_id, by=visit.person)
    return visit.go_to(f"/office/customer/{code}?saved=yes")


def _edit(
    visit: Visit, form: Form, *, code: str = "", saved: bool = False, removed: int = 0
) -> CustomerEdit:
    """A customer's page around a form; an existing one's jobs and history are read here."""
    archived, kept, conflict, events = False, False, Conflict(), []
    jobs: tuple[JobRow, ...] = ()
    files = Attachments("customer", code, [], certificates=False, removed=None)
    if code:
        with visit.database.reading() as session:
            row = queries.get_customer(session, code)
            kept = queries.has_history(session, code)
            events = list_events(session, noun=actions.NOUN, key=code)
            wish = JobWish(states=tuple(MOVES), customer_code=code)
            lines = list_job_lines(session, wish, limit=MOST_JOBS) if kept else []
            files = attachments_of(session, "customer", code, removed=removed)
        jobs = tuple(job_row(line, now_utc()) for line in lines)
        archived = row.archived_at is not None
        conflict = conflict_of(form, typed_of_customer(row), version=row.version)
    return CustomerEdit(
        frame=visit.frame(
            code or "New customer",
            "customer",
            styles=("tool", "job"),
            notice="Saved." if saved else "",
        ),
        form=form,
        code=code,
        archived=archived,
        kept=kept,
        jobs=jobs,
        attachments=files,
        conflict=conflict,
        history=history_of(
            events, visit.show, put_back_path=f"/office/customer/{code}/put-back" if code else ""
        ),
    )
