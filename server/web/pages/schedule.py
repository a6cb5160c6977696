"""Pages of the schedule: the plan on the wall, proposals beside it, the shop's hours."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any, ClassVar

from server.actions.wall_clock import wall_clock
from server.drawings.gantt import GanttRow
from server.drawings.use_bar import draw_use
from server.errors import Sentence
from server.findings import Finding
from server.storage.plain_finding import findings_of, sentence_of
from server.web.display import Display, moment
from server.web.forms.form import Form
from server.web.pages.page import Frame, Page
from server.web.pages.schedule_chart import (
    KIND_WORDS,
    PlanRows,
    chart_rows,
    draw_chart,
    late_words,
    when,
)

if TYPE_CHECKING:
    from server.storage.tables.job import Job
    from server.storage.tables.schedule import ClosedDay, Hours, Placement, Resource, Schedule

METHOD_WORDS = {
    "rule": "by rules of thumb",
    "search": "by search",
    "all orders": "by trying every order",
    "solver": "by the solver",
}


@dataclass(frozen=True, slots=True)
class LateLine:
    """A late job, how late, and why in words."""

    job_number: str
    position: int
    part_number: str
    customer: str
    late: str
    due: str
    finish: str
    told: Sentence
    chain: tuple[Sentence, ...]


@dataclass(frozen=True, slots=True)
class UseLine:
    """What a resource's time goes to."""

    name: str
    picture: str
    words: str
    used_percent: str


@dataclass(frozen=True, slots=True)
class QueueLine:
    """One operation in the order of its resource."""

    job_number: str
    position: int
    kind: str
    part_number: str
    quantity_count: int
    start: str
    planned: str
    changeover: str
    due: str
    state: str
    state_words: str


@dataclass(frozen=True, slots=True)
class Queue:
    """What runs on one resource, in order."""

    name: str
    lines: tuple[QueueLine, ...]


@dataclass(frozen=True, slots=True)
class MovedLine:
    """A job that a proposal moves."""

    task: str
    moved: str
    before: str
    after: str
    worse: bool


@dataclass(frozen=True, slots=True)
class Comparison:
    """A proposal beside the plan on the wall."""

    told: Sentence
    late_before_count: int
    late_after_count: int
    moved: tuple[MovedLine, ...]
    still_count: int


@dataclass(frozen=True, slots=True)
class Outlook:
    """Everything one plan tells."""

    id: int
    state: str
    title: str
    made: str
    method: str
    quality: str
    late_count: int
    changeovers_count: int
    changeover: str
    gantt_picture: str
    rows: tuple[GanttRow, ...]
    late: tuple[LateLine, ...]
    uses: tuple[UseLine, ...]
    queues: tuple[Queue, ...]
    findings: tuple[Finding, ...]
    comparison: Comparison | None


@dataclass(frozen=True, slots=True)
class Proposal:
    """A plan beside the one on the wall, in the list of them."""

    id: int
    title: str
    state: str
    words: str


@dataclass(frozen=True)
class SchedulePanel(Page):
    """One operation: what is known of it and what can be wished for it."""

    template: ClassVar[str] = "schedule/_task.html"
    placement: "Placement"
    job: "Job"
    kind: str
    start: str
    finish: str
    planned: str
    due: str
    late: LateLine | None
    resources: tuple[tuple[str, str], ...]
    typed_start: str
    beside: int


@dataclass(frozen=True)
class ScheduleShow(Page):
    """The plan on the wall, or a proposal beside it."""

    template: ClassVar[str] = "schedule/show.html"
    frame: Frame
    outlook: Outlook | None
    proposals: tuple[Proposal, ...]
    zoom: str
    zooms: tuple[tuple[str, str], ...]
    news: str
    resources: tuple[tuple[str, str], ...]
    jobs: tuple[tuple[str, str], ...]
    enquiries: tuple[tuple[str, str], ...]
    panel: SchedulePanel | None
    low_stock: tuple[Finding, ...]
    may_take_back: bool


