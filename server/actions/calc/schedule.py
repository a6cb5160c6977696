"""The best order of jobs on brakes, in plain minutes from ISO 8601 times."""

from collections.abc import Callable
from datetime import datetime
from typing import Annotated

from pydantic import Field

from server.actions.calc.air_bend_body import findings_as_json
from server.actions.calc.body import Body, Real
from server.errors import ShopError, say
from server.shop.schedule import Schedule, schedule
from server.shop.schedule_reason import late_reasons
from server.shop.schedule_task import Changeovers, Pin, Resource, ScheduleRequest, Task

Name = Annotated[str, Field(min_length=1, max_length=200)]
FIRST_YEAR, LAST_YEAR = 1970, 2300


class PinBody(Body):
    """A job held to a brake, a start, or both."""

    brake: Name | None = None
    start: str | None = None


class JobBody(Body):
    """One job. `pinned` true: before all that are not; a brake's name; or where and when."""

    id: Name
    minutes: Real
    due: str
    ready: str | None = None
    family: str
    weight: Real = 1.0
    pinned: bool | Name | PinBody = False


class Request(Body):
    """Jobs and brakes; all times with an offset, or all without."""

    now: str
    brakes: Annotated[list[Name], Field(min_length=1, max_length=50)]
    jobs: Annotated[list[JobBody], Field(max_length=2000)]
    changeover_min: dict[str, Real | dict[str, Real]]
    time_budget_s: Annotated[Real, Field(ge=0, le=600)] = 5.0


def answer(request: Request) -> dict[str, object]:
    """Order, finish times, late jobs, objective and bound."""
    clock = _Clock(request.now)
    plan = schedule(
        ScheduleRequest(
            now=clock.now,
            resources=tuple(Resource(name) for name in request.brakes),
            tasks=tuple(
                _task(job, f"jobs.{n}", request.brakes, clock) for n, job in enumerate(request.jobs)
            ),
            changeovers=_changeovers(request.changeover_min),
            effort_s=request.time_budget_s,
        )
    )
    return _as_json(plan, clock.written)


class _Clock:
    """Times of one body: all plain, or all brought to the offset of `now` and written that way."""

    def __init__(self, now: str) -> None:
        self._zulu = now.rstrip().endswith(("Z", "z"))
        self._zone = _parsed(now, "now").tzinfo
        self.now = self.read(now, "now")

    def read(self, text: str, where: str) -> datetime:
        at = _parsed(text, where)
        if (at.tzinfo is None) != (self._zone is None):
            raise ShopError(
                "mixed_offsets",
                say("'{text}' and 'now' do not both have an offset from UTC.", text=text),
                remedy="Give every time with an offset, or none.",
                where=where,
            )
        if self._zone is not None:
            at = at.astimezone(self._zone).replace(tzinfo=None)
        return at

    def written(self, at: datetime) -> str:
        if self._zone is None:
            return at.isoformat()
        text = at.replace(tzinfo=self._zone).isoformat()
        return text.removesuffix("+00:00") + "Z" if self._zulu else text


def _parsed(text: str, where: str) -> datetime:
    try:
        at = datetime.fromisoformat(text.strip())
    except ValueError:
        at = None
    if at is None or "T" not in text.upper().replace(" ", "T"):
        raise ShopError(
            "not_a_time",
            say("'{text}' is not a date with a time.", text=text[:40]),
            remedy="Write it by ISO 8601, like 2026-03-02T07:00 or 2026-03-02T07:00+01:00.",
            where=where,
        )
    if not FIRST_YEAR <= at.year <= LAST_YEAR:
        raise ShopError(
            "out_of_range",
            say("The year of '{text}' is not one to plan in.", text=text[:40]),
            remedy="Check the year.",
            where=where,
        )
    return at


def _task(job: JobBody, where: str, brakes: list[str], clock: _Clock) -> Task:
    return Task(
        name=job.id,
        minutes_min=job.minutes,
        family=job.family,
        resources=tuple(brakes),
        due=clock.read(job.due, f"{where}.due"),
        ready=None if job.ready is None else clock.read(job.ready, f"{where}.ready"),
        weight=job.weight,
        pin=_pin(job.pinned, f"{where}.pinned", brakes, clock.read),
    )


def _pin(
    pinned: bool | str | PinBody,
    where: str,
    brakes: list[str],
    read: Callable[[str, str], datetime],
) -> Pin | None:
    if isinstance(pinned, bool):
        return Pin(hot=True) if pinned else None
    if isinstance(pinned, str):
        return Pin(resource=pinned) if pinned in brakes else Pin(start=read(pinned, where))
    start = None if pinned.start is None else read(pinned.start, f"{where}.start")
    return Pin(resource=pinned.brake, start=start)


def _changeovers(given: dict[str, float | dict[str, float]]) -> Changeovers:
    numbers = {name: value for name, value in given.items() if not isinstance(value, dict)}
    rows = {name: value for name, value in given.items() if isinstance(value, dict)}
    unknown = set(numbers) - {"same", "other"}
    if unknown or (rows and numbers) or (numbers and "other" not in numbers):
        raise ShopError(
            "not_a_changeover",
            "The changeover is neither same and other, nor a row of minutes for every family.",
            remedy='Give {{"same": 0, "other": 20}} or {{"A": {{"A": 0, "B": 20}}, ...}}.',
            where="changeover_min",
        )
    if numbers:
        return Changeovers(same_min=numbers.get("same", 0.0), other_min=numbers["other"])
    return Changeovers(
        other_min=None,
        pairs={(a, b): minutes for a, row in rows.items() for b, minutes in row.items()},
    )


def _as_json(plan: Schedule, written: Callable[[datetime], str]) -> dict[str, object]:
    return {
        "order": {brake: list(names) for brake, names in plan.order.items()},
        "start": {bar.task: written(bar.start) for bar in plan.bars},
        "finish": {bar.task: written(bar.finish) for bar in plan.bars},
        "late": [{"id": bar.task, "minutes": bar.late_min} for bar in plan.late],
        "changeovers": plan.changeovers_count,
        "changeover_minutes": plan.changeover_min,
        "objective": plan.objective_min,
        "bound": plan.bound_min,
        "proven_optimal": plan.proven_best,
        "due_date_order_objective": plan.due_date_order_min,
        "method": plan.method,
        "explained": [
            {"id": reason.task, "message": str(reason.told)} for reason in late_reasons(plan)
        ],
        "warnings": findings_as_json(plan.findings),
    }
