"""The schedule: the plan on the wall, proposals beside it, and the shop's hours."""

from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Annotated, cast

from fastapi import APIRouter, Depends
from starlette.responses import Response

from server.actions import schedule as actions
from server.actions import schedule_answer as answers
from server.actions import schedule_hours as hours_actions
from server.actions.planner_pool import PlannerPool
from server.actions.schedule_request import Wish, shop_calendar, wishes_of
from server.actions.wall_clock import wall_clock
from server.storage.database import Session
from server.storage.plain_finding import sentence_of
from server.storage.queries import schedule as queries
from server.storage.queries.stock import list_jobs_short_of_stock
from server.web.forms.form import Form
from server.web.forms.schedule import (
    day_of,
    read_does,
    read_hours,
    read_week,
    read_wish,
    title_of,
    typed_of_week,
)
from server.web.house import Typed, Visit, Visiting
from server.web.pages.schedule import (
    ZOOMS,
    Proposal,
    ScheduleHours,
    ScheduleMaking,
    SchedulePanel,
    ScheduleProgress,
    ScheduleShow,
    outlook_of,
    panel_of,
)
from server.web.pages.schedule_chart import PlanRows, when
from server.web.problems import status_of

if TYPE_CHECKING:
    from server.storage.tables.schedule import Hours, Schedule

router = APIRouter(prefix="/office/schedule", include_in_schema=False)
PATIENCE_S = 2.5
"""How long an answer waits for a plan that may be there in a moment."""
STYLES, SCRIPTS = ("schedule",), ("gantt",)


def scheduling(visit: Visiting) -> actions.Scheduling:
    """The request as somebody who plans."""
    pool = cast("PlannerPool", visit.request.app.state.schedule_pool)
    return actions.Scheduling(visit.database, pool, visit.person)


Plans = Annotated[actions.Scheduling, Depends(scheduling)]


@router.get("")
def schedule(visit: Visiting, plans: Plans, zoom: str = "days", job: str = "") -> Response:
    """The plan on the wall."""
    plans.pool.warm("plan")
    with visit.database.reading() as session:
        kept = queries.find_kept_schedule(session)
        page = _show(visit, session, kept.id if kept else None, zoom, job=job)
    return visit.answer(page)


@router.post("/propose")
def propose(visit: Visiting, plans: Plans, typed: Typed) -> Response:
    """Ask for a plan with another wish, beside the plan on the wall or beside a proposal."""
    form = Form.posted(typed, visit.unit)
    wish = read_wish(form)
    form.need_ok()
    wishes = (*_wishes_beside(visit, form), wish)
    number = actions.propose(plans, wishes, title=title_of(wish, form))
    actions.wait_for(plans, number, PATIENCE_S)
    return visit.go_to(f"/office/schedule/{number}")


@router.get("/hours")
def hours(visit: Visiting, saved: bool = False) -> Response:
    """Shifts, closed days, extra hours, and what work runs on."""
    return visit.answer(_hours(visit, None, saved=saved))


@router.post("/hours/week")
def save_week(visit: Visiting, typed: Typed) -> Response:
    """Change the week's shifts."""
    form = Form.posted(typed, visit.unit)
    shifts = read_week(form)
    with visit.database.writing() as session:
        form.attempt(lambda: hours_actions.save_week(session, shifts, by=visit.person), session)
    return _hours_answer(visit, form)


@router.post("/hours/closed-day")
def closed_day(visit: Visiting, typed: Typed) -> Response:
    """Close the shop on a day."""
    form = Form.posted(typed, visit.unit)
    day, name = day_of(form, "day") or date.min, form.text("day_name", most=80)
    with visit.database.writing() as session:
        form.attempt(
            lambda: hours_actions.add_closed_day(session, day, name, by=visit.person), session
        )
    return _hours_answer(visit, form)


@router.post("/hours/closed-day/remove")
def open_day(visit: Visiting, typed: Typed) -> Response:
    """Work on a day after all."""
    form = Form.posted(typed, visit.unit)
    day = day_of(form, "day") or date.min
    with visit.database.writing() as session:
        hours_actions.remove_closed_day(session, day, by=visit.person)
    return visit.go_to("/office/schedule/hours?saved=yes")


@router.post("/hours/extra")
def extra_hours(visit: Visiting, typed: Typed) -> Response:
    """Add extra or closed hours."""
    form = Form.posted(typed, visit.unit)
    values = read_hours(form)
    with visit.database.writing() as session:
        if values is not None:
            form.attempt(lambda: hours_actions.add_hours(session, values, by=visit.person), session)
    return _hours_answer(visit, form)


@router.post("/hours/extra/remove")
def remove_hours(visit: Visiting, typed: Typed) -> Response:
    """Take extra or closed hours away."""
    number = Form(typed).whole("id", least=0, most=10**9)
    with visit.database.writing() as session:
        hours_actions.remove_hours(session, number, by=visit.person)
    return visit.go_to("/office/schedule/hours?saved=yes")


