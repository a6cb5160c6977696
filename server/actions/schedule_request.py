"""What the planner of the schedule is asked: tasks from jobs, hours, resources, pins and wishes."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from datetime import datetime, time, timedelta
from typing import Any, Literal

from server.actions.wall_clock import wall_clock
from server.errors import ShopError, say
from server.findings import Finding
from server.shop.brake_time import bend_band
from server.shop.schedule_task import Pin, Resource, ScheduleRequest, Started, Task
from server.shop.setup_family import SetupFamily, changeovers
from server.shop.shop_calendar import Holiday, Shift, ShopCalendar, Span
from server.storage.database import Session
from server.storage.queries.bend_sequence import find_last_setup
from server.storage.queries.schedule import (
    JobWork,
    get_sequence_tools,
    list_closed_days,
    list_hours,
    list_pins,
    list_resources,
    list_shifts,
    list_work,
)
from server.storage.tables.order import Operation
from server.storage.tables.schedule import WEEKDAYS
from server.storage.tables.schedule import Pin as PinRow
from server.storage.tables.schedule import Resource as ResourceRow

WishKind = Literal["pin", "unpin", "down", "job", "again"]
FIRST_PART_MIN = 8.0
CUT_SPEED_MM_PER_S = 40.0
CUT_START_MIN = 5.0
BENCH_MIN = 3.0
LEAST_MIN = 1.0
"""Where nothing is estimated: common practice, no source."""

Key = tuple[str, int]
"""A job's number and the position of its operation."""


@dataclass(frozen=True, slots=True)
class Wish:
    """Something a proposal asks for: a pin, a resource that stands still, a job not won yet."""

    kind: WishKind
    job_number: str = ""
    position: int = 0
    resource_code: str = ""
    start_at: datetime | None = None
    end_at: datetime | None = None
    hot: bool = False
    reason: str = ""


@dataclass(frozen=True, slots=True)
class PlannedWork:
    """One task's place in the shop's records."""

    job_number: str
    position: int
    kind: str


@dataclass(frozen=True, slots=True)
class Asked:
    """The request, whose work its tasks are, and what could not be planned."""

    request: ScheduleRequest
    work: Mapping[str, PlannedWork]
    left_out: tuple[Finding, ...]

    def name(self, job_number: str, position: int) -> str | None:
        """The task of an operation, None when it is not planned."""
        for name, one in self.work.items():
            if (one.job_number, one.position) == (job_number, position):
                return name
        return None


def plain_wishes(wishes: Iterable[Wish]) -> dict[str, Any]:
    """Wishes as JSON."""
    return {
        "wishes": [
            {
                **asdict(wish),
                "start_at": wish.start_at.isoformat() if wish.start_at else None,
                "end_at": wish.end_at.isoformat() if wish.end_at else None,
            }
            for wish in wishes
        ]
    }


def wishes_of(plain: Mapping[str, Any]) -> tuple[Wish, ...]:
    """The wishes that `plain_wishes` wrote."""
    return tuple(
        Wish(
            **{
                **one,
                "start_at": datetime.fromisoformat(one["start_at"]) if one["start_at"] else None,
                "end_at": datetime.fromisoformat(one["end_at"]) if one["end_at"] else None,
            }
        )
        for one in plain.get("wishes", ())
    )


def shop_calendar(session: Session, wishes: Sequence[Wish] = ()) -> ShopCalendar:
    """The shop's hours by the clock on the wall."""
    hours = list_hours(session)
    return ShopCalendar(
        shifts=tuple(
            Shift(WEEKDAYS.index(row.weekday) + 1, _clock(row.start_min), _clock(row.end_min))
            for row in list_shifts(session)
        ),
        holidays=tuple(Holiday(row.day, row.name) for row in list_closed_days(session)),
        open_hours=tuple(_span(row.start_at, row.end_at) for row in hours if row.kind == "open"),
        closed_hours=tuple(
            _span(row.start_at, row.end_at)
            for row in hours
            if row.kind == "closed" and row.resource_code is None
        )
        + tuple(_wished_spans(wishes, "")),
    )


