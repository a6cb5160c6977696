"""The shop's hours and what work runs on: shifts, closed days, extra and closed hours, resources."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import pairwise

from server.actions.history import keep
from server.errors import ShopError, say
from server.storage.database import Session
from server.storage.queries.schedule import get_resource, list_shifts
from server.storage.tables.column import utc_now
from server.storage.tables.schedule import WEEKDAYS as ALL_WEEKDAYS
from server.storage.tables.schedule import ClosedDay, Hours, Resource, Shift

NOUN = "schedule"
WEEKDAYS = ALL_WEEKDAYS
WORK_KINDS = (("cut", "Cut"), ("bend", "Bend"), ("weld", "Weld"), ("finish", "Finish"))
KINDS = {"bend": "brake", "cut": "cutter"}


@dataclass(frozen=True, slots=True)
class ShiftValues:
    """One shift: minutes since midnight."""

    weekday: str
    start_min: int
    end_min: int


@dataclass(frozen=True, slots=True)
class HoursValues:
    """Extra (`open`) or closed hours, of the shop or of one resource."""

    kind: str
    start_at: datetime
    end_at: datetime
    resource_code: str = ""
    reason: str = ""


def save_week(session: Session, shifts: Sequence[ShiftValues], *, by: str) -> None:
    """The week's shifts as they are now.

    Raises: ShopError `shifts_overlap`.
    """
    for weekday in WEEKDAYS:
        _need_apart([shift for shift in shifts if shift.weekday == weekday])
    before = [f"{row.weekday} {row.start_min}-{row.end_min}" for row in list_shifts(session)]
    for row in list_shifts(session):
        session.delete(row)
    session.flush()
    for shift in shifts:
        session.add(Shift(weekday=shift.weekday, start_min=shift.start_min, end_min=shift.end_min))
    after = [f"{shift.weekday} {shift.start_min}-{shift.end_min}" for shift in shifts]
    keep(
        session,
        "changed the hours",
        noun=NOUN,
        key="hours",
        by=by,
        before={"shifts": before},
        after={"shifts": after},
    )


def _need_apart(shifts: Sequence[ShiftValues]) -> None:
    """Shifts of one day must not overlap; the last one may run into the night."""
    ordered = sorted(shifts, key=lambda shift: shift.start_min)
    for first, second in pairwise(ordered):
        if first.end_min <= first.start_min or first.end_min > second.start_min:
            raise ShopError(
                "shifts_overlap",
                say("Two shifts of {day} overlap.", day=first.weekday.capitalize()),
                remedy="Let the second one begin when the first has ended.",
                where=first.weekday,
            )


def add_closed_day(session: Session, day: date, name: str, *, by: str) -> None:
    """A day on which nobody works."""
    row = session.get(ClosedDay, day) or ClosedDay(day=day)
    row.name = name
    session.add(row)
    keep(session, "closed a day", noun=NOUN, key="hours", by=by, after={"day": day.isoformat()})


def remove_closed_day(session: Session, day: date, *, by: str) -> None:
    """Work on that day after all."""
    row = session.get(ClosedDay, day)
    if row is not None:
        session.delete(row)
        keep(session, "opened a day", noun=NOUN, key="hours", by=by, after={"day": day.isoformat()})


def add_hours(session: Session, values: HoursValues, *, by: str) -> None:
    """Extra or closed hours.

    Raises: ShopError `hours_end_before_start`, `not_found`.
    """
    if values.end_at <= values.start_at:
        raise ShopError(
            "hours_end_before_start",
            "The hours end before they begin.",
            remedy="Give the later time last.",
            where="end_at",
        )
    if values.resource_code:
        get_resource(session, values.resource_code)
    session.add(
        Hours(
            kind=values.kind,
            resource_code=values.resource_code or None,
            start_at=values.start_at,
            end_at=values.end_at,
            reason=values.reason,
            made_by=by,
        )
    )
    keep(session, f"added {values.kind} hours", noun=NOUN, key="hours", by=by)


def remove_hours(session: Session, hours_id: int, *, by: str) -> None:
    """Take extra or closed hours away."""
    row = session.get(Hours, hours_id)
    if row is not None:
        session.delete(row)
        keep(session, f"removed {row.kind} hours", noun=NOUN, key="hours", by=by)


def add_resource(session: Session, code: str, name: str, does: Sequence[str], *, by: str) -> None:
    """Something work runs on that is not a brake of the list of brakes.

    Raises: ShopError `already_exists`, `does_nothing`.
    """
    if session.get(Resource, code) is not None:
        raise ShopError(
            "already_exists",
            say("'{code}' is there already.", code=code),
            remedy="Choose another code, or bring the old one back.",
            where="code",
        )
    if not does:
        raise ShopError(
            "does_nothing",
            "It does nothing yet.",
            remedy="Tick at least one kind of work.",
            where="does",
        )
    kind = KINDS.get(does[0], "other") if len(does) == 1 else "other"
    session.add(Resource(code=code, name=name or code, kind=kind, does=list(does), position=50))
    keep(session, "added", noun="resource", key=code, by=by, after={"does": list(does)})


def set_resource_archived(session: Session, code: str, *, archived: bool, by: str) -> None:
    """Leave a resource out of new plans, or plan on it again.

    Raises: ShopError `not_found`.
    """
    row = get_resource(session, code)
    row.archived_at = utc_now() if archived else None
    session.add(row)
    keep(session, "archived" if archived else "restored", noun="resource", key=code, by=by)
