"""Reading measured times."""

from sqlmodel import Session, col, select

from server.storage.tables.measured_time import MeasuredTime


def list_run_times(session: Session, run_id: int) -> list[MeasuredTime]:
    """A run's times, oldest first."""
    query = select(MeasuredTime).where(col(MeasuredTime.run_id) == run_id)
    return list(session.exec(query.order_by(col(MeasuredTime.id))))


def list_job_times(session: Session, job_number: str) -> list[MeasuredTime]:
    """The times of all runs of a job, oldest first."""
    query = select(MeasuredTime).where(col(MeasuredTime.job_number) == job_number)
    return list(session.exec(query.order_by(col(MeasuredTime.id))))


def list_accepted_times(session: Session, *, most: int = 2000) -> list[MeasuredTime]:
    """The newest times somebody accepted, for the estimating standards."""
    query = (
        select(MeasuredTime)
        .where(col(MeasuredTime.accepted).is_(True))
        .order_by(col(MeasuredTime.id).desc())
        .limit(most)
    )
    return list(session.exec(query))
