"""The schedule: proposals made in another process, compared with the plan on the wall, accepted.

Every change is a proposal first: a pin, a rush, a machine that stands still, or simply planning
again. Only the very first plan of a shop goes on the wall by itself.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from server.actions.planner_pool import Ending, Handle, PlannerPool, StoppedError
from server.actions.schedule_request import (
    Asked,
    Wish,
    asked_of,
    plain_wishes,
)
from server.actions.wall_clock import utc_of
from server.errors import Sentence, ShopError, say
from server.shop.schedule import Bar, Schedule
from server.shop.schedule_errand import Scheduled, ScheduleErrand, carry_out_schedule
from server.shop.schedule_reason import LateReason, WhatIf
from server.shop.schedule_task import Order
from server.storage.database import Database, Session
from server.storage.plain_finding import plain_findings, plain_sentence
from server.storage.queries.job import get_job
from server.storage.queries.schedule import (
    find_kept_schedule,
    get_resource,
    get_schedule,
    list_brakes_without_resource,
    list_placements,
)
from server.storage.tables.column import utc_now
from server.storage.tables.schedule import Placement, Resource
from server.storage.tables.schedule import Schedule as ScheduleRow

NOUN = "schedule"
PLANNER_ENDED = "planner_ended"
LEAST_EFFORT_S, MOST_EFFORT_S, EFFORT_PER_TASK_S = 1.0, 10.0, 0.1
"""A small shop has its answer in a second or two; sixty jobs are worth seven."""
OUR_BUG = say("Planning the schedule failed; what went wrong is in the log.")
RESTARTED = say("The program was started again while this plan was made.")
AGAIN = say("Plan again.")


@dataclass(frozen=True, slots=True)
class Scheduling:
    """Who plans, where plans are kept, and the process they are made in."""

    database: Database
    pool: PlannerPool
    by: str


def propose(scheduling: Scheduling, wishes: Sequence[Wish], *, title: str) -> int:
    """Ask for a plan with these wishes; returns its number at once.

    Raises: ShopError `nothing_to_plan`, `no_resource`, `not_found`, or what is wrong in the hours.
    """
    with scheduling.database.writing() as session:
        row, asked, errand = begin_plan(session, wishes, title=title, by=scheduling.by)
        number = row.id or 0
    scheduling.pool.ask(
        errand, then=lambda ending: _end(scheduling, number, asked, errand, ending), name=number
    )
    return number


def begin_plan(
    session: Session, wishes: Sequence[Wish], *, title: str, by: str, effort_s: float | None = None
) -> tuple[ScheduleRow, Asked, ScheduleErrand]:
    """A plan that is being made: its row, what is asked, and the errand.

    Raises: ShopError as `propose` does.
    """
    add_missing_brakes(session)
    for wish in wishes:
        if wish.resource_code:
            get_resource(session, wish.resource_code)
        if wish.job_number:
            get_job(session, wish.job_number)
    now, kept = utc_now(), find_kept_schedule(session)
    asked = asked_of(session, now=now, wishes=wishes, effort_s=effort_s or 0.0)
    if not asked.request.tasks:
        raise ShopError(
            "nothing_to_plan",
            "No job is won and waiting: there is nothing to plan.",
            remedy="Move a job to won or ready, and plan again.",
        )
    wall = asked_of(session, now=now, effort_s=0.0) if kept else None
    wall_order = _order(session, kept, wall) if kept and wall else None
    errand = ScheduleErrand(
        replace(
            asked.request,
            effort_s=_effort(asked) if effort_s is None else effort_s,
            previous=_order(session, kept, asked) if kept else None,
        ),
        wall.request if wall else None,
        wall_order,
    )
    row = ScheduleRow(
        title=title,
        planned_from_at=now,
        based_on_id=kept.id if kept else None,
        wishes=plain_wishes(wishes),
        made_by=by,
    )
    session.add(row)
    session.flush()
    return row, asked, errand


def _effort(asked: Asked) -> float:
    effort_s = LEAST_EFFORT_S + EFFORT_PER_TASK_S * len(asked.request.tasks)
    return min(effort_s, MOST_EFFORT_S)


def plan_now(session: Session, *, title: str, by: str, effort_s: float) -> ScheduleRow:
    """A plan made here and put on the wall: for a shop that is filled with its demo."""
    row, asked, errand = begin_plan(session, (), title=title, by=by, effort_s=effort_s)
    keep_plan(session, row, asked, carry_out_schedule(errand, lambda _told: True))
    return row


def add_missing_brakes(session: Session) -> None:
    """Let the schedule know brakes it has not seen yet."""
    for place, brake in enumerate(list_brakes_without_resource(session), start=1):
        session.add(
            Resource(
                code=brake.code,
                name=brake.name,
                kind="brake",
                does=["bend"],
                brake_code=brake.code,
                position=place,
            )
        )
    session.flush()


def keep_plan(session: Session, row: ScheduleRow, asked: Asked, made: Scheduled) -> None:
    """Keep a plan that was made; the first one goes on the wall."""
    plan = made.plan
    row.objective_min, row.bound_min = plan.objective_min, plan.bound_min
    row.changeover_min = plan.changeover_min
    row.changeovers_count = plan.changeovers_count
    row.late_count = len(plan.late)
    row.method = plan.method
    row.outcome = {
        "late": [_plain_reason(reason, asked) for reason in made.late],
        "uses": [_plain_use(use) for use in plan.uses],
        "what_if": _plain_what_if(made.what_if, asked) if made.what_if else None,
        "findings": plain_findings((*plan.findings, *asked.left_out)),
        "due_date_order_min": plan.due_date_order_min,
        "proven": plan.proven_best,
    }
    row.state = "proposed" if find_kept_schedule(session) else "kept"
    session.add(row)
    session.add_all(_placement(row, asked, plan, bar) for bar in plan.bars)
    session.flush()


def stop_plan(scheduling: Scheduling, schedule_id: int) -> None:
    """Take the best found so far; a plan lost in a restart is ended.

    Raises: ShopError `not_found`.
    """
    handle = scheduling.pool.find(schedule_id)
    if handle is not None:
        handle.stop(discard=False)
        return
    with scheduling.database.writing() as session:
        row = get_schedule(session, schedule_id)
        if row.state == "solving":
            _fail(row, [RESTARTED, AGAIN])
            session.add(row)


def find_making(scheduling: Scheduling, schedule_id: int) -> Handle | None:
    """The plan's errand while it is under way."""
    return scheduling.pool.find(schedule_id)


