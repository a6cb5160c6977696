"""Enquiries and orders: written down, their lines added, changed, archived."""

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

from server.actions.history import keep, need_same_version, picture
from server.actions.job import settle_order
from server.errors import ShopError, say
from server.storage.database import Session
from server.storage.queries.bend_sequence import list_bend_sequences
from server.storage.queries.customer import get_customer
from server.storage.queries.job import get_job
from server.storage.queries.order import get_order, list_lines, list_operations, next_number
from server.storage.queries.part import find_newest_revision, get_part
from server.storage.tables.column import utc_now
from server.storage.tables.job import Job
from server.storage.tables.order import OPERATION_KINDS, Operation, Order
from server.storage.tables.part import Revision

__all__ = [
    "OPERATION_KINDS",
    "LineValues",
    "OperationValues",
    "OrderValues",
    "add_line",
    "add_order",
    "save_line",
    "save_order",
    "save_routing",
    "set_operation_done",
]
NOUN = "order"
NOT_STARTED = ("asked", "priced", "won", "ready", "held")


@dataclass(frozen=True, slots=True)
class OrderValues:
    """What a person may say about an order as a whole."""

    customer_code: str
    their_reference: str
    due_at: datetime | None
    note: str


@dataclass(frozen=True, slots=True)
class LineValues:
    """What a person may say about one line: so many of a part, by a day."""

    part_number: str
    quantity_count: int
    due_at: datetime | None
    unit_price_minor: int | None = None
    finish: str = ""
    hot: bool = False
    note: str = ""


@dataclass(frozen=True, slots=True)
class OperationValues:
    """One step of a job's way through the shop."""

    kind: str
    words: str = ""
    estimated_s: float | None = None


def add_order(
    session: Session, values: OrderValues, lines: Iterable[LineValues] = (), *, by: str
) -> Order:
    """A new enquiry with its lines; each line becomes a job at its part's newest revision.

    Raises: ShopError `not_found`, `no_revision`, `no_quantity`.
    """
    get_customer(session, values.customer_code)
    wanted = tuple(lines)
    for line in wanted:  # all that can be wrong is found before anything is kept
        newest_revision(session, line.part_number)
        _need_quantity(line)
    row = Order(number=next_number(session, "O", Order), asked_at=utc_now(), **asdict(values))
    session.add(row)
    session.flush()
    keep(session, "added", noun=NOUN, key=row.number, by=by, after=picture(row))
    for line in wanted:
        add_line(session, row.number, line, by=by)
    return row


def save_order(
    session: Session, number: str, values: OrderValues, *, version: int, by: str
) -> Order:
    """Changed values of an order; its lines go to the new customer too.

    Raises: ShopError `not_found`, `edit_conflict`.
    """
    row = get_order(session, number)
    need_same_version(row, version)
    get_customer(session, values.customer_code)
    before = picture(row)
    for name, value in asdict(values).items():
        setattr(row, name, value)
    session.add(row)
    after = picture(row)
    if after != before:
        keep(session, "changed", noun=NOUN, key=number, by=by, before=before, after=after)
    for line in list_lines(session, number):
        line.customer_code = row.customer_code
        session.add(line)
    return row


def add_line(
    session: Session, order_number: str, values: LineValues, *, repeat_of: str = "", by: str
) -> Job:
    """One more line of an order: a job, with the routing its part suggests.

    Raises: ShopError `not_found`, `no_revision` for a part nobody has drawn, `no_quantity`.
    """
    order = get_order(session, order_number)
    revision = newest_revision(session, values.part_number)
    _need_quantity(values)
    job = Job(
        number=next_number(session, "J", Job),
        order_number=order.number,
        position=len(list_lines(session, order.number)) + 1,
        customer_code=order.customer_code,
        revision_label=revision.label,
        repeat_of=repeat_of or None,
        **{**asdict(values), "due_at": values.due_at or order.due_at},
    )
    session.add(job)
    session.flush()
    session.add_all(_usual_routing(session, job, revision))
    keep(session, "added", noun="job", key=job.number, by=by, after=picture(job))
    settle_order(session, job)
    return job