@dataclass(frozen=True)
class ScheduleProgress(Page):
    """A plan being made: how far it is, and the way to take what there is."""

    template: ClassVar[str] = "schedule/_progress.html"
    id: int
    doing: str
    best: str


@dataclass(frozen=True)
class ScheduleMaking(Page):
    """The page of a plan that is being made, or that failed."""

    template: ClassVar[str] = "schedule/making.html"
    frame: Frame
    title: str
    progress: ScheduleProgress | None
    trouble: tuple[Sentence, ...]


@dataclass(frozen=True)
class ScheduleHours(Page):
    """Shifts, closed days, extra hours, and what work runs on."""

    template: ClassVar[str] = "schedule/hours.html"
    frame: Frame
    form: Form
    weekdays: tuple[str, ...]
    closed_days: "tuple[ClosedDay, ...]"
    hours: "tuple[tuple[Hours, str], ...]"
    resources: "tuple[Resource, ...]"
    choices: tuple[tuple[str, str], ...]
    does: tuple[tuple[str, str], ...]


ZOOMS = (("near", "Hours"), ("days", "Days"), ("weeks", "Weeks"))


def outlook_of(rows: PlanRows, show: Display, *, now: datetime, zoom: str) -> Outlook:
    """A plan as the page tells it."""
    plan = rows.plan
    outcome = plan.outcome
    late = late_lines(rows, show)
    return Outlook(
        id=plan.id or 0,
        state=plan.state,
        title=plan.title,
        made=f"{moment(plan.created_at)} by {plan.made_by}",
        method=METHOD_WORDS.get(plan.method, plan.method),
        quality=_quality(plan, show),
        late_count=plan.late_count,
        changeovers_count=plan.changeovers_count,
        changeover=show.duration(plan.changeover_min * 60),
        gantt_picture=draw_chart(rows, show, now=now, zoom=zoom),
        rows=chart_rows(rows),
        late=late,
        uses=tuple(_use_line(rows, one, show) for one in outcome.get("uses", ())),
        queues=tuple(_queues(rows, show, wall_clock(now))),
        findings=findings_of(outcome.get("findings", ())),
        comparison=_comparison(rows, outcome.get("what_if"), show),
    )


def late_lines(rows: PlanRows, show: Display) -> tuple[LateLine, ...]:
    """Late jobs, the latest first, each with its reason."""
    placed = {(one.job_number, one.position): one for one in rows.placements}
    lines = []
    for reason in rows.plan.outcome.get("late", ()):
        placement = placed[reason["job_number"], reason["position"]]
        job = rows.jobs[placement.job_number]
        lines.append(
            LateLine(
                job_number=job.number,
                position=placement.position,
                part_number=job.part_number,
                customer=rows.customers.get(job.customer_code or "", ""),
                late=late_words(reason["late_min"], show),
                due=when(wall_clock(placement.due_at)) if placement.due_at else "",
                finish=when(wall_clock(placement.finish_at)),
                told=sentence_of(reason["told"]),
                chain=tuple(sentence_of(one) for one in reason["chain"]),
            )
        )
    return tuple(lines)


def _quality(plan: "Schedule", show: Display) -> str:
    saved = float(plan.outcome.get("due_date_order_min", 0.0)) - plan.objective_min
    better = (
        f"; {show.duration(saved * 60)} better than going by due date alone" if saved >= 1 else ""
    )
    if plan.outcome.get("proven"):
        return f"No better plan exists{better}."
    gap = (plan.objective_min - plan.bound_min) / plan.objective_min if plan.objective_min else 0.0
    return f"Within {show.ratio(100 * gap, 0)} % of the best possible{better}."


