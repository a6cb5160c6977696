"""Care of a brake: tasks with their intervals, who did them when, and the hour meter."""

from dataclasses import dataclass
from datetime import datetime

from server.actions.history import keep
from server.errors import ShopError, say
from server.shop import care as rules
from server.storage.database import Session
from server.storage.queries.brake import get_brake
from server.storage.queries.care import (
    get_care_entry,
    get_care_task,
    list_care_entries,
    list_care_tasks,
    list_hour_readings,
)
from server.storage.tables.care import CareEntry, CareTask, HourReading
from server.storage.tables.column import utc_now


@dataclass(frozen=True, slots=True)
class CareTaskValues:
    """What a person may say about a task."""

    name: str
    kind: str
    what: str
    every_days: int | None
    every_h: float | None


@dataclass(frozen=True, slots=True)
class CareItem:
    """A task as it is kept, and when it is due."""

    row: CareTask
    due: rules.CareDue


def begin_care(session: Session, brake_code: str) -> None:
    """Give a brake without tasks the usual ones; the manual's intervals are to replace them."""
    get_brake(session, brake_code)
    if list_care_tasks(session, brake_code, with_archived=True):
        return
    session.add_all(
        CareTask(
            brake_code=brake_code,
            kind=task.kind,
            name=task.name,
            what=task.what,
            every_days=task.every_days,
            every_h=task.every_h,
            source=task.source,
        )
        for task in rules.STARTING_CARE
    )
    session.flush()


def care_of(session: Session, brake_code: str, *, now: datetime) -> tuple[CareItem, ...]:
    """What is due on a brake, most urgent first. Reads only."""
    rows = {row.name: row for row in list_care_tasks(session, brake_code)}
    names = {row.id: row.name for row in rows.values()}
    done = [
        rules.CareDone(names[entry.care_task_id], entry.at, entry.meter_h, entry.by)
        for entry in list_care_entries(session, brake_code)
        if entry.care_task_id in names
    ]
    readings = [
        rules.HourReading(one.at, one.meter_h) for one in list_hour_readings(session, brake_code)
    ]
    due = rules.care_list(
        [_task_of(row) for row in rows.values()], done, now=now, readings=readings
    )
    return tuple(CareItem(rows[one.task.name], one) for one in due)


def count_care_due(session: Session, brake_code: str, *, now: datetime) -> int:
    """How many tasks are overdue or were never recorded."""
    items = care_of(session, brake_code, now=now)
    return sum(item.due.state in ("overdue", "never done") for item in items)


def record_care(
    session: Session, task_id: int, *, meter_h: float | None = None, note: str = "", by: str
) -> CareEntry:
    """Somebody did a task, now. Without a reading the meter's last one stands in.

    Raises: ShopError `not_found`, `meter_runs_back`.
    """
    task = get_care_task(session, task_id)
    if meter_h is not None:
        read_hour_meter(session, task.brake_code, meter_h, by=by)
    readings = list_hour_readings(session, task.brake_code)
    known_h = meter_h if meter_h is not None else (readings[-1].meter_h if readings else None)
    row = CareEntry(care_task_id=task_id, by=by, meter_h=known_h, note=note)
    session.add(row)
    session.flush()
    after = {"what": task.name, "meter_h": known_h}
    keep(session, "looked after", noun="brake", key=task.brake_code, by=by, after=after)
    return row


def undo_care(session: Session, entry_id: int, *, by: str) -> None:
    """Take an entry back that was pressed by mistake; it stays in the log, struck through.

    Raises: ShopError `not_found`.
    """
    row = get_care_entry(session, entry_id)
    task = get_care_task(session, row.care_task_id)
    row.undone = True
    session.add(row)
    after = {"what": task.name}
    keep(session, "took care back", noun="brake", key=task.brake_code, by=by, after=after)


def read_hour_meter(session: Session, brake_code: str, meter_h: float, *, by: str) -> HourReading:
    """Keep the hour meter's reading; a meter does not run backwards.

    Raises: ShopError `not_found`, `meter_runs_back`.
    """
    get_brake(session, brake_code)
    before = list_hour_readings(session, brake_code)
    now = utc_now()
    rules.need_readings_in_order(
        [
            *(rules.HourReading(one.at, one.meter_h) for one in before),
            rules.HourReading(now, meter_h),
        ]
    )
    row = HourReading(brake_code=brake_code, at=now, meter_h=meter_h, by=by)
    session.add(row)
    session.flush()
    return row


def save_care_task(
    session: Session, brake_code: str, values: CareTaskValues, *, task_id: int | None, by: str
) -> CareTask:
    """Add a task, or change what, how often.

    Raises: ShopError `not_found`, `no_interval`, `already_exists` for a name twice.
    """
    get_brake(session, brake_code)
    rules.CareTask(
        values.name, values.kind, values.what, values.every_days, values.every_h
    )  # refuses a task without an interval
    for other in list_care_tasks(session, brake_code, with_archived=True):
        if other.name == values.name and other.id != task_id:
            raise ShopError(
                "already_exists",
                say("There is a task '{name}' already.", name=values.name),
                remedy="Change that one, or use another name.",
                where="name",
            )
    row = get_care_task(session, task_id) if task_id else CareTask(brake_code=brake_code, name="")
    row.name, row.kind, row.what = values.name, values.kind, values.what
    row.every_days, row.every_h = values.every_days, values.every_h
    row.source = row.source or "the shop"
    session.add(row)
    session.flush()
    after = {"what": row.name, "every_days": row.every_days, "every_h": row.every_h}
    keep(session, "set a care task", noun="brake", key=brake_code, by=by, after=after)
    return row


def set_care_task_archived(session: Session, task_id: int, *, archived: bool, by: str) -> None:
    """Take a task off the list, or put it back; its log stays.

    Raises: ShopError `not_found`.
    """
    row = get_care_task(session, task_id)
    row.archived_at = utc_now() if archived else None
    session.add(row)
    did = "archived a care task" if archived else "put a care task back"
    keep(session, did, noun="brake", key=row.brake_code, by=by, after={"what": row.name})


def _task_of(row: CareTask) -> rules.CareTask:
    return rules.CareTask(row.name, row.kind, row.what, row.every_days, row.every_h, row.source)
