"""Moving jobs through their states, with what each move brings along; undone one by one."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from server.actions.history import keep, picture
from server.actions.made_with import made_with
from server.errors import Sentence, ShopError, say
from server.findings import Finding, has_stop
from server.shop.job_state import MOVES, JobFacts, JobState, check_move, need_move
from server.shop.order_state import order_state
from server.storage.database import Session
from server.storage.queries.bend_sequence import list_bend_sequences
from server.storage.queries.history import list_events
from server.storage.queries.job import get_job
from server.storage.queries.order import get_order, list_lines, list_operations
from server.storage.queries.part import find_newest_revision, get_revision
from server.storage.queries.stock import keeps_stock, list_job_moves, reserved_by
from server.storage.tables.column import utc_now
from server.storage.tables.job import Job
from server.storage.tables.stock import StockMove

NOUN = "job"
MOVED = "moved"
ASIDE = frozenset({"stock_moves", "operations"})
"""What a move's record holds beside the job's own columns."""


def state_of(word: str) -> JobState:
    """A state by its word.

    Raises: ShopError `no_such_state`.
    """
    for state in MOVES:
        if state == word:
            return state
    raise ShopError(
        "no_such_state",
        say("'{word}' is not a state of a job.", word=word[:20]),
        remedy="Choose one of the buttons.",
        where="state",
    )


def facts_of(session: Session, job: Job, *, reason: str = "") -> JobFacts:
    """What the moves of a job depend on."""
    revision = get_revision(session, job.part_number, job.revision_label)
    steps = list_operations(session, job.number)
    return JobFacts(
        quantity_count=job.quantity_count,
        good_count=job.good_count,
        has_price=job.unit_price_minor is not None,
        has_bend_sequence=job.bend_sequence_id is not None
        or any(
            row.state == "ready"
            for row in list_bend_sequences(session, job.part_number, job.revision_label)
        ),
        needs_bending=not steps or any(step.kind == "bend" for step in steps),
        material_there=_material_there(session, job, revision.material_code, revision.thickness_mm),
        revision_superseded=revision.superseded_at is not None and not job.old_revision_agreed,
        short_delivery_agreed=job.short_delivery_agreed,
        reason=reason,
        held_from=state_of(job.held_from) if job.held_from else None,
    )


def ways_on(
    session: Session, job: Job, *, today: date
) -> tuple[tuple[JobState, tuple[Finding, ...]], ...]:
    """Where a job may go from where it is, each with what stands in its way.

    A reason is asked for when the move is made, so its absence is no finding here.
    """
    facts = facts_of(session, job, reason="asked for")
    before = state_of(job.state)
    return tuple((way, check_move(before, way, facts, today=today)) for way in MOVES[before])


def move_job(
    session: Session, number: str, after: str, *, reason: str = "", today: date, by: str
) -> Job:
    """Move a job to another state: what it reserved is consumed when it is made, freed when lost.

    Raises: ShopError `not_found`, `no_such_state`, or why the move is not allowed.
    """
    job, state = get_job(session, number), state_of(after)
    facts = facts_of(session, job, reason=reason)
    need_move(state_of(job.state), state, facts, today=today)
    return _move(session, job, state, reason=reason, by=by)


def follow_brake(session: Session, job: Job, state: JobState, *, reason: str = "", by: str) -> Job:
    """Move a job with what the brake does; what happened there is not argued with."""
    if job.state == state:
        job.held_reason = reason if state == "held" else ""
        session.add(job)
        return job
    return _move(session, job, state, reason=reason, by=by)


def _move(session: Session, job: Job, state: JobState, *, reason: str, by: str) -> Job:
    before, now = picture(job), utc_now()
    if state == "held":
        job.held_from, job.held_reason = job.state, reason
    elif job.state == "held":
        job.held_from, job.held_reason = "", ""
    job.lost_reason = reason if state == "lost" else ""
    if state == "made" and job.state != "gone":
        job.made_at, job.made_with = now, made_with(session, job)
    elif state not in ("made", "gone"):
        job.made_at = None
    job.gone_at = now if state == "gone" else None
    job.state, job.moved_at = state, now
    session.add(job)
    stock = _settle_stock(session, job, by=by)
    steps = _settle_operations(session, job, by=by)
    after: dict[str, Any] = picture(job)
    keep(
        session,
        MOVED,
        noun=NOUN,
        key=job.number,
        by=by,
        before=before,
        after={**after, "stock_moves": stock, "operations": steps},
    )
    settle_order(session, job)
    return job


def undo_move(session: Session, number: str, *, by: str) -> Job:
    """Take the last move of a job back, with the sheets it consumed or freed.

    Raises: ShopError `not_found`, `nothing_to_undo`.
    """
    job = get_job(session, number)
    now = picture(job)
    for event in list_events(session, noun=NOUN, key=number, most=30):
        after = {k: v for k, v in (event.after or {}).items() if k not in ASIDE}
        if event.did != MOVED or event.before is None:
            continue
        if any(now.get(name) != value for name, value in after.items()):
            continue
        restored = Job.model_validate({**now, **event.before})
        for name in event.before:
            setattr(job, name, getattr(restored, name))
        session.add(job)
        aside = event.after or {}
        _forget_moves(session, aside.get("stock_moves", ()))
        for step in list_operations(session, number):
            if step.id in aside.get("operations", ()):
                step.state, step.done_at, step.done_by = "waiting", None, ""
                session.add(step)
        keep(session, "undid", noun=NOUN, key=number, by=by, before=after, after=dict(event.before))
        settle_order(session, job)
        return job
    raise ShopError(
        "nothing_to_undo",
        say("{number} was changed since its last move, or never moved.", number=number),
        remedy="Move it with the buttons instead.",
        where="form",
    )


@dataclass(frozen=True, slots=True)
class BulkOutcome:
    """Which jobs went along, and why the others did not."""

    done: tuple[str, ...]
    refused: tuple[tuple[str, Sentence], ...]


def move_jobs(
    session: Session,
    numbers: Iterable[str],
    after: str,
    *,
    reason: str = "",
    today: date,
    by: str,
) -> BulkOutcome:
    """Move several jobs; one that may not go stays, with the reason why.

    Raises: ShopError `not_found`, `no_such_state`.
    """
    state = state_of(after)
    done: list[str] = []
    refused: list[tuple[str, Sentence]] = []
    for number in dict.fromkeys(numbers):
        job = get_job(session, number)
        facts = facts_of(session, job, reason=reason)
        found = check_move(state_of(job.state), state, facts, today=today)
        if has_stop(found):
            refused.append((number, found[0].what))
        else:
            _move(session, job, state, reason=reason, by=by)
            done.append(number)
    return BulkOutcome(tuple(done), tuple(refused))


def undo_moves(session: Session, numbers: Iterable[str], *, by: str) -> BulkOutcome:
    """Take the last move of several jobs back, all or none.

    Raises: ShopError `not_found`, `nothing_to_undo`.
    """
    done = tuple(undo_move(session, number, by=by).number for number in dict.fromkeys(numbers))
    return BulkOutcome(done, ())


def set_jobs_archived(
    session: Session, numbers: Iterable[str], *, archived: bool, by: str
) -> BulkOutcome:
    """Take jobs off the board and the lists, or put them back; nothing of them is lost.

    Raises: ShopError `not_found`.
    """
    done = []
    for number in dict.fromkeys(numbers):
        job = get_job(session, number)
        job.archived_at = utc_now() if archived else None
        session.add(job)
        keep(session, "archived" if archived else "restored", noun=NOUN, key=number, by=by)
        done.append(number)
    return BulkOutcome(tuple(done), ())


def set_hot(session: Session, number: str, *, hot: bool, by: str) -> Job:
    """Mark a job as one that cannot wait, or take the mark away.

    Raises: ShopError `not_found`.
    """
    return _set(session, number, {"hot": hot}, did="marked hot" if hot else "not hot", by=by)


def agree_short_delivery(session: Session, number: str, *, agreed: bool, by: str) -> Job:
    """Note that the customer takes fewer parts than were ordered.

    Raises: ShopError `not_found`.
    """
    return _set(session, number, {"short_delivery_agreed": agreed}, did="agreed", by=by)


def agree_old_revision(session: Session, number: str, *, by: str) -> Job:
    """Note that the customer wants the revision that was ordered, though there is a newer one.

    Raises: ShopError `not_found`.
    """
    return _set(session, number, {"old_revision_agreed": True}, did="agreed", by=by)


def use_newest_revision(session: Session, number: str, *, by: str) -> Job:
    """Change a job to its part's newest revision; its price has to be looked at again.

    Raises: ShopError `not_found`, `wrong_state` once it runs.
    """
    job = get_job(session, number)
    if job.state in ("running", "made", "gone"):
        raise ShopError(
            "wrong_state",
            say("{number} is {state}: its parts are bent.", number=number, state=job.state),
            remedy="Make a new job of the newest revision.",
        )
    newest = find_newest_revision(session, job.part_number)
    label = newest.label if newest else job.revision_label
    values = {"revision_label": label, "bend_sequence_id": None, "old_revision_agreed": False}
    return _set(session, number, values, did="changed", by=by)


def settle_order(session: Session, job: Job) -> None:
    """Bring the order's state up to its lines'."""
    if job.order_number is None:
        return
    session.flush()
    order = get_order(session, job.order_number)
    lines = [line for line in list_lines(session, order.number) if line.archived_at is None]
    order.state = order_state(state_of(line.state) for line in lines)
    if order.ordered_at is None and order.state in ("won", "ready", "running", "held"):
        order.ordered_at = utc_now()
    session.add(order)


def _set(session: Session, number: str, values: dict[str, Any], *, did: str, by: str) -> Job:
    job = get_job(session, number)
    before = picture(job)
    for name, value in values.items():
        setattr(job, name, value)
    session.add(job)
    after = picture(job)
    if after != before:
        keep(session, did, noun=NOUN, key=number, by=by, before=before, after=after)
    return job


def _material_there(session: Session, job: Job, material_code: str, thickness_mm: float) -> bool:
    """Reserved or consumed for it, a lot chosen for it, or of a kind nobody keeps account of."""
    if job.lot_code is not None or reserved_by(session, job.number):
        return True
    if any(move.kind == "consumed" for move in list_job_moves(session, job.number)):
        return True
    return not keeps_stock(session, material_code=material_code, thickness_mm=thickness_mm)


def _settle_stock(session: Session, job: Job, *, by: str) -> list[int]:
    kind = {"made": "consumed", "lost": "released"}.get(job.state)
    if kind is None:
        return []
    moves = [
        StockMove(kind=kind, lot_code=lot, sheets_count=count, job_number=job.number, moved_by=by)
        for lot, count in reserved_by(session, job.number).items()
    ]
    session.add_all(moves)
    session.flush()
    return [move.id or 0 for move in moves]


def _forget_moves(session: Session, ids: Iterable[int]) -> None:
    for move_id in ids:
        move = session.get(StockMove, move_id)
        if move is not None:
            session.delete(move)
    session.flush()


def _settle_operations(session: Session, job: Job, *, by: str) -> list[int]:
    if job.state != "made":
        return []
    waiting = [step for step in list_operations(session, job.number) if step.state == "waiting"]
    for step in waiting:
        step.state, step.done_at, step.done_by = "done", job.made_at, by
        session.add(step)
    return [step.id or 0 for step in waiting]
