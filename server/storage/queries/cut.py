"""Reading what has to be cut: jobs on their way with their blanks and cutting steps."""

from dataclasses import dataclass

from sqlmodel import Session, col, select

from server.storage.tables.job import Job
from server.storage.tables.order import Operation
from server.storage.tables.part import Revision

CUT_STATES = ("won", "ready", "running", "held")


@dataclass(frozen=True, slots=True)
class CutPlace:
    """A job with its revision and its cutting steps, re-cuts among them."""

    job: Job
    revision: Revision
    cuts: list[Operation]


def list_cut_places(session: Session, *, job_number: str = "", most: int = 500) -> list[CutPlace]:
    """Jobs that may need blanks, the earliest due first, in two queries."""
    query = (
        select(Job, Revision)
        .join(
            Revision,
            (col(Revision.part_number) == col(Job.part_number))
            & (col(Revision.label) == col(Job.revision_label)),
        )
        .where(col(Job.archived_at).is_(None), col(Job.state).in_(CUT_STATES))
        .order_by(col(Job.due_at), col(Job.number))
        .limit(most)
    )
    if job_number:
        query = query.where(col(Job.number) == job_number)
    rows = session.exec(query).all()
    cuts: dict[str, list[Operation]] = {job.number: [] for job, _ in rows}
    steps = select(Operation).where(
        col(Operation.job_number).in_(list(cuts)), col(Operation.kind) == "cut"
    )
    for step in session.exec(steps.order_by(col(Operation.position))):
        cuts[step.job_number].append(step)
    return [CutPlace(job, revision, cuts[job.number]) for job, revision in rows]