def save_line(session: Session, number: str, values: LineValues, *, version: int, by: str) -> Job:
    """Changed values of a job; its part stays, and steps take their share of another quantity.

    Raises: ShopError `not_found`, `edit_conflict`, `no_quantity`, `wrong_state` for a quantity
        below what is made already.
    """
    job = get_job(session, number)
    need_same_version(job, version)
    _need_quantity(values)
    if values.quantity_count < job.good_count:
        raise ShopError(
            "wrong_state",
            say("{count} good parts are made already.", count=str(job.good_count)),
            remedy="Order no fewer, or end the job short.",
            where="quantity",
        )
    before = picture(job)
    share = values.quantity_count / job.quantity_count
    if share != 1.0:
        for step in list_operations(session, number):
            step.estimated_s = None if step.estimated_s is None else step.estimated_s * share
            session.add(step)
    for name, value in asdict(values).items():
        if name != "part_number":
            setattr(job, name, value)
    session.add(job)
    after = picture(job)
    if after != before:
        keep(session, "changed", noun="job", key=number, by=by, before=before, after=after)
    return job


def save_routing(
    session: Session, number: str, steps: Iterable[OperationValues], *, by: str
) -> list[Operation]:
    """Another way through the shop; what is done stays done where it is still in it.

    A step that is told without an estimate keeps the one it had; 0 takes it away.

    Raises: ShopError `not_found`.
    """
    get_job(session, number)
    old = list_operations(session, number)
    done = {(row.kind, row.words): row for row in old if row.state == "done"}
    estimates = {(row.kind, row.words): row.estimated_s for row in old}
    rows = []
    for position, step in enumerate(steps, start=1):
        known = done.pop((step.kind, step.words), None)
        rows.append(
            Operation(
                job_number=number,
                position=position,
                kind=step.kind,
                words=step.words,
                estimated_s=estimates.get((step.kind, step.words))
                if step.estimated_s is None
                else step.estimated_s or None,
                state="done" if known else "waiting",
                done_at=known.done_at if known else None,
                done_by=known.done_by if known else "",
            )
        )
    if [_routed(row) for row in old] == [_routed(row) for row in rows]:
        return old
    told_before = ", ".join(_timed(row) for row in old)
    for row in old:
        session.delete(row)
    session.flush()
    session.add_all(rows)
    keep(
        session,
        "routed",
        noun="job",
        key=number,
        by=by,
        before={"routing": told_before},
        after={"routing": ", ".join(_timed(row) for row in rows)},
    )
    return rows


def set_operation_done(
    session: Session, number: str, operation_id: int, *, done: bool, by: str
) -> Operation:
    """Tick one step of a job's way, or take the tick back.

    Raises: ShopError `not_found`.
    """
    step = next((row for row in list_operations(session, number) if row.id == operation_id), None)
    if step is None:
        raise ShopError("not_found", "That step is gone.", remedy="Reload the page.")
    step.state = "done" if done else "waiting"
    step.done_at, step.done_by = (utc_now(), by) if done else (None, "")
    session.add(step)
    did = "did" if done else "took back"
    keep(session, f"{did} {_told(step)}", noun="job", key=number, by=by)
    return step


def newest_revision(session: Session, part_number: str) -> Revision:
    """The revision a new job would be made to.

    Raises: ShopError `not_found`, `no_revision`.
    """
    get_part(session, part_number)
    newest = find_newest_revision(session, part_number)
    if newest is None:
        raise ShopError(
            "no_revision",
            say("Part {number} has not been drawn.", number=part_number),
            remedy="Draw it and release a revision first.",
            where="part_number",
        )
    return newest


def _need_quantity(values: LineValues) -> None:
    if values.quantity_count < 1:
        raise ShopError(
            "no_quantity",
            "A job makes at least one part.",
            remedy="Type how many; leave the line out if none.",
            where="quantity",
        )


def _usual_routing(session: Session, job: Job, revision: Revision) -> list[Operation]:
    steps = [OperationValues("cut")]
    if revision.faces["bends"]:
        ready = next(
            (
                row
                for row in list_bend_sequences(session, job.part_number, revision.label)
                if row.state == "ready" and row.seconds_s
            ),
            None,
        )
        seconds = ready.seconds_s * job.quantity_count if ready and ready.seconds_s else None
        steps.append(OperationValues("bend", estimated_s=seconds))
    if job.finish:
        steps.append(OperationValues("finish", words=job.finish))
    return [
        Operation(job_number=job.number, position=position, **asdict(step))
        for position, step in enumerate(steps, start=1)
    ]


def _routed(step: Operation) -> tuple[str, str, float | None]:
    return step.kind, step.words, step.estimated_s


def _told(step: Any) -> str:
    kind = step.kind.replace("_", " ")
    return f"{kind} {step.words}".strip()


def _timed(step: Any) -> str:
    told = _told(step)
    return told if step.estimated_s is None else f"{told} ({step.estimated_s / 60:.3g} min)"