@router.post("/hours/resource")
def add_resource(visit: Visiting, typed: Typed) -> Response:
    """Add something work runs on."""
    form = Form.posted(typed, visit.unit)
    code, name, does = form.code("code"), form.text("name", most=80), read_does(form)
    with visit.database.writing() as session:
        form.attempt(
            lambda: hours_actions.add_resource(session, code, name, does, by=visit.person), session
        )
    return _hours_answer(visit, form)


@router.post("/hours/resource/archived")
def archive_resource(visit: Visiting, typed: Typed) -> Response:
    """Leave a resource out of new plans, or plan on it again."""
    form = Form(typed)
    code, archived = form.text("code", needed=True, most=40), form.yes("archived")
    with visit.database.writing() as session:
        hours_actions.set_resource_archived(session, code, archived=archived, by=visit.person)
    return visit.go_to("/office/schedule/hours?saved=yes")


@router.get("/{schedule_id}")
def plan(
    visit: Visiting, plans: Plans, schedule_id: int, zoom: str = "days", job: str = ""
) -> Response:
    """A proposal, a plan that is being made, or one of before."""
    with visit.database.reading() as session:
        row = queries.get_schedule(session, schedule_id)
        if row.state not in ("solving", "failed"):
            return visit.answer(_show(visit, session, schedule_id, zoom, job=job))
    found = _making(visit, plans, row)
    return visit.answer(found) if found else visit.go_to(f"/office/schedule/{schedule_id}")


@router.get("/{schedule_id}/progress")
def progress(visit: Visiting, plans: Plans, schedule_id: int) -> Response:
    """How far a plan is; the whole page once it is made."""
    found = _progress(visit, plans, schedule_id)
    return visit.answer(found) if found else visit.go_to(f"/office/schedule/{schedule_id}")


@router.get("/{schedule_id}/task")
def task(visit: Visiting, schedule_id: int, job: str, position: int) -> Response:
    """One operation: what is known of it, and what can be wished."""
    with visit.database.reading() as session:
        panel = _panel(visit, session, _rows(session, schedule_id), job, position)
    return visit.answer(panel)


@router.post("/{schedule_id}/stop")
def stop(visit: Visiting, plans: Plans, schedule_id: int) -> Response:
    """Take the best found so far."""
    actions.stop_plan(plans, schedule_id)
    actions.wait_for(plans, schedule_id, PATIENCE_S)
    return visit.go_to(f"/office/schedule/{schedule_id}")


@router.post("/{schedule_id}/accept")
def accept(visit: Visiting, schedule_id: int) -> Response:
    """Put a proposal on the wall."""
    with visit.database.writing() as session:
        answers.accept_plan(session, schedule_id, by=visit.person)
    return visit.go_to("/office/schedule")


@router.post("/{schedule_id}/taken-back")
def take_back(visit: Visiting, schedule_id: int) -> Response:
    """Put the plan before back on the wall."""
    with visit.database.writing() as session:
        answers.take_back_plan(session, schedule_id, by=visit.person)
    return visit.go_to("/office/schedule")


@router.post("/{schedule_id}/drop")
def drop(visit: Visiting, schedule_id: int) -> Response:
    """Drop a proposal."""
    with visit.database.writing() as session:
        answers.drop_plan(session, schedule_id, by=visit.person)
    return visit.go_to("/office/schedule")


def _wishes_beside(visit: Visit, form: Form) -> tuple[Wish, ...]:
    """The wishes of the proposal somebody looked at, so that wishes add up."""
    beside = form.whole("beside", least=0, most=10**9, default=0)
    if not beside:
        return ()
    with visit.database.reading() as session:
        row = queries.get_schedule(session, beside)
        return wishes_of(row.wishes) if row.state == "proposed" else ()


def _show(
    visit: Visit, session: Session, schedule_id: int | None, zoom: str, *, job: str
) -> ScheduleShow:
    now = datetime.now(UTC)
    rows = _rows(session, schedule_id) if schedule_id else None
    chosen = next((one for one in rows.placements if one.job_number == job), None) if rows else None
    resources = queries.list_resources(session)
    return ScheduleShow(
        frame=visit.frame("Schedule", "schedule", styles=STYLES, scripts=SCRIPTS),
        outlook=outlook_of(rows, visit.show, now=now, zoom=zoom) if rows else None,
        proposals=tuple(_proposals(session, schedule_id)),
        zoom=zoom if zoom in dict(ZOOMS) else "days",
        zooms=ZOOMS,
        news=_news(session, rows) if rows else "",
        resources=tuple((row.code, row.name) for row in resources),
        jobs=_planned_jobs(rows) if rows else (),
        enquiries=tuple(
            (one.number, f"{one.number} {one.part_number} × {one.quantity_count}")
            for one in queries.list_enquiries(session)
        ),
        panel=_panel(visit, session, rows, job, chosen.position) if rows and chosen else None,
        low_stock=list_jobs_short_of_stock(session, _to_cut(rows)) if rows else (),
        may_take_back=rows is not None
        and rows.plan.state == "kept"
        and answers.find_plan_before(session) is not None,
    )


