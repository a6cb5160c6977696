"""The chart of a schedule: a row for each resource, a bar for each piece of work."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from server.actions.wall_clock import wall_clock
from server.drawings.gantt import PX_PER_HOUR, Axis, GanttBar, GanttRow, draw_gantt
from server.shop.shop_calendar import ShopCalendar, Span
from server.web.display import Display

if TYPE_CHECKING:
    from server.storage.tables.job import Job
    from server.storage.tables.schedule import Hours, Placement, Resource, Schedule

KIND_WORDS = {
    "cut": "Cut",
    "bend": "Bend",
    "weld": "Weld",
    "finish": "Finish",
    "bought_out": "Outside",
}
LONGEST_AXIS = timedelta(days=60)


@dataclass(frozen=True, slots=True)
class PlanRows:
    """A plan's rows as they are read: the plan, its placements, jobs, resources and hours."""

    plan: "Schedule"
    placements: "Sequence[Placement]"
    jobs: "Mapping[str, Job]"
    customers: Mapping[str, str]
    resources: "Sequence[Resource]"
    hours: "Sequence[Hours]"
    calendar: ShopCalendar


def chart_rows(rows: PlanRows) -> tuple[GanttRow, ...]:
    """A row for each resource, with the times it stands still."""
    return tuple(
        GanttRow(row.code, row.name, tuple(_still_spans(rows, row.code))) for row in rows.resources
    )


def _still_spans(rows: PlanRows, code: str) -> Iterable[Span]:
    for hours in rows.hours:
        if hours.kind == "closed" and hours.resource_code == code:
            yield wall_clock(hours.start_at), wall_clock(hours.end_at)
    for wish in rows.plan.wishes.get("wishes", ()):
        if wish["kind"] == "down" and wish["resource_code"] == code:
            yield (
                wall_clock(datetime.fromisoformat(wish["start_at"])),
                wall_clock(datetime.fromisoformat(wish["end_at"])),
            )


def draw_chart(rows: PlanRows, show: Display, *, now: datetime, zoom: str) -> str:
    """The chart as a picture, at a zoom."""
    wall_now = wall_clock(now)
    first = min([wall_now, *(wall_clock(one.start_at) for one in rows.placements)])
    last = max([wall_now, *(wall_clock(one.finish_at) for one in rows.placements)])
    first = max(first, wall_now - timedelta(days=2))
    last = min(last, first + LONGEST_AXIS)
    begin = first.replace(minute=0, second=0, microsecond=0) - timedelta(hours=1)
    end = last.replace(hour=0, minute=0, second=0, microsecond=0) + timedelta(days=2)
    axis = Axis(rows.calendar.spans(begin, end), PX_PER_HOUR.get(zoom, PX_PER_HOUR["days"]))
    place = {row.code: number for number, row in enumerate(rows.resources)}
    was = _was(rows)
    bars = [
        _bar(rows, one, place, was.get((one.job_number, one.position)), show)
        for one in rows.placements
        if one.resource_code in place
    ]
    return draw_gantt(axis, chart_rows(rows), bars, now=wall_now, name=f"Plan: {rows.plan.title}")


def _was(rows: PlanRows) -> dict[tuple[str, int], dict[str, Any]]:
    """Where what a proposal moves stood before."""
    what_if = rows.plan.outcome.get("what_if") or {}
    if rows.plan.state != "proposed":
        return {}
    return {
        (one["job_number"], one["position"]): one
        for one in what_if.get("moved", ())
        if one["start_at"]
    }


def _bar(
    rows: PlanRows,
    placement: "Placement",
    place: Mapping[str, int],
    was: dict[str, Any] | None,
    show: Display,
) -> GanttBar:
    job = rows.jobs[placement.job_number]
    start, finish = wall_clock(placement.start_at), wall_clock(placement.finish_at)
    late = late_words(placement.late_min, show) if placement.late_min > 0 else ""
    before = None
    if was is not None:
        before = (
            wall_clock(datetime.fromisoformat(was["start_at"])),
            wall_clock(datetime.fromisoformat(was["finish_at"])),
        )
    kind = KIND_WORDS[placement.kind]
    marks = ", ".join(
        word
        for word, yes in (
            ("running", placement.running),
            ("pinned", placement.pinned),
            ("hot", placement.hot),
            (late, bool(late)),
        )
        if yes
    )
    words = (
        f"{kind} {job.number}, {job.part_number}, {job.quantity_count} pieces, "
        f"{when(start)} to {when(finish)}{', ' + marks if marks else ''}"
    )
    return GanttBar(
        job_number=job.number,
        position=placement.position,
        row=place[placement.resource_code],
        title=job.number,
        under=f"{job.part_number} × {job.quantity_count}",
        words=words,
        changeover_min=placement.changeover_min,
        start=start,
        finish=finish,
        late=late,
        pinned=placement.pinned,
        hot=placement.hot,
        running=placement.running,
        before=before,
        before_row=place.get(was["resource_code"], 0) if was else 0,
    )


def when(wall: datetime) -> str:
    """A moment in words, as Wed 25 Nov, 14:05."""
    return f"{wall:%a} {wall.day} {wall:%b, %H:%M}"


def late_words(late_min: float, show: Display) -> str:
    """How late something is."""
    return f"{show.duration(late_min * 60)} late"
