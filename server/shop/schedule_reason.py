"""Why a task is late, what a rush would cost the others, and a new plan that keeps what has started."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Literal

from server.errors import Amount, Sentence, say
from server.shop.schedule import (
    Schedule,
    as_schedule,
    cheapest_place,
    schedule,
)
from server.shop.schedule_bound import earliest_us
from server.shop.schedule_task import Order, ScheduleRequest, Started, Task
from server.shop.timetable import US_PER_MIN, Lanes, Times, Timetable

LinkKind = Literal["behind", "after", "material", "pinned", "running", "start"]
MOST_LINKS = 50
SAME_MIN = 1e-6


@dataclass(frozen=True, slots=True)
class Link:
    """One step of the chain that holds a task back: what it stands behind, and for how long."""

    kind: LinkKind
    task: str
    behind: str | None
    minutes_min: float
    changeover_min: float
    told: Sentence


@dataclass(frozen=True, slots=True)
class LateReason:
    """Why a task is late: even alone or by the chain before it, and what it would take."""

    task: str
    late_min: float
    late_alone_min: float
    chain: tuple[Link, ...]
    on_time_costs_min: float | None
    on_time_order: Order | None
    told: Sentence


@dataclass(frozen=True, slots=True)
class Moved:
    """A task that ends at another time in another plan; positive is later."""

    task: str
    later_min: float
    late_before_min: float
    late_after_min: float


@dataclass(frozen=True, slots=True)
class WhatIf:
    """A plan beside the one on the wall: what it costs, whom it moves, what becomes late."""

    before: Schedule
    after: Schedule
    cost_min: float
    changeovers_more_count: int
    moved: tuple[Moved, ...]
    told: Sentence

    @property
    def newly_late(self) -> tuple[Moved, ...]:
        """Tasks that were on time and no longer are."""
        return tuple(
            one for one in self.moved if one.late_after_min > 0 and one.late_before_min == 0
        )


def late_reasons(plan: Schedule) -> tuple[LateReason, ...]:
    """Why every late task of a plan is late, the latest first."""
    table = Timetable(plan.request)
    lanes = table.lanes(plan.order)
    times = table.times(lanes)
    assert times is not None
    return tuple(_reason(table, lanes, times, table.number[bar.task], plan) for bar in plan.late)


def rush_cost(plan: Schedule, task: Task, *, effort_s: float | None = None) -> WhatIf:
    """What one more task would do to the plan, before it is promised to anyone.

    Args:
        plan: the plan on the wall.
        task: the rush task, hot or not.
        effort_s: effort for the new plan [s]; the plan's own by default.

    Returns: a `WhatIf`.

    Raises: ShopError as `schedule` does.
    """
    request = replace(
        plan.request,
        tasks=(*plan.request.tasks, task),
        effort_s=plan.request.effort_s if effort_s is None else effort_s,
        previous=plan.order,
    )
    return compared(plan, schedule(request))


def rush_between(plan: Schedule, task: Task) -> WhatIf:
    """The same, at once: the order on the wall stays and the task goes where it costs least."""
    request = replace(plan.request, tasks=(*plan.request.tasks, task), previous=plan.order)
    table = Timetable(request)
    lanes = table.lanes(plan.order)
    if task.started is None:
        lanes = cheapest_place(table, lanes, table.number[task.name])
    return compared(plan, as_schedule(table, lanes, bound_min=0.0, method="rule"))


def compared(before: Schedule, after: Schedule) -> WhatIf:
    """Two plans side by side. The cost is what the second is worse by, in weighted minutes."""
    old = {bar.task: bar for bar in before.bars}
    axis = Timetable(after.request).axis
    moved = []
    for bar in after.bars:
        known = old.get(bar.task)
        late_before = known.late_min if known else 0.0
        later = 0.0
        if known is not None:
            later = (axis.open_us(bar.finish) - axis.open_us(known.finish)) / US_PER_MIN
        if known is None or abs(later) > SAME_MIN or bar.late_min != late_before:
            moved.append(Moved(bar.task, later, late_before, bar.late_min))
    moved.sort(key=lambda one: (-one.late_after_min, -one.later_min, one.task))
    cost = after.objective_min - before.objective_min
    newly = [one for one in moved if one.late_after_min > 0 and one.late_before_min == 0]
    return WhatIf(
        before,
        after,
        cost,
        after.changeovers_count - before.changeovers_count,
        tuple(moved),
        _cost_told(cost, newly, after.changeovers_count - before.changeovers_count),
    )


def replan(
    plan: Schedule,
    *,
    now: datetime,
    started: Mapping[str, Started],
    finished: Collection[str] = (),
    added: Collection[Task] = (),
) -> Schedule:
    """A new plan from now on that keeps what has started and starts from the order on the wall.

    Args:
        plan: the plan on the wall.
        now: the time from which to plan.
        started: tasks running, and where since when.
        finished: tasks done; links to them are dropped.
        added: tasks that came in.

    Returns: a `Schedule`.

    Raises: ShopError as `schedule` does.
    """
    return schedule(replanned(plan.request, plan.order, now, started, finished, added))


def replanned(
    request: ScheduleRequest,
    order: Order,
    now: datetime,
    started: Mapping[str, Started],
    finished: Collection[str],
    added: Collection[Task],
) -> ScheduleRequest:
    """The request of a plan made again later."""
    gone = set(finished)
    tasks = tuple(
        replace(
            task,
            started=started.get(task.name, task.started),
            after=tuple(name for name in task.after if name not in gone),
        )
        for task in (*request.tasks, *added)
        if task.name not in gone
    )
    last = {name: names[-1] for name, names in _finished_order(order, gone).items() if names}
    family = {task.name: task.family for task in request.tasks}
    resources = tuple(
        replace(resource, family_now=family.get(last.get(resource.name, ""), resource.family_now))
        for resource in request.resources
    )
    return replace(request, now=now, tasks=tasks, resources=resources, previous=order)


def _finished_order(order: Order, gone: set[str]) -> dict[str, list[str]]:
    return {resource: [name for name in names if name in gone] for resource, names in order.items()}


def _reason(
    table: Timetable, lanes: Lanes, times: dict[int, Times], i: int, plan: Schedule
) -> LateReason:
    task = plan.request.tasks[i]
    late_min = (times[i].end_us - table.due_us[i]) / US_PER_MIN
    alone_us = times[i].end_us
    if i not in table.running:
        alone_us = earliest_us(table, i) + table.duration_us[i]
    late_alone = max(0, alone_us - table.due_us[i]) / US_PER_MIN
    chain = tuple(_chain(table, times, i))
    costs, order = _on_time(table, lanes, times, i) if not late_alone else (None, None)
    return LateReason(
        task=task.name,
        late_min=late_min,
        late_alone_min=late_alone,
        chain=chain,
        on_time_costs_min=costs,
        on_time_order=order,
        told=_late_told(task, late_min, late_alone, chain, costs),
    )


def _chain(table: Timetable, times: dict[int, Times], i: int) -> list[Link]:
    """From the late task back to what it all starts with."""
    links: list[Link] = []
    while len(links) < MOST_LINKS:
        link, before = _link(table, times, i)
        links.append(link)
        if before is None:
            return links
        i = before
    return links


def _link(table: Timetable, times: dict[int, Times], i: int) -> tuple[Link, int | None]:
    names = [task.name for task in table.request.tasks]
    own, task = times[i], table.request.tasks[i]
    changeover = own.setup_us / US_PER_MIN

    def link(kind: LinkKind, behind: int | None, told: Sentence) -> tuple[Link, int | None]:
        minutes = (own.end_us - max(0, own.free_us)) / US_PER_MIN
        name = names[behind] if behind is not None else None
        return Link(kind, task.name, name, minutes, changeover, told), behind

    if i in table.running:
        return link("running", None, say("{task} is already running.", task=task.name))
    free = own.free_us + own.setup_us
    linked = [j for j in table.after[i] if times[j].end_us == own.start_us]
    if own.start_us > free and linked:
        before = linked[0]
        return link(
            "after",
            before,
            say("{task} can only start after {before}.", task=task.name, before=names[before]),
        )
    if own.start_us > free and task.pin is not None and task.pin.start is not None:
        at = _clock(table, own.start_us)
        return link("pinned", None, say("{task} is pinned to {at}.", task=task.name, at=at))
    if own.start_us > free and own.start_us == table.ready_us[i]:
        return link(
            "material",
            None,
            say(
                "{task} waits for {what} until {at}.",
                task=task.name,
                what=task.waits_for,
                at=_clock(table, own.start_us),
            ),
        )
    order = [
        j
        for j, t in sorted(times.items(), key=lambda item: item[1].start_us)
        if t.resource == own.resource
    ]
    place = order.index(i)
    resource = table.request.resources[own.resource].name
    if place == 0:
        told = say("{task} is first on {resource}.", task=task.name, resource=resource)
        return link("start", None, told)
    before = order[place - 1]
    told = say(
        "{task} stands behind {before} on {resource}",
        task=task.name,
        before=names[before],
        resource=resource,
    )
    if changeover:
        told = say("{told}, with a changeover of {c}", told=str(told), c=Amount(changeover, "min"))
    return link("behind", before, say("{told}.", told=str(told)))


def _on_time(
    table: Timetable, lanes: Lanes, now: dict[int, Times], i: int
) -> tuple[float | None, Order | None]:
    """The cheapest place at which the task is on time, and what it costs the others."""
    rest = [[j for j in order if j != i] for order in lanes]
    pins = {j: at for j, at in table.pinned_end_us.items() if j != i}
    best: tuple[float, Lanes] | None = None
    for lane in table.eligible[i]:
        for place in range(len(rest[lane]) + 1):
            tried = [list(order) for order in rest]
            tried[lane].insert(place, i)
            times = table.times(tried)
            if times is None or times[i].end_us > table.due_us[i]:
                continue
            if any(times[j].end_us > max(at, now[j].end_us) for j, at in pins.items()):
                continue
            cost = table.cost(tried)
            if best is None or cost < best[0]:
                best = cost, tried
    if best is None:
        return None, None
    return (best[0] - table.cost(lanes)) / US_PER_MIN, table.order(best[1])


def _late_told(
    task: Task, late: float, alone: float, chain: tuple[Link, ...], costs: float | None
) -> Sentence:
    words: dict[str, Amount | str] = {"task": task.name, "late": Amount(late, "min")}
    if alone > 0:
        words |= {"alone": Amount(alone, "min"), "first": str(chain[-1].told)}
        return say(
            "{task} is {late} late. Even with nothing before it, it would be {alone} late.", **words
        )
    words["why"] = " ".join(str(link.told) for link in chain[:3])
    if costs is None:
        return say("{task} is {late} late. {why} No single move brings it on time.", **words)
    words["costs"] = Amount(costs, "min")
    return say(
        "{task} is {late} late. {why} On time it would cost {costs} more elsewhere.", **words
    )


def _cost_told(cost: float, newly: list[Moved], changeovers: int) -> Sentence:
    words: dict[str, Amount | str] = {
        "cost": Amount(abs(cost), "min"),
        "more": Amount(abs(changeovers), "count"),
        "late": ", ".join(one.task for one in newly),
    }
    return say(f"{_difference_text(cost, changeovers)}; {_LATE[bool(newly)]}.", **words)


_LATE = {False: "nothing becomes late", True: "late would be: {late}"}


def _difference_text(cost: float, changeovers: int) -> str:
    """A template that says what a plan costs or saves, and never counts below nothing."""
    time = "Saves {cost}" if cost < 0 else "Costs {cost}"
    if not changeovers:
        return f"{time} with as many changeovers"
    noun = "changeover" if abs(changeovers) == 1 else "changeovers"
    if (changeovers < 0) == (cost < 0):
        return f"{time} and {{more}} {noun}"
    return f"{time} with {{more}} {noun} {'less' if changeovers < 0 else 'more'}"


def _clock(table: Timetable, at_us: int) -> str:
    return table.axis.at(at_us, begin=True).isoformat(" ", "minutes")