def _use_line(rows: PlanRows, use: Mapping[str, Any], show: Display) -> UseLine:
    names = {row.code: row.name for row in rows.resources}
    working, changing, waiting = (
        float(use[name]) for name in ("working_min", "changeover_min", "waiting_min")
    )
    total = working + changing + waiting
    shares = ((working, "work"), (changing, "changing over"), (waiting, "waiting"))
    words = ", ".join(f"{show.duration(one * 60)} {what}" for one, what in shares if one >= 0.5)
    words = words or "nothing planned"
    name = names.get(use["resource_code"], use["resource_code"])
    return UseLine(
        name=name,
        picture=draw_use(
            working_min=working, changeover_min=changing, waiting_min=waiting, name=words
        ),
        words=words,
        used_percent=f"{show.ratio(100 * working / total, 0)} %" if total else "—",
    )


def _queues(rows: PlanRows, show: Display, wall_now: datetime) -> Iterable[Queue]:
    for resource in rows.resources:
        own = [one for one in rows.placements if one.resource_code == resource.code]
        yield Queue(resource.name, tuple(_queue_line(rows, one, show, wall_now) for one in own))


def _queue_line(
    rows: PlanRows, placement: "Placement", show: Display, wall_now: datetime
) -> QueueLine:
    job = rows.jobs[placement.job_number]
    state, words = "", "planned"
    if placement.running:
        state, words = "good", "running"
    elif placement.late_min > 0:
        state, words = "stop", late_words(placement.late_min, show)
    elif wall_clock(placement.start_at) < wall_now:
        state, words = "care", "should have started"
    elif placement.hot:
        state, words = "care", "hot"
    elif placement.pinned:
        words = "pinned"
    return QueueLine(
        job_number=job.number,
        position=placement.position,
        kind=KIND_WORDS[placement.kind],
        part_number=job.part_number,
        quantity_count=job.quantity_count,
        start=when(wall_clock(placement.start_at)),
        planned=show.duration(placement.planned_min * 60),
        changeover=show.duration(placement.changeover_min * 60) if placement.changeover_min else "",
        due=when(wall_clock(job.due_at)) if job.due_at else "no date",
        state=state,
        state_words=words,
    )


def _comparison(
    rows: PlanRows, what_if: Mapping[str, Any] | None, show: Display
) -> Comparison | None:
    if what_if is None or rows.plan.state != "proposed":
        return None
    lines = [_moved_line(one, show) for one in what_if["moved"]]
    return Comparison(
        told=sentence_of(what_if["told"]),
        late_before_count=what_if["late_before_count"],
        late_after_count=what_if["late_after_count"],
        moved=tuple(line for line in lines if line is not None),
        still_count=len(rows.placements) - len(lines),
    )


def _moved_line(one: Mapping[str, Any], show: Display) -> MovedLine | None:
    later, before, after = one["later_min"], one["late_before_min"], one["late_after_min"]
    moved = "new on the plan"
    if one["start_at"]:
        direction = "later" if later > 0 else "earlier"
        moved = f"ends {show.duration(abs(later) * 60)} {direction}"
    return MovedLine(
        task=one["task"],
        moved=moved,
        before=late_words(before, show) if before else ("on time" if one["start_at"] else "—"),
        after=late_words(after, show) if after else "on time",
        worse=after > before,
    )


def panel_of(
    rows: PlanRows, placement: "Placement", show: Display, *, beside: int
) -> SchedulePanel:
    """What the page tells of one operation."""
    key = (placement.job_number, placement.position)
    late = next((o for o in late_lines(rows, show) if (o.job_number, o.position) == key), None)
    start = wall_clock(placement.start_at)
    able = [row for row in rows.resources if placement.kind in row.does]
    return SchedulePanel(
        placement=placement,
        job=rows.jobs[placement.job_number],
        kind=KIND_WORDS[placement.kind],
        start=when(start),
        finish=when(wall_clock(placement.finish_at)),
        planned=show.duration(placement.planned_min * 60),
        due=when(wall_clock(placement.due_at)) if placement.due_at else "",
        late=late,
        resources=tuple((row.code, row.name) for row in able),
        typed_start=f"{start:%Y-%m-%dT%H:%M}",
        beside=beside,
    )