def asked_of(
    session: Session, *, now: datetime, wishes: Sequence[Wish] = (), effort_s: float
) -> Asked:
    """Everything to plan from now on.

    Raises: ShopError `no_resource`, or what is wrong with the hours.
    """
    rows = list_resources(session)
    also = [wish.job_number for wish in wishes if wish.kind == "job"]
    tasks = _Tasks(rows, _pins(list_pins(session), wishes), frozenset(also))
    for work in list_work(session, also=also):
        tasks.add(work)
    wall_now = _rounded(wall_clock(now))
    families = {row.code: _family_on(session, row) for row in rows}
    known = [*tasks.families, *(family for family in families.values() if family)]
    request = ScheduleRequest(
        now=wall_now,
        resources=tuple(_resource(session, row, families[row.code], wishes) for row in rows),
        tasks=tuple(tasks.made),
        changeovers=changeovers(known),
        calendar=shop_calendar(session, wishes),
        effort_s=effort_s,
    )
    return Asked(request, tasks.work, tuple(tasks.left_out))


class _Tasks:
    """Tasks being made of jobs, one after another."""

    def __init__(
        self, rows: Sequence[ResourceRow], pins: Mapping[Key, Pin], also: frozenset[str]
    ) -> None:
        self.rows, self.pins, self.also = rows, pins, also
        self.made: list[Task] = []
        self.work: dict[str, PlannedWork] = {}
        self.families: set[SetupFamily] = set()
        self.left_out: list[Finding] = []

    def add(self, work: JobWork) -> None:
        """A job's operations that are still to be done, one behind the other."""
        operations = list(self._to_do(work))
        on_resources = [one for one in operations if self._able(work, one)]
        before: tuple[str, ...] = ()
        for operation in on_resources:
            last = operation is on_resources[-1]
            name = self._name(work.job.number, operation, alone=len(on_resources) == 1)
            family = family_of(work, operation.kind)
            self.families.add(family)
            self.work[name] = PlannedWork(work.job.number, operation.position, operation.kind)
            self.made.append(
                replace(
                    self._task(work, operation, name, family),
                    due=_due(work, operations, operation) if last else None,
                    after=before,
                )
            )
            before = (name,)

    def _to_do(self, work: JobWork) -> Iterator[Operation]:
        """Operations not done; what comes before a running bend is done, whatever is ticked."""
        operations = [one for one in work.operations if one.state != "done"]
        if not work.operations:
            operations = [Operation(job_number=work.job.number, position=1, kind="bend")]
        if work.run is not None:
            bend = next((n for n, one in enumerate(operations) if one.kind == "bend"), 0)
            operations = operations[bend:]
        yield from operations

    def _able(self, work: JobWork, operation: Operation) -> tuple[str, ...]:
        if operation.kind == "bought_out":
            return ()
        able = tuple(row.code for row in self.rows if operation.kind in row.does)
        if not able:
            self._leave_out(work, operation)
        if operation.kind != "bend" or work.sequence is None:
            return able
        brake = work.run.brake_code if work.run else work.sequence.brake_code
        own = tuple(row.code for row in self.rows if row.brake_code == brake)
        return own or able

    def _task(self, work: JobWork, operation: Operation, name: str, family: SetupFamily) -> Task:
        job = work.job
        started = None
        able = self._able(work, operation)
        if work.run is not None and operation.kind == "bend" and work.run.started_at:
            started = Started(able[0], wall_clock(work.run.started_at))
        waits = job.material_due_at if job.state == "won" or job.number in self.also else None
        pin = self.pins.get((job.number, operation.position))
        if pin is not None and pin.resource is not None and pin.resource not in able:
            pin = replace(pin, resource=None)
        if pin is None and job.hot:
            pin = Pin(hot=True)
        return Task(
            name=name,
            minutes_min=planned_minutes(work, operation),
            family=family.name,
            resources=able,
            ready=wall_clock(waits) if waits else None,
            pin=pin,
            started=started,
        )

    def _name(self, number: str, operation: Operation, *, alone: bool) -> str:
        name = number if alone else f"{number} {operation.kind}"
        return name if name not in self.work else f"{name} {operation.position}"

    def _leave_out(self, work: JobWork, operation: Operation) -> None:
        code = f"nothing_can_{operation.kind}"
        if any(finding.code == code for finding in self.left_out):
            return
        self.left_out.append(
            Finding(
                "note",
                code,
                say(
                    "Nothing in the shop is entered that can {kind}, as {job} needs.",
                    kind=operation.kind,
                    job=work.job.number,
                ),
                say("Enter it under the shop's hours, or the schedule leaves that work out."),
                source="the shop's resources",
            )
        )


