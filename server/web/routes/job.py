"""Jobs: board, list, one job with its moves, repeats and sheets; several at once."""

from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Request
from starlette.responses import Response

from server.actions import job as actions
from server.actions import order as orders
from server.actions import stock
from server.actions.repeat import repeat_job
from server.shop.job_state import MOVES, OPEN_STATES
from server.storage.database import Session
from server.storage.queries import board as queries
from server.storage.queries.customer import find_customer, list_customers
from server.storage.queries.job import get_job
from server.storage.queries.order import list_operations
from server.storage.queries.part import get_part
from server.storage.queries.stock import list_short_stock
from server.web.forms.conflict import conflict_of
from server.web.forms.due import read_day, today_here
from server.web.forms.form import Form
from server.web.forms.job import (
    DUE_CHOICES,
    STATE_CHOICES,
    place_text,
    read_chosen,
    read_place,
    read_wish,
)
from server.web.forms.order import read_line, read_routing, typed_of_line
from server.web.house import Typed, Visit, Visiting
from server.web.pages.job import (
    BulkNote,
    Column,
    JobBoard,
    JobEdit,
    JobList,
    JobRows,
    job_row,
    now_utc,
)
from server.web.pages.job_show import job_page
from server.web.problems import status_of
from server.web.routes.attachment import attachments_of
from server.web.security import MOST_FIELDS

router = APIRouter(prefix="/office/job", include_in_schema=False)
A_PAGE = 50
A_COLUMN = 12
MOST_CUSTOMERS = 60  # a longer list is no help; the others are found by typing
WISHES = ("state", "customer", "part", "text", "due", "hot")


async def posted_pairs(request: Request) -> list[tuple[str, str]]:
    """Every pair of a posted form, so that several ticks of one name are all there."""
    form = await request.form(max_fields=MOST_FIELDS)
    return [(name, value) for name, value in form.multi_items() if isinstance(value, str)]


Pairs = Annotated[list[tuple[str, str]], Depends(posted_pairs)]


@router.get("")
def jobs(visit: Visiting, request: Request, view: str = "") -> Response:
    """The board, or the list of jobs that fit a wish."""
    asked = dict(request.query_params)
    if view == "list" or set(asked) & set(WISHES):
        return visit.answer(_list(visit, asked))
    with visit.database.reading() as session:
        page = _board(visit, session)
    return visit.answer(page)


@router.get("/rows")
def job_rows(visit: Visiting, request: Request) -> Response:
    """The list again after a filter was changed, or its next page."""
    with visit.database.reading() as session:
        rows = _rows(session, dict(request.query_params))
    return visit.answer(rows)


@router.post("/several")
def several(visit: Visiting, pairs: Pairs) -> Response:
    """Move, archive or print several jobs, or take that back."""
    typed, chosen = dict(pairs), read_chosen(pairs)
    note = _bulk(visit, typed, chosen)
    return visit.answer(_list(visit, {**dict(_wished(typed)), "view": "list"}, note))


@router.get("/{number}")
def job(visit: Visiting, number: str, saved: bool = False, removed: int = 0) -> Response:
    """One job."""
    with visit.database.reading() as session:
        files = attachments_of(session, "job", number, removed=removed)
        page = job_page(visit, session, number, files, saved=saved)
    return visit.answer(page)


@router.post("/{number}/state")
def move(visit: Visiting, number: str, typed: Typed) -> Response:
    """Move a job to another state."""
    after, reason = typed.get("state", ""), Form(typed).text("reason", most=200)
    with visit.database.writing() as session:
        actions.move_job(session, number, after, reason=reason, today=today_here(), by=visit.person)
    return visit.go_to(f"/office/job/{number}")


@router.post("/{number}/undo")
def undo(visit: Visiting, number: str) -> Response:
    """Take the last move back."""
    with visit.database.writing() as session:
        actions.undo_move(session, number, by=visit.person)
    return visit.go_to(f"/office/job/{number}")


@router.post("/{number}/mark")
def mark(visit: Visiting, number: str, typed: Typed) -> Response:
    """Hot or not, archived or not, short delivery or old revision agreed, newest revision taken."""
    form = Form(typed)
    what, yes = form.text("what", most=20), form.yes("yes")
    with visit.database.writing() as session:
        _mark(session, number, what, yes=yes, by=visit.person)
    return visit.go_to(f"/office/job/{number}")


@router.post("/{number}/step/{step_id}")
def tick_step(visit: Visiting, number: str, step_id: int, typed: Typed) -> Response:
    """Tick a step of its way through the shop, or take the tick back."""
    done = Form(typed).yes("done")
    with visit.database.writing() as session:
        orders.set_operation_done(session, number, step_id, done=done, by=visit.person)
    return visit.go_to(f"/office/job/{number}#way")


@router.post("/{number}/reserve")
def reserve(visit: Visiting, number: str, typed: Typed) -> Response:
    """Reserve the sheets it takes, or free them."""
    form = Form(typed)
    width, height = (form.need_number(n, least=1, most=20_000) for n in ("width_mm", "height_mm"))
    with visit.database.writing() as session:
        if form.yes("release"):
            stock.release(session, number, by=visit.person)
        else:
            form.need_ok()
            stock.reserve_best(session, number, width_mm=width, height_mm=height, by=visit.person)
    return visit.go_to(f"/office/job/{number}#sheets")


@router.post("/{number}/repeat")
def repeat(visit: Visiting, number: str, typed: Typed) -> Response:
    """The same again, as a new enquiry."""
    form = Form(typed)
    quantity = form.whole("quantity", least=1, most=1_000_000, default=0)
    due_at = read_day(form, "due")
    form.need_ok()
    with visit.database.writing() as session:
        again = repeat_job(
            session, number, quantity_count=quantity or None, due_at=due_at, by=visit.person
        )
    return visit.go_to(f"/office/job/{again.number}?saved=yes")


