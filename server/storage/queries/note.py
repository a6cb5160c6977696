"""Reading notes and photos made at the brake."""

from sqlmodel import Session, col, select

from server.storage.tables.note import Note


def find_note_by_key(session: Session, request_key: str) -> Note | None:
    """The note a device's request made, or None."""
    if not request_key:
        return None
    return session.exec(select(Note).where(col(Note.request_key) == request_key)).first()


def list_run_notes(session: Session, run_id: int) -> list[Note]:
    """A run's notes, newest first."""
    query = select(Note).where(col(Note.run_id) == run_id).order_by(col(Note.id).desc())
    return list(session.exec(query))


def list_job_notes(session: Session, job_number: str) -> list[Note]:
    """The notes of all runs of a job, newest first."""
    query = select(Note).where(col(Note.job_number) == job_number).order_by(col(Note.id).desc())
    return list(session.exec(query))


def list_part_notes(session: Session, part_number: str, *, most: int = 20) -> list[Note]:
    """What was noted whenever a part was bent, newest first."""
    query = (
        select(Note)
        .where(col(Note.part_number) == part_number)
        .order_by(col(Note.id).desc())
        .limit(most)
    )
    return list(session.exec(query))
