"""Reading jobs and runs."""

from collections.abc import Sequence

from sqlmodel import Session, col, select

from server.errors import ShopError, say
from server.storage.tables.job import Job, Run


def find_job(session: Session, number: str) -> Job | None:
    """The job with a number, or None."""
    return session.get(Job, number)


def get_job(session: Session, number: str) -> Job:
    """The job with a number.

    Raises: ShopError `not_found`.
    """
    found = find_job(session, number)
    if found is None:
        raise ShopError(
            "not_found",
            say("There is no job '{number}'.", number=number),
            remedy="Look at the list of jobs.",
            where="job_number",
        )
    return found


def list_jobs(
    session: Session, *, states: Sequence[str] = (), limit: int = 200, part_number: str = ""
) -> list[Job]:
    """Jobs by due date; those without one come last."""
    query = select(Job).where(col(Job.archived_at).is_(None))
    if states:
        query = query.where(col(Job.state).in_(states))
    if part_number:
        query = query.where(col(Job.part_number) == part_number)
    query = query.order_by(col(Job.due_at).is_(None), col(Job.due_at), col(Job.number))
    return list(session.exec(query.limit(limit)))


def get_run(session: Session, run_id: int) -> Run:
    """A run.

    Raises: ShopError `not_found`.
    """
    found = session.get(Run, run_id)
    if found is None:
        raise ShopError(
            "not_found", "There is no such run.", remedy="Open the job again from the list."
        )
    return found


def find_open_run(
    session: Session, *, job_number: str | None = None, bend_sequence_id: int | None = None
) -> Run | None:
    """The run of a job (or of a sequence without a job) that is not done, or None."""
    query = select(Run).where(col(Run.state) != "done")
    if job_number is not None:
        query = query.where(col(Run.job_number) == job_number)
    else:
        query = query.where(
            col(Run.job_number).is_(None), col(Run.bend_sequence_id) == bend_sequence_id
        )
    return session.exec(query.order_by(col(Run.id).desc()).limit(1)).first()


def list_open_runs(session: Session) -> list[Run]:
    """Runs that are not done, changed last first."""
    query = select(Run).where(col(Run.state) != "done").order_by(col(Run.changed_at).desc())
    return list(session.exec(query.limit(50)))