def wait_for(scheduling: Scheduling, schedule_id: int, most_s: float) -> None:
    """Wait for a plan, but not longer than this."""
    handle = scheduling.pool.find(schedule_id)
    if handle is not None:
        handle.wait(most_s)


def _order(session: Session, kept: ScheduleRow, asked: Asked) -> Order:
    """The order on the wall, in the names of the new tasks; what is gone is left out."""
    order: dict[str, list[str]] = {one.name: [] for one in asked.request.resources}
    names = {(one.job_number, one.position): name for name, one in asked.work.items()}
    for placement in list_placements(session, kept.id or 0):
        name = names.get((placement.job_number, placement.position))
        if name is not None and placement.resource_code in order:
            order[placement.resource_code].append(name)
    return {resource: tuple(found) for resource, found in order.items()}


def _end(
    scheduling: Scheduling, number: int, asked: Asked, errand: ScheduleErrand, ending: Ending
) -> None:
    """Keep what planning came to; called by the thread that speaks with the other process."""
    with scheduling.database.writing() as session:
        row = get_schedule(session, number)
        if isinstance(ending.outcome, Scheduled):
            keep_plan(session, row, asked, ending.outcome)
        elif isinstance(ending.error, ShopError) and ending.error.code == PLANNER_ENDED:
            keep_plan(session, row, asked, _by_rule(errand))
        elif isinstance(ending.error, StoppedError):
            _fail(row, [RESTARTED, AGAIN])
        elif isinstance(ending.error, ShopError):
            _fail(row, [ending.error.what, ending.error.remedy])
        else:
            _fail(row, [OUR_BUG, AGAIN])
        session.add(row)


def _by_rule(errand: ScheduleErrand) -> Scheduled:
    """A plan at once, for somebody who stopped the search before it had told of any."""
    request = replace(errand.request, effort_s=0.0)
    return carry_out_schedule(replace(errand, request=request), lambda _told: False)


def _fail(row: ScheduleRow, told: Sequence[Sentence]) -> None:
    row.state = "failed"
    row.trouble = [plain_sentence(one) for one in told]


def _placement(row: ScheduleRow, asked: Asked, plan: Schedule, bar: Bar) -> Placement:
    task, work = plan.request.task(bar.task), asked.work[bar.task]
    pin = task.pin
    return Placement(
        schedule_id=row.id or 0,
        job_number=work.job_number,
        position=work.position,
        kind=work.kind,
        resource_code=bar.resource,
        family=bar.family,
        changeover_at=utc_of(bar.changeover_start),
        changeover_min=bar.changeover_min,
        start_at=utc_of(bar.start),
        finish_at=utc_of(bar.finish),
        planned_min=task.minutes_min,
        due_at=utc_of(bar.due) if bar.due else None,
        late_min=bar.late_min,
        pinned=pin is not None and (pin.start is not None or pin.resource is not None),
        hot=pin is not None and pin.hot,
        running=bar.running,
    )


def _plain_reason(reason: LateReason, asked: Asked) -> dict[str, Any]:
    work = asked.work[reason.task]
    return {
        "job_number": work.job_number,
        "position": work.position,
        "late_min": reason.late_min,
        "late_alone_min": reason.late_alone_min,
        "on_time_costs_min": reason.on_time_costs_min,
        "told": plain_sentence(reason.told),
        "chain": [plain_sentence(link.told) for link in reason.chain[:8]],
    }


def _plain_use(use: Any) -> dict[str, Any]:
    return {
        "resource_code": use.resource,
        "working_min": use.working_min,
        "changeover_min": use.changeover_min,
        "waiting_min": use.waiting_min,
    }


def _plain_what_if(told: WhatIf, asked: Asked) -> dict[str, Any]:
    return {
        "cost_min": told.cost_min,
        "changeovers_more_count": told.changeovers_more_count,
        "told": plain_sentence(told.told),
        "late_before_count": len(told.before.late),
        "late_after_count": len(told.after.late),
        "moved": list(_plain_moved(told, asked.work)),
    }


def _plain_moved(told: WhatIf, work: Mapping[str, Any]) -> Iterator[dict[str, Any]]:
    was = {bar.task: bar for bar in told.before.bars}
    for one in told.moved:
        before = was.get(one.task)
        yield {
            "job_number": work[one.task].job_number,
            "position": work[one.task].position,
            "task": one.task,
            "later_min": one.later_min,
            "late_before_min": one.late_before_min,
            "late_after_min": one.late_after_min,
            "resource_code": before.resource if before else "",
            "start_at": _iso(before.start) if before else None,
            "finish_at": _iso(before.finish) if before else None,
        }


def _iso(wall: datetime) -> str:
    return utc_of(wall).isoformat()
