"""Finished jobs with all that is known of them, for the shop's own numbers."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, func, or_, select

from server.shop.numbers import FinishedJob
from server.storage.queries.customer import customer_names
from server.storage.queries.rate import shop_rates_of
from server.storage.tables.bend_sequence import Step
from server.storage.tables.event import Event
from server.storage.tables.first_article import FirstArticle
from server.storage.tables.job import Job, Run
from server.storage.tables.measured_time import MeasuredTime
from server.storage.tables.quote import Quote, QuoteBreak, QuoteLine, QuoteVersion

MADE = ("made", "gone")
AT_ONCE = 500
"""How many names one query asks for; SQLite takes a limited number of them."""


@dataclass(frozen=True, slots=True)
class _Quoted:
    brake_min: float
    price_minor: int
    cost_minor: int
    brake_per_min_minor: float


@dataclass(frozen=True, slots=True)
class DecidedQuote:
    """A quote that was won or lost, and why."""

    number: str
    customer: str
    won: bool
    reason: str
    decided_at: datetime


def list_finished_jobs(session: Session, *, since: datetime | None = None) -> list[FinishedJob]:
    """Jobs made since a moment, oldest first, with quoted and measured times and costs.

    The actual cost is the quoted one with the brake's minutes replaced by those it took, at the
    rate and overhead the quote was worked out with; material and cutting stay as quoted.
    """
    made_at = func.coalesce(col(Job.made_at), col(Job.gone_at), col(Job.moved_at))
    query = select(Job).where(col(Job.state).in_(MADE), made_at.is_not(None))
    if since is not None:
        query = query.where(made_at >= since)
    jobs = list(session.exec(query.order_by(made_at, col(Job.number))))
    numbers = [job.number for job in jobs]
    names = customer_names(session, [job.customer_code for job in jobs])
    quoted, taken = _quoted(session, numbers), _taken_min(session, numbers)
    scrap, right = _scrap(session, numbers), _first_right(session, numbers)
    return [_finished(job, names, quoted.get(job.number), taken, scrap, right) for job in jobs]


def list_decided_quotes(session: Session, *, since: datetime | None = None) -> list[DecidedQuote]:
    """Quotes won or lost since a moment, oldest first."""
    query = select(Quote).where(
        col(Quote.state).in_(("won", "lost")), col(Quote.decided_at).is_not(None)
    )
    if since is not None:
        query = query.where(col(Quote.decided_at) >= since)
    rows = list(session.exec(query.order_by(col(Quote.decided_at), col(Quote.number))))
    names = customer_names(session, [row.customer_code for row in rows])
    return [
        DecidedQuote(
            row.number, names.get(row.customer_code, ""), row.state == "won", row.lost_reason,
            row.decided_at,
        )
        for row in rows
        if row.decided_at is not None
    ]  # fmt: skip


def _finished(
    job: Job,
    names: dict[str | None, str],
    quoted: _Quoted | None,
    taken: dict[str, float],
    scrap: dict[str, dict[str, int]],
    right: dict[str, bool],
) -> FinishedJob:
    made_at = job.made_at or job.gone_at or job.moved_at
    assert made_at is not None
    actual_min = taken.get(job.number)
    actual_cost = None
    if quoted is not None and actual_min is not None:
        over = (actual_min - quoted.brake_min) * quoted.brake_per_min_minor
        actual_cost = round(quoted.cost_minor + over)
    return FinishedJob(
        job=job.number,
        customer=names.get(job.customer_code, "") or "no customer",
        due=job.due_at,
        made_at=made_at,
        quoted_min=quoted.brake_min if quoted else None,
        actual_min=actual_min,
        price_minor=quoted.price_minor if quoted else None,
        quoted_cost_minor=quoted.cost_minor if quoted else None,
        actual_cost_minor=actual_cost,
        good_count=job.good_count,
        scrap=tuple(sorted(scrap.get(job.number, {}).items())),
        first_part_right=right.get(job.number),
    )


def _parts(numbers: list[str]) -> Iterable[list[str]]:
    return (numbers[at : at + AT_ONCE] for at in range(0, len(numbers), AT_ONCE))


def _quoted(session: Session, numbers: list[str]) -> dict[str, _Quoted]:
    """What the quote said of each job, at the quantity that was taken."""
    found: dict[str, _Quoted] = {}
    for some in _parts(numbers):
        query = (
            select(QuoteLine, QuoteBreak, QuoteVersion)
            .join(
                QuoteBreak,
                (col(QuoteBreak.quote_line_id) == col(QuoteLine.id))
                & (col(QuoteBreak.quantity_count) == col(QuoteLine.won_quantity_count)),
            )
            .join(QuoteVersion, col(QuoteVersion.id) == col(QuoteLine.quote_version_id))
            .where(col(QuoteLine.job_number).in_(some))
        )
        for line, one, version in session.exec(query):
            rates = shop_rates_of(version.rates)
            per_min = rates.brake_per_hour_minor / 60 * (1 + rates.overhead_ratio)
            people = int(line.worked.get("people", 1))
            found[line.job_number or ""] = _Quoted(
                one.brake_min, one.total_minor, one.cost_minor, per_min * people
            )
    return found


def _taken_min(session: Session, numbers: list[str]) -> dict[str, float]:
    """Minutes the brake took: set-up and first article as measured, bends times strokes and parts."""
    strokes = (
        select(col(Step.bend_sequence_id), func.count().label("strokes_count"))
        .group_by(col(Step.bend_sequence_id))
        .subquery()
    )
    taken: defaultdict[str, float] = defaultdict(float)
    for some in _parts(numbers):
        query = (
            select(MeasuredTime, Run, strokes.c.strokes_count)
            .join(Run, col(Run.id) == col(MeasuredTime.run_id))
            .join(strokes, strokes.c.bend_sequence_id == col(Run.bend_sequence_id), isouter=True)
            .where(col(MeasuredTime.job_number).in_(some))
        )
        for time, run, count in session.exec(query):
            times = 1
            if time.kind == "bend":
                times = (count or 1) * (run.good_count + run.scrap_count + run.rework_count)
            taken[time.job_number or ""] += time.seconds_s * times / 60
    return dict(taken)


def _scrap(session: Session, numbers: list[str]) -> dict[str, dict[str, int]]:
    """Scrapped parts by reason, as they were counted at the brake; taken back ones count back."""
    scrap: dict[str, dict[str, int]] = {}
    for some in _parts(numbers):
        runs = select(Run.id, Run.job_number).where(
            col(Run.job_number).in_(some), col(Run.scrap_count) > 0
        )
        job_of = {str(run_id): job or "" for run_id, job in session.exec(runs)}
        events = select(Event).where(
            col(Event.noun) == "run", col(Event.did) == "counted", col(Event.key).in_(job_of)
        )
        for event in session.exec(events) if job_of else ():
            after = event.after or {}
            count = int(after.get("scrap", 0))
            if count:
                by_reason = scrap.setdefault(job_of[event.key], {})
                reason = after.get("reason") or "no reason given"
                by_reason[reason] = by_reason.get(reason, 0) + count
    return scrap


def _first_right(session: Session, numbers: list[str]) -> dict[str, bool]:
    """Whether the first sheet signed for a job was good; jobs where nobody measured are left out."""
    right: dict[str, bool] = {}
    for some in _parts(numbers):
        query = (
            select(FirstArticle)
            .where(
                col(FirstArticle.job_number).in_(some),
                or_(col(FirstArticle.verdict) == "good", col(FirstArticle.verdict) == "not good"),
            )
            .order_by(col(FirstArticle.id))
        )
        for sheet in session.exec(query):
            right.setdefault(sheet.job_number or "", sheet.verdict == "good")
    return right