def planned_minutes(work: JobWork, operation: Operation) -> float:
    """What is still to be done of an operation [min]: as estimated, else by the usual time."""
    job, revision = work.job, work.revision
    left = max(job.quantity_count - (job.good_count if work.run else 0), 0)
    share = left / job.quantity_count
    if operation.estimated_s is not None:
        minutes = operation.estimated_s * share / 60
    elif operation.kind == "bend":
        minutes = left * _part_s(work) / 60
    elif operation.kind == "cut":
        minutes = CUT_START_MIN + left * revision.cut_length_mm / CUT_SPEED_MM_PER_S / 60
    else:
        minutes = left * BENCH_MIN
    if operation.kind == "bend" and work.run is None:
        minutes += FIRST_PART_MIN
    return max(minutes, LEAST_MIN)


def _part_s(work: JobWork) -> float:
    """Seconds of one part at the brake: the planned sequence's, else by mass and bends."""
    if work.sequence is not None and work.sequence.seconds_s:
        return work.sequence.seconds_s
    revision = work.revision
    longest_mm = max(revision.blank_length_mm, revision.blank_width_mm)
    band = bend_band(mass_kg=revision.mass_kg, longest_side_mm=longest_mm)
    return band.middle_s * max(1, len(revision.faces.get("bends", ())))


def family_of(work: JobWork, kind: str) -> SetupFamily:
    """The set-up family of a job's operation."""
    if kind not in ("bend", "cut"):
        return SetupFamily("other")
    return SetupFamily(
        "bend" if kind == "bend" else "cut",
        work.revision.material_code,
        work.revision.thickness_mm,
        work.punches if kind == "bend" else frozenset(),
        work.dies if kind == "bend" else frozenset(),
    )


def _due(work: JobWork, operations: Sequence[Operation], last: Operation) -> datetime | None:
    """When the last planned operation has to be done, so that what follows outside fits in."""
    if work.job.due_at is None:
        return None
    after = operations[operations.index(last) + 1 :]
    lead_s = sum(one.estimated_s or 0.0 for one in after)
    return wall_clock(work.job.due_at - timedelta(seconds=lead_s))


def _pins(rows: Iterable[PinRow], wishes: Iterable[Wish]) -> dict[Key, Pin]:
    pins = {
        (row.job_number, row.position): Pin(
            row.hot, row.resource_code, wall_clock(row.start_at) if row.start_at else None
        )
        for row in rows
    }
    for wish in wishes:
        key = (wish.job_number, wish.position)
        if wish.kind == "unpin":
            pins.pop(key, None)
        elif wish.kind == "pin":
            start = wall_clock(wish.start_at) if wish.start_at else None
            pins[key] = Pin(wish.hot, wish.resource_code or None, start)
    return pins


def _resource(
    session: Session, row: ResourceRow, family: SetupFamily | None, wishes: Sequence[Wish]
) -> Resource:
    closed = tuple(
        _span(hours.start_at, hours.end_at)
        for hours in list_hours(session)
        if hours.kind == "closed" and hours.resource_code == row.code
    )
    kind = row.kind
    return Resource(
        row.code,
        "brake" if kind == "brake" else "cutter" if kind == "cutter" else "other",
        family.name if family else None,
        closed + tuple(_wished_spans(wishes, row.code)),
    )


def _wished_spans(wishes: Sequence[Wish], resource_code: str) -> Iterator[Span]:
    for wish in wishes:
        if wish.kind == "down" and wish.resource_code == resource_code:
            if wish.start_at is None or wish.end_at is None or wish.end_at <= wish.start_at:
                raise ShopError(
                    "hours_end_before_start",
                    "The time it stands still has to end after it begins.",
                    remedy="Give both, the later one last.",
                    where="end_at",
                )
            yield _span(wish.start_at, wish.end_at)


def _family_on(session: Session, row: ResourceRow) -> SetupFamily | None:
    """What stands on a brake: the tools and sheet of the last set-up made on it."""
    setup = find_last_setup(session, row.brake_code) if row.brake_code else None
    if setup is None:
        return None
    tools = get_sequence_tools(session, setup.bend_sequence_id)
    return SetupFamily("bend", tools.material_code, tools.thickness_mm, tools.punches, tools.dies)


def _span(start: datetime, end: datetime) -> Span:
    return wall_clock(start), wall_clock(end)


def _rounded(at: datetime) -> datetime:
    """The next five minutes: nobody starts at a second."""
    whole = at.replace(minute=at.minute - at.minute % 5, second=0, microsecond=0)
    return whole if whole == at else whole + timedelta(minutes=5)


def _clock(minutes: int) -> time:
    return time(minutes // 60, minutes % 60)
