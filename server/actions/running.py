"""A run as it goes: started, stepped through, counted, held, finished; times taken quietly."""

from datetime import datetime, timedelta

from server.actions.history import keep
from server.actions.job import follow_brake
from server.actions.measured_time import keep_times
from server.actions.once import already_done
from server.errors import ShopError, say
from server.storage.database import Session
from server.storage.queries.bend_sequence import list_steps
from server.storage.queries.job import get_job, get_run
from server.storage.queries.part import find_newest_revision
from server.storage.tables.column import utc_now
from server.storage.tables.job import Job, Run

LONGEST_WAIT_S = 7 * 24 * 3600.0
LONGEST_PART_S = 3600.0
MOST_PART_TIMES = 500
SCRAP_REASONS = (
    "wrong angle",
    "wrong flange",
    "wrong side up",
    "wrong order",
    "cracked",
    "marked or scratched",
    "wrong blank",
    "set-up piece",
    "other",
)
HOLD_REASONS = (
    "waiting for sheet",
    "waiting for tools",
    "asking the office",
    "brake does not move",
    "break or end of shift",
    "other",
)


def start_run(session: Session, run_id: int, *, request_key: str = "", by: str) -> Run:
    """The set-up is done: the first article begins at step 1.

    Raises: ShopError `not_found`, `wrong_state`, `superseded`.
    """
    run = get_run(session, run_id)
    if run.state != "setting_up" or already_done(session, request_key, "start"):
        return run
    need_current(session, run)
    now = utc_now()
    keep_times(session, run, "setup", now=now)
    run.state, run.position = "first_article", 1
    _begin_phase(run, now)
    return _kept(session, run, "began", by=by)


def pass_first_article(session: Session, run_id: int, *, by: str) -> Run:
    """The first part is right: the rest may be bent.

    Raises: ShopError `not_found`.
    """
    run = get_run(session, run_id)
    if run.state != "first_article":
        return run
    now = utc_now()
    keep_times(session, run, "first_article", now=now)
    run.state = "running"
    _begin_phase(run, now)
    return _kept(session, run, "first article right", by=by)


def go_to_step(
    session: Session, run_id: int, position: int, *, request_key: str = "", by: str
) -> Run:
    """Show another step. A step beyond the ends is the end.

    Raises: ShopError `not_found`.
    """
    run = get_run(session, run_id)
    if already_done(session, request_key, "step"):
        return run
    last = len(list_steps(session, run.bend_sequence_id))
    run.position = max(1, min(position, last))
    run.operator = by
    session.add(run)
    session.flush()
    return run


def count_parts(
    session: Session,
    run_id: int,
    *,
    good: int = 0,
    scrap: int = 0,
    rework: int = 0,
    reason: str = "",
    waited_s: float = 0.0,
    request_key: str = "",
    by: str,
) -> Run:
    """Count finished parts; a negative number takes a count back. The next part starts at step 1.

    A count that waited on a device is taken whenever it comes, even after the run was finished:
    the parts were made. `waited_s` is how long ago.

    Raises: ShopError `not_found`, `not_started`, `nothing_to_take_back`.
    """
    run = get_run(session, run_id)
    need_started(run)
    if already_done(session, request_key, "count"):
        return run
    job = get_job(session, run.job_number) if run.job_number else None
    for row in (run, job):
        if row is not None:
            _add_counts(row, good, scrap, rework)
    if max(good, scrap, rework) > 0:
        run.position = 1
        _take_part_time(run, good if rework == 0 else 0, utc_now() - _age(waited_s))
    run.operator = by
    session.add(run)
    session.flush()
    keep(
        session,
        "counted",
        noun="run",
        key=str(run_id),
        by=by,
        after={"good": good, "scrap": scrap, "rework": rework, "reason": reason},
    )
    return run


def hold_run(session: Session, run_id: int, reason: str, *, request_key: str = "", by: str) -> Run:
    """Stop for a while, with a reason; the clock rests.

    Raises: ShopError `not_found`, `wrong_state` for a run that is finished.
    """
    run = get_run(session, run_id)
    if run.state == "done":
        raise _finished(run)
    if run.state == "held" or already_done(session, request_key, "hold"):
        return run
    run.held_state, run.state, run.held_reason = run.state, "held", reason
    run.held_at = utc_now()
    _hold_job(session, run, reason, by=by)
    return _kept(session, run, "held", by=by, after={"reason": reason})