def _rows(session: Session, schedule_id: int) -> PlanRows:
    row = queries.get_schedule(session, schedule_id)
    placements = queries.list_placements(session, schedule_id)
    jobs = queries.list_jobs_by_number(session, {one.job_number for one in placements})
    used = {one.resource_code for one in placements}
    resources = [
        one
        for one in queries.list_resources(session, with_archived=True)
        if one.archived_at is None or one.code in used
    ]
    return PlanRows(
        row,
        placements,
        {job.number: job for job in jobs},
        queries.customer_names(session, {job.customer_code or "" for job in jobs}),
        resources,
        queries.list_hours(session),
        shop_calendar(session),
    )


def _proposals(session: Session, shown: int | None) -> list[Proposal]:
    return [
        Proposal(
            row.id or 0,
            row.title,
            row.state,
            "being made" if row.state == "solving" else f"{row.late_count} late",
        )
        for row in queries.list_proposals(session)
        if row.id != shown
    ]


def _to_cut(rows: PlanRows) -> list[str]:
    """Jobs whose sheets are still to be cut, the first to start first."""
    return [one.job_number for one in rows.placements if one.kind == "cut" and not one.running]


def _planned_jobs(rows: PlanRows) -> tuple[tuple[str, str], ...]:
    found = {
        f"{one.job_number} {one.position}": f"{one.job_number} {one.kind}"
        for one in rows.placements
        if not one.running
    }
    return tuple(found.items())


def _news(session: Session, rows: PlanRows) -> str:
    """What happened since the plan was made."""
    if rows.plan.state != "kept":
        return ""
    planned = {one.job_number for one in rows.placements}
    waiting = queries.list_work_numbers(session)
    new, done = len(waiting - planned), len(planned - waiting)
    words = []
    if new:
        words.append(f"{new} job{'s' if new > 1 else ''} came in")
    if done:
        words.append(f"{done} left the list")
    return f"Since this plan {' and '.join(words)}." if words else ""


def _panel(
    visit: Visit, session: Session, rows: PlanRows, job: str, position: int
) -> SchedulePanel:
    placement = queries.get_placement(session, rows.plan.id or 0, job, position)
    beside = rows.plan.id or 0 if rows.plan.state == "proposed" else 0
    return panel_of(rows, placement, visit.show, beside=beside)


def _progress(visit: Visit, plans: actions.Scheduling, schedule_id: int) -> ScheduleProgress | None:
    handle = actions.find_making(plans, schedule_id)
    if handle is None:
        actions.stop_plan(plans, schedule_id)
        return None
    told = handle.told
    best = visit.show.duration(told.best_s) if told.best_s is not None else ""
    return ScheduleProgress(schedule_id, told.doing, best)


def _making(visit: Visit, plans: actions.Scheduling, row: "Schedule") -> ScheduleMaking | None:
    """The page of a plan that is being made or failed; None when it was made just now."""
    found = None if row.trouble else _progress(visit, plans, row.id or 0)
    if found is None and not row.trouble:
        return None
    return ScheduleMaking(
        frame=visit.frame("Schedule", "schedule", styles=STYLES),
        title=row.title,
        progress=found,
        trouble=tuple(sentence_of(one) for one in row.trouble),
    )


def _hours(visit: Visit, form: Form | None, *, saved: bool = False) -> ScheduleHours:
    with visit.database.reading() as session:
        shifts = queries.list_shifts(session)
        resources = queries.list_resources(session, with_archived=True)
        rows = queries.list_hours(session)
        days = queries.list_closed_days(session)
    typed = {**typed_of_week(shifts), **(form.typed if form else {})}
    return ScheduleHours(
        frame=visit.frame(
            "Shop hours", "schedule", styles=STYLES, notice="Saved." if saved else ""
        ),
        form=Form(typed, visit.unit, form.problems if form else {}),
        weekdays=hours_actions.WEEKDAYS,
        closed_days=tuple(days),
        hours=tuple((row, _hours_words(row)) for row in rows),
        resources=tuple(resources),
        choices=(("", "the whole shop"), *((row.code, row.name) for row in resources)),
        does=hours_actions.WORK_KINDS,
    )


def _hours_words(row: "Hours") -> str:
    return f"{when(wall_clock(row.start_at))} to {when(wall_clock(row.end_at))}"


def _hours_answer(visit: Visit, form: Form) -> Response:
    if form.ok:
        return visit.go_to("/office/schedule/hours?saved=yes")
    return visit.answer(_hours(visit, form), status=status_of(form))