@router.get("/{number}/edit")
def edit(visit: Visiting, number: str) -> Response:
    """A job's own values."""
    with visit.database.reading() as session:
        row = get_job(session, number)
        steps = list_operations(session, number)
    form = Form(typed_of_line(row, steps, currency=visit.show.currency), visit.unit)
    return visit.answer(_edit(visit, number, form))


@router.post("/{number}/edit")
def save(visit: Visiting, number: str, typed: Typed) -> Response:
    """Change a job's own values."""
    form = Form.posted(typed, visit.unit)
    values = read_line(form, currency=visit.show.currency, part_number="-")
    steps, version = read_routing(form), form.version()
    with visit.database.writing() as session:
        form.attempt(
            lambda: (
                orders.save_line(session, number, values, version=version, by=visit.person),
                orders.save_routing(session, number, steps, by=visit.person),
            ),
            session,
        )
    if not form.ok:
        return visit.answer(_edit(visit, number, form), status=status_of(form))
    return visit.go_to(f"/office/job/{number}?saved=yes")


def _board(visit: Visit, session: Session) -> JobBoard:
    now = now_utc()
    counts = queries.count_jobs(session, OPEN_STATES)
    columns = []
    for state in OPEN_STATES:
        wish = queries.JobWish(states=(state,))
        lines = queries.list_job_lines(session, wish, limit=A_COLUMN) if counts[state] else []
        columns.append(Column(state, tuple(job_row(line, now) for line in lines), counts[state]))
    return JobBoard(
        frame=visit.frame("Jobs", "job", styles=("job",), scripts=("office_live",)),
        columns=tuple(columns),
        low_stock=list_short_stock(session),
    )


def _list(visit: Visit, asked: dict[str, str], note: BulkNote | None = None) -> JobList:
    with visit.database.reading() as session:
        rows = _rows(session, asked)
        customers = list_customers(session, most=MOST_CUSTOMERS)
        chosen = find_customer(session, asked.get("customer", ""))
    if chosen is not None and chosen.code not in [row.code for row in customers]:
        customers.append(chosen)
    return JobList(
        frame=visit.frame("Jobs", "job", styles=("job",), scripts=("job",)),
        form=Form(asked, visit.unit),
        list_rows=rows,
        customers=(("", "every customer"), *((row.code, row.name) for row in customers)),
        state_choices=STATE_CHOICES,
        due_choices=DUE_CHOICES,
        bulk=note,
    )


def _rows(session: Session, asked: dict[str, str]) -> JobRows:
    now = now_utc()
    wish = read_wish(Form(asked), now=now)
    after = read_place(asked.get("after", ""))
    lines = queries.list_job_lines(session, wish, after=after, limit=A_PAGE + 1)
    more = ""
    if len(lines) > A_PAGE:
        last = lines[A_PAGE - 1].job
        place = place_text(queries.Place(last.due_at, last.number))
        more = urlencode([*_wished(asked), ("after", place)])
    return JobRows(
        rows=tuple(job_row(line, now) for line in lines[:A_PAGE]),
        more=more,
        states=tuple(MOVES),
        wished=urlencode(_wished(asked)),
    )


def _wished(asked: dict[str, str]) -> list[tuple[str, str]]:
    return [(name, asked[name][:60]) for name in WISHES if asked.get(name)]


def _bulk(visit: Visit, typed: dict[str, str], chosen: tuple[str, ...]) -> BulkNote:
    """Carry out what was asked of several jobs."""
    form, by = Form(typed), visit.person
    do, state = form.text("do", most=20), form.text("to", most=20)
    if not chosen:
        return BulkNote("No job was ticked.", (), (), "")
    if do == "print":
        return BulkNote("Travellers of the ticked jobs:", chosen, (), "", papers=chosen)
    with visit.database.writing() as session:
        match do:
            case "archive" | "restore":
                outcome = actions.set_jobs_archived(
                    session, chosen, archived=do == "archive", by=by
                )
                undo, did = ("restore" if do == "archive" else "archive"), f"{do}d"
            case "undo":
                outcome, undo, did = actions.undo_moves(session, chosen, by=by), "", "moved back"
            case _:
                reason = form.text("reason", most=200)
                outcome = actions.move_jobs(
                    session, chosen, state, reason=reason, today=today_here(), by=by
                )
                undo, did = "undo", f"moved to {state}"
    count = len(outcome.done)
    return BulkNote(
        f"{count} {'job was' if count == 1 else 'jobs were'} {did}.",
        outcome.done,
        outcome.refused,
        undo if count else "",
    )


def _mark(session: Session, number: str, what: str, *, yes: bool, by: str) -> None:
    match what:
        case "hot":
            actions.set_hot(session, number, hot=yes, by=by)
        case "archived":
            actions.set_jobs_archived(session, [number], archived=yes, by=by)
        case "short":
            actions.agree_short_delivery(session, number, agreed=yes, by=by)
        case "old_revision":
            actions.agree_old_revision(session, number, by=by)
        case _:
            actions.use_newest_revision(session, number, by=by)


def _edit(visit: Visit, number: str, form: Form) -> JobEdit:
    with visit.database.reading() as session:
        row = get_job(session, number)
        steps = list_operations(session, number)
        part = get_part(session, row.part_number)
        customer = find_customer(session, row.customer_code or "")
    now = typed_of_line(row, steps, currency=visit.show.currency)
    return JobEdit(
        frame=visit.frame(number, "job", styles=("tool", "job"), scripts=("order",)),
        form=form,
        number=number,
        part=part,
        customer=customer,
        conflict=conflict_of(form, now, version=row.version),
    )
