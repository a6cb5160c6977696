"""Reading the care of brakes: tasks, what was done, and the hour meter."""

from sqlmodel import Session, col, select

from server.errors import ShopError
from server.storage.tables.care import CareEntry, CareTask, HourReading


def list_care_tasks(
    session: Session, brake_code: str, *, with_archived: bool = False
) -> list[CareTask]:
    """A brake's tasks, as they were added."""
    query = select(CareTask).where(col(CareTask.brake_code) == brake_code)
    if not with_archived:
        query = query.where(col(CareTask.archived_at).is_(None))
    return list(session.exec(query.order_by(col(CareTask.id))))


def get_care_task(session: Session, task_id: int) -> CareTask:
    """A task.

    Raises: ShopError `not_found`.
    """
    found = session.get(CareTask, task_id)
    if found is None:
        raise ShopError("not_found", "There is no such care task.", remedy="Reload the page.")
    return found


def get_care_entry(session: Session, entry_id: int) -> CareEntry:
    """An entry of the log.

    Raises: ShopError `not_found`.
    """
    found = session.get(CareEntry, entry_id)
    if found is None:
        raise ShopError("not_found", "There is no such entry.", remedy="Reload the page.")
    return found


def list_care_entries(session: Session, brake_code: str) -> list[CareEntry]:
    """What counts as done on a brake, oldest first; entries taken back are left out."""
    return [entry for entry, _ in list_care_log(session, brake_code) if not entry.undone][::-1]


def list_care_log(
    session: Session, brake_code: str, *, most: int | None = None
) -> list[tuple[CareEntry, CareTask]]:
    """The log of a brake, newest first, entries taken back among them."""
    query = (
        select(CareEntry, CareTask)
        .join(CareTask, col(CareTask.id) == col(CareEntry.care_task_id))
        .where(col(CareTask.brake_code) == brake_code)
        .order_by(col(CareEntry.at).desc(), col(CareEntry.id).desc())
    )
    if most is not None:
        query = query.limit(most)
    return [(entry, task) for entry, task in session.exec(query)]


def list_hour_readings(session: Session, brake_code: str) -> list[HourReading]:
    """A brake's hour meter as it was read, oldest first."""
    query = (
        select(HourReading)
        .where(col(HourReading.brake_code) == brake_code)
        .order_by(col(HourReading.at), col(HourReading.id))
    )
    return list(session.exec(query))