def resume_run(session: Session, run_id: int, *, request_key: str = "", by: str) -> Run:
    """Go on where the run was held.

    Raises: ShopError `not_found`, `superseded`.
    """
    run = get_run(session, run_id)
    if run.state != "held" or already_done(session, request_key, "resume"):
        return run
    need_current(session, run)
    now = utc_now()
    if run.held_at is not None:
        run.rested_s += max(0.0, (now - run.held_at).total_seconds())
    run.held_at = None
    run.counted_at = now if run.counted_at is not None else None
    run.state, run.held_state, run.held_reason = run.held_state or "running", "", ""
    _hold_job(session, run, "", by=by)
    return _kept(session, run, "went on", by=by)


def finish_run(session: Session, run_id: int, *, request_key: str = "", by: str) -> Run:
    """End a run: the job is made when all its parts are, else it goes back to the queue.

    Raises: ShopError `not_found`.
    """
    run = get_run(session, run_id)
    if run.state == "done" or already_done(session, request_key, "finish"):
        return run
    now = utc_now()
    if run.state == "running":
        keep_times(session, run, "bend", now=now)
    run.state, run.ended_at = "done", now
    if run.job_number:
        job = get_job(session, run.job_number)
        made = job.good_count >= job.quantity_count
        follow_brake(session, job, "made" if made else "ready", by=by)
    return _kept(session, run, "finished", by=by)


def reopen_run(session: Session, run_id: int, *, by: str) -> Run:
    """Take a finish back: somebody pressed it too early.

    Raises: ShopError `not_found`.
    """
    run = get_run(session, run_id)
    if run.state != "done":
        return run
    run.state, run.ended_at = "running", None
    _begin_phase(run, utc_now())
    if run.job_number:
        follow_brake(session, get_job(session, run.job_number), "running", by=by)
    return _kept(session, run, "reopened", by=by)


def need_current(session: Session, run: Run) -> None:
    """Refuse to go on with a revision that was superseded.

    Raises: ShopError `superseded` naming the newest.
    """
    job = get_job(session, run.job_number) if run.job_number else None
    if job is not None and job.old_revision_agreed:
        return
    newest = find_newest_revision(session, run.part_number)
    if newest is not None and newest.label != run.revision_label:
        raise ShopError(
            "superseded",
            say(
                "Revision {old} of {number} was superseded by {new}.",
                old=run.revision_label,
                number=run.part_number,
                new=newest.label,
            ),
            remedy="Fetch the new paper and blank; the job has to be moved to the new revision.",
        )


def need_started(run: Run) -> None:
    """Refuse what has no meaning before the set-up is signed.

    Raises: ShopError `not_started`.
    """
    if run.state == "setting_up":
        raise ShopError(
            "not_started",
            "The set-up is not finished.",
            remedy="Finish and sign the set-up first.",
        )


def _add_counts(row: Run | Job, good: int, scrap: int, rework: int) -> None:
    counts = (row.good_count + good, row.scrap_count + scrap, row.rework_count + rework)
    if min(counts) < 0:
        raise ShopError(
            "nothing_to_take_back",
            "There is no such count to take back.",
            remedy="Look at the counters.",
        )
    row.good_count, row.scrap_count, row.rework_count = counts


def _take_part_time(run: Run, good: int, at: datetime) -> None:
    """The time since the last part, while the run goes; a break is no part's time."""
    since = run.counted_at or run.phase_at
    if run.state == "running" and good == 1 and since is not None:
        seconds_s = (at - since).total_seconds()
        if 0.0 < seconds_s <= LONGEST_PART_S:
            run.part_times_s = [*run.part_times_s, round(seconds_s, 1)][-MOST_PART_TIMES:]
    run.counted_at = max(at, since) if since is not None else at


def _age(waited_s: float) -> timedelta:
    return timedelta(seconds=min(max(0.0, waited_s), LONGEST_WAIT_S))


def _begin_phase(run: Run, now: datetime) -> None:
    run.phase_at, run.counted_at, run.rested_s = now, None, 0.0


def _hold_job(session: Session, run: Run, reason: str, *, by: str) -> None:
    if run.job_number:
        job = get_job(session, run.job_number)
        follow_brake(session, job, "held" if reason else "running", reason=reason, by=by)


def _finished(run: Run) -> ShopError:
    return ShopError(
        "wrong_state",
        say("This run of {part} is finished.", part=run.part_number),
        remedy="Open the job again from the list.",
    )


def _kept(
    session: Session, run: Run, did: str, *, by: str, after: dict[str, object] | None = None
) -> Run:
    run.operator = by
    session.add(run)
    session.flush()
    keep(session, did, noun="run", key=str(run.id), by=by, after=after)
    return run
