"""Jobs as the board and the list show them: by state and due date, a page at a time.

Every query here ends at a limit and goes by an index, so that a hundred thousand old jobs cost
nothing: each state is read in order of its own index and the states are merged.
"""

import heapq
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import func
from sqlmodel import Session, col, select

from server.shop.job_state import OPEN_STATES, JobState
from server.storage.queries.customer import customer_names
from server.storage.tables.customer import Customer
from server.storage.tables.job import Job
from server.storage.tables.order import Order

COUNTED_TO = 1000
MOST_LIKE = 300
LAST = "\uffff"
NEVER = datetime.min.replace(tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class JobLine:
    """A job with its customer's name."""

    job: Job
    customer: str


@dataclass(frozen=True, slots=True)
class JobWish:
    """Which jobs are wanted; empty texts wish nothing. `due_before` and `due_from` bound the day."""

    states: tuple[JobState, ...] = OPEN_STATES
    customer_code: str = ""
    part_number: str = ""
    text: str = ""
    due_from: datetime | None = None
    due_before: datetime | None = None
    hot: bool = False
    archived: bool = False


@dataclass(frozen=True, slots=True)
class Place:
    """Where a page of jobs ended: the due date (None in the part without one) and the number."""

    due_at: datetime | None
    number: str


def list_job_lines(
    session: Session, wish: JobWish, *, after: Place | None = None, limit: int = 50
) -> list[JobLine]:
    """Jobs by due date and number, those without a due date last, from a place on."""
    only = _numbers_like(session, wish.text) if wish.text.strip() else None
    if only is not None and not only:
        return []
    jobs: list[Job] = []
    if after is None or after.due_at is not None:
        jobs = _merged(session, wish, only, after, limit, dated=True)
        after = None
    undated = wish.due_from is None and wish.due_before is None
    if len(jobs) < limit and undated:
        jobs += _merged(session, wish, only, after, limit - len(jobs), dated=False)
    names = customer_names(session, (job.customer_code for job in jobs))
    return [JobLine(job, names[job.customer_code]) for job in jobs]


def count_jobs(session: Session, states: Iterable[JobState]) -> dict[JobState, int]:
    """How many jobs are in each state, counted to a thousand."""
    counts = {}
    for state in states:
        few = (
            select(Job.number)
            .where(col(Job.archived_at).is_(None), col(Job.state) == state)
            .limit(COUNTED_TO)
            .subquery()
        )
        counts[state] = session.exec(select(func.count()).select_from(few)).one()
    return counts


def _merged(
    session: Session,
    wish: JobWish,
    only: list[str] | None,
    after: Place | None,
    limit: int,
    *,
    dated: bool,
) -> list[Job]:
    if only is not None:
        states = col(Job.state).in_(wish.states)
        query = _wished(wish, only, after, dated=dated).where(states)
        return list(session.exec(query.limit(limit)))
    pages = [
        list(
            session.exec(
                _wished(wish, None, after, dated=dated).where(col(Job.state) == state).limit(limit)
            )
        )
        for state in wish.states
    ]
    merged = heapq.merge(*pages, key=lambda job: (job.due_at or NEVER, job.number))
    return list(merged)[:limit]


def _wished(wish: JobWish, only: list[str] | None, after: Place | None, *, dated: bool) -> Any:
    due, number = col(Job.due_at), col(Job.number)
    query = select(Job).where(
        col(Job.archived_at).is_not(None) if wish.archived else col(Job.archived_at).is_(None),
        due.is_not(None) if dated else due.is_(None),
    )
    if wish.customer_code:
        query = query.where(col(Job.customer_code) == wish.customer_code)
    if wish.part_number:
        query = query.where(col(Job.part_number) == wish.part_number)
    if wish.hot:
        query = query.where(col(Job.hot))
    if only is not None:
        query = query.where(number.in_(only))
    if wish.due_from is not None:
        query = query.where(due >= wish.due_from)
    if wish.due_before is not None:
        query = query.where(due < wish.due_before)
    if after is not None:
        later = number > after.number
        if after.due_at is not None:
            query = query.where(due >= after.due_at, (due > after.due_at) | later)
        else:
            query = query.where(later)
    return query.order_by(due, number)


def _numbers_like(session: Session, text: str) -> list[str]:
    """Numbers of jobs whose number, part, order, reference or customer begins with a text."""
    wanted = text.strip()[:40]
    upper = wanted.upper()
    found: dict[str, None] = {}

    def take(query: Any) -> None:
        found.update(dict.fromkeys(session.exec(query.limit(MOST_LIKE))))

    take(select(Job.number).where(_begins(Job.number, upper)))
    take(select(Job.number).where(_begins(Job.part_number, upper)))
    orders = list(
        session.exec(
            select(Order.number)
            .where(_begins(Order.number, upper) | _begins(Order.their_reference, wanted))
            .limit(50)
        )
    )
    if orders:
        take(select(Job.number).where(col(Job.order_number).in_(orders)))
    customers = _customers_like(session, wanted)
    if customers:
        newest = col(Job.due_at).desc()
        take(
            select(Job.number).where(col(Job.customer_code).in_(customers)).order_by(newest)
            if len(customers) == 1
            else select(Job.number).where(col(Job.customer_code).in_(customers))
        )
    return list(found)


def _customers_like(session: Session, text: str) -> Sequence[str]:
    like = "%" + text.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_") + "%"
    query = select(Customer.code).where(
        _begins(Customer.code, text.upper()) | col(Customer.name).like(like, escape="\\")
    )
    return list(session.exec(query.limit(20)))


def _begins(column: Any, text: str) -> Any:
    """A range on an index; LIKE would not use it."""
    return col(column).between(text, text + LAST)
