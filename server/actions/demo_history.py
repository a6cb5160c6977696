"""The demo shop's past year: quotes decided, jobs made, times measured. Quotes are worked out by
the same action people use; what only happens over months is written with its days.
"""

from datetime import date, datetime, time, timedelta

from server.actions.quote import QuoteValues, add_quote
from server.actions.quote_work import LineWish
from server.shop.brake_time import handling_class
from server.storage.database import Session
from server.storage.queries.bend_sequence import list_bend_sequences
from server.storage.queries.part import find_newest_revision
from server.storage.queries.quote import get_quote_place
from server.storage.seed import seed_rows
from server.storage.tables.bend_sequence import BendSequence
from server.storage.tables.column import utc_now
from server.storage.tables.event import Event
from server.storage.tables.first_article import FirstArticle
from server.storage.tables.job import Job, Run
from server.storage.tables.measured_time import MeasuredTime
from server.storage.tables.part import Revision
from server.storage.tables.quote import Quote

BY = "demo"


def load_demo_history(session: Session) -> None:
    """Past quotes and jobs. All are quoted before any time is known, as they were."""
    now = utc_now()
    made = []
    for row in seed_rows("past_job"):
        revision = find_newest_revision(session, row["part_number"])
        sequence = _ready(session, row["part_number"])
        if revision is None or sequence is None:
            continue
        at = _working_moment(now, int(row["made_days_ago"]))
        job = _job(row, revision, sequence, at)
        quote = None
        if row["quoted"] == "yes":
            wish = LineWish(revision.part_number, revision.label, (int(row["quantity"]),))
            quote = add_quote(session, QuoteValues(row["customer_code"]), [wish], by=BY)
        made.append((row, revision, sequence, job, quote, at))
    session.add_all(job for _, _, _, job, _, _ in made)
    session.flush()
    for row, revision, sequence, job, quote, at in made:
        if quote is not None:
            _decide(session, quote, "won", at - timedelta(days=16), job=job)
        _run(session, row, revision, sequence, job, at)
    for row in seed_rows("past_quote"):
        _past_quote(session, row, now)
    session.flush()


def _ready(session: Session, part_number: str) -> BendSequence | None:
    rows = list_bend_sequences(session, part_number)
    return next((row for row in rows if row.state == "ready"), None)


def _working_moment(now: datetime, days_ago: int) -> datetime:
    """Two in the afternoon of a day back then, moved off a weekend."""
    day: date = (now - timedelta(days=days_ago)).date()
    day -= timedelta(days=max(0, day.weekday() - 4))
    return datetime.combine(day, time(14), now.tzinfo)


def _job(row: dict[str, str], revision: Revision, sequence: BendSequence, at: datetime) -> Job:
    quantity = int(row["quantity"])
    due = datetime.combine((at - timedelta(days=int(row["late_days"]))).date(), time(15), at.tzinfo)
    return Job(
        number=row["number"],
        customer_code=row["customer_code"],
        part_number=revision.part_number,
        revision_label=revision.label,
        quantity_count=quantity,
        state="gone",
        due_at=due,
        made_at=at,
        gone_at=at + timedelta(days=1),
        moved_at=at + timedelta(days=1),
        bend_sequence_id=sequence.id,
        good_count=quantity,
        scrap_count=int(row["scrap"]),
    )


def _run(
    session: Session,
    row: dict[str, str],
    revision: Revision,
    sequence: BendSequence,
    job: Job,
    at: datetime,
) -> None:
    longest_mm = max(revision.blank_length_mm, revision.blank_width_mm)
    handled = handling_class(mass_kg=revision.mass_kg, longest_side_mm=longest_mm).name
    scrap = int(row["scrap"])
    run = Run(
        job_number=job.number,
        part_number=revision.part_number,
        revision_label=revision.label,
        bend_sequence_id=sequence.id or 0,
        brake_code=sequence.brake_code,
        quantity_count=job.quantity_count,
        good_count=job.quantity_count,
        scrap_count=scrap,
        state="done",
        operator=BY,
        started_at=at - timedelta(hours=3),
        ended_at=at,
    )
    session.add(run)
    session.flush()
    run_id = run.id or 0
    times = (
        ("setup", "die and punch", float(row["setup_min"]) * 60, 1),
        ("first_article", handled, float(row["first_article_min"]) * 60, 1),
        ("bend", handled, float(row["bend_s"]), job.quantity_count),
    )
    session.add_all(
        MeasuredTime(
            run_id=run_id, job_number=job.number, kind=kind, work_class=work, seconds_s=seconds,
            parts_count=parts, accepted=True, by=BY, at=at,
        )
        for kind, work, seconds, parts in times
    )  # fmt: skip
    session.add(
        FirstArticle(
            run_id=run_id,
            job_number=job.number,
            part_number=revision.part_number,
            revision_label=revision.label,
            verdict="good" if row["first_right"] == "yes" else "not good",
            signed_by=BY,
            signed_at=at - timedelta(hours=2),
        )
    )
    if scrap:
        after = {"good": 0, "scrap": scrap, "rework": 0, "reason": row["scrap_reason"]}
        session.add(Event(did="counted", noun="run", key=str(run_id), by=BY, at=at, after=after))


def _past_quote(session: Session, row: dict[str, str], now: datetime) -> None:
    revision = find_newest_revision(session, row["part_number"])
    if revision is None:
        return
    quantities = tuple(int(one) for one in row["quantities"].split())
    wish = LineWish(revision.part_number, revision.label, quantities)
    values = QuoteValues(row["customer_code"], row["their_reference"])
    quote = add_quote(session, values, [wish], by=BY)
    at = now - timedelta(days=int(row["days_ago"]))
    _decide(session, quote, row["state"], at, reason=row["lost_reason"])


def _decide(
    session: Session,
    quote: Quote,
    state: str,
    at: datetime,
    *,
    reason: str = "",
    job: Job | None = None,
) -> None:
    """Let a quote have been sent, and won or lost, on its day."""
    if state == "draft":
        return
    place = get_quote_place(session, quote.number)
    place.version.sent_at = at - timedelta(days=4) if state in ("won", "lost") else at
    until = place.version.sent_at + timedelta(days=place.version.validity_days_count)
    place.version.valid_until = until.date()
    quote.state, quote.lost_reason = state, reason
    if state in ("won", "lost"):
        quote.decided_at = at
    if job is not None:
        line = place.lines[0].line
        line.job_number, line.won_quantity_count = job.number, job.quantity_count
        job.unit_price_minor = place.lines[0].breaks[0].unit_price_minor
        session.add_all((line, job))
    session.add_all((place.version, quote))
