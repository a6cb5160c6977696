"""Reading jobs and runs."""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlmodel import Session, col, select

from server.errors import ShopError, say
from server.storage.tables.brake import Brake
from server.storage.tables.job import Job, Run
from server.storage.tables.setup import Setup

RUN_MARK = """
SELECT run.id, run.version, setup.version, bend_sequence.version, job.version, brake.version,
    run.state = 'done',
    (
        SELECT label FROM revision WHERE revision.part_number = run.part_number
        ORDER BY revision.made_at DESC, revision.label DESC LIMIT 1
    )
FROM run
JOIN bend_sequence ON bend_sequence.id = run.bend_sequence_id
JOIN brake ON brake.code = run.brake_code
LEFT JOIN setup ON setup.id = run.setup_id
LEFT JOIN job ON job.number = run.job_number
WHERE run.id = ?
"""


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
        raise _no_run()
    return found


def _no_run() -> ShopError:
    return ShopError(
        "not_found", "There is no such run.", remedy="Open the job again from the list."
    )


@dataclass(frozen=True, slots=True)
class RunMark:
    """Versions of all a run's page shows; two pages with the same mark are the same page."""

    versions: tuple[int | None, ...]
    done: bool
    newest_revision: str | None

    def __str__(self) -> str:
        return "-".join(str(one or 0) for one in (*self.versions, self.newest_revision))


def find_run_mark(session: Session, run_id: int) -> RunMark | None:
    """The mark of a run, its set-up, sequence, job and brake, in one small query; None for no run."""
    row = session.connection().exec_driver_sql(RUN_MARK, (run_id,)).first()
    if row is None:
        return None
    *versions, done, newest = row
    return RunMark(tuple(versions), bool(done), newest)


def get_run_mark(session: Session, run_id: int) -> RunMark:
    """The mark of a run.

    Raises: ShopError `not_found`.
    """
    found = find_run_mark(session, run_id)
    if found is None:
        raise _no_run()
    return found


@dataclass(frozen=True, slots=True)
class RunPlace:
    """A run with what stands around it."""

    run: Run
    setup: Setup | None
    job: Job | None
    brake: Brake


def get_run_place(session: Session, run_id: int) -> RunPlace:
    """A run with its set-up, job and brake, in one query.

    Raises: ShopError `not_found`.
    """
    query = (
        select(Run, Setup, Job, Brake)
        .join(Brake, col(Brake.code) == col(Run.brake_code))
        .join(Setup, col(Setup.id) == col(Run.setup_id), isouter=True)
        .join(Job, col(Job.number) == col(Run.job_number), isouter=True)
        .where(col(Run.id) == run_id)
    )
    found = session.exec(query).first()
    if found is None:
        raise _no_run()
    return RunPlace(*found)


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


def find_last_run(session: Session, job_number: str) -> Run | None:
    """The newest run of a job, done or not, or None."""
    query = select(Run).where(col(Run.job_number) == job_number)
    return session.exec(query.order_by(col(Run.id).desc()).limit(1)).first()


def list_job_runs(session: Session, job_number: str) -> list[Run]:
    """Every run of a job, newest first."""
    query = select(Run).where(col(Run.job_number) == job_number)
    return list(session.exec(query.order_by(col(Run.id).desc()).limit(50)))


def list_repeats(session: Session, job_number: str) -> list[Job]:
    """Jobs that repeat a job, newest first."""
    job = get_job(session, job_number)
    query = select(Job).where(
        col(Job.part_number) == job.part_number, col(Job.repeat_of) == job_number
    )
    return list(session.exec(query.order_by(col(Job.created_at).desc()).limit(20)))
