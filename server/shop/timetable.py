"""When everything runs, for a given order: whole microseconds on the axis of open time.

The one place that turns an order into times and an objective. Everything else (rules of thumb,
search, solver) only proposes orders.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from server.shop.schedule_task import Order, ScheduleRequest, Task
from server.shop.shop_calendar import OpenTime

Lanes = list[list[int]]
"""Task numbers of every resource, in order."""

NEVER_DUE_US = 1 << 60
PIN_PENALTY = 1e7
"""Weight of the time a pinned task runs past its place: above any weight a task may have."""

US_PER_MIN = 60_000_000
HORIZON = timedelta(days=365 * 3)


@dataclass(frozen=True, slots=True)
class Times:
    """When one task runs on the axis [us]: its resource is free, is changed over, runs it."""

    resource: int
    family_before: int
    free_us: int
    setup_us: int
    start_us: int
    end_us: int


class Timetable:
    """A request in whole numbers, ready to be evaluated many times.

    Task and resource numbers are positions in the request. Started tasks are no longer free: they
    hold their resource and set its family.
    """

    def __init__(self, request: ScheduleRequest) -> None:
        self.request = request
        self.axis = OpenTime(request.calendar, request.now, request.now + HORIZON)
        tasks, resources = request.tasks, request.resources
        self.number = {task.name: i for i, task in enumerate(tasks)}
        self.lane = {resource.name: r for r, resource in enumerate(resources)}
        families = sorted(
            {t.family for t in tasks} | {r.family_now for r in resources if r.family_now}
        )
        index = {family: f for f, family in enumerate(families)}
        self.families = families
        self.none = len(families)
        table = request.changeovers
        self.setup_us = [
            [_micros(table.minutes(a, b)) for b in families] + [0] for a in families
        ] + [[0] * (len(families) + 1)]
        self.duration_us = [_micros(task.minutes_min) for task in tasks]
        self.family = [index[task.family] for task in tasks]
        self.ready_us = [max(0, self._axis_us(task.ready)) if task.ready else 0 for task in tasks]
        self.due_us = [self._axis_us(task.due) if task.due else NEVER_DUE_US for task in tasks]
        self.weight = [task.weight if task.due else 0.0 for task in tasks]
        self.setup_weight = request.changeover_weight
        self.after = [tuple(self.number[name] for name in task.after) for task in tasks]
        self.closed = [self._closed(r) for r in range(len(resources))]
        self.free_from_us = [0] * len(resources)
        self.family_from = [index.get(r.family_now or "", self.none) for r in resources]
        self.running: dict[int, Times] = {}
        self._take_started()
        self.free = [i for i in range(len(tasks)) if i not in self.running]
        self.eligible = [self._eligible(task) for task in tasks]
        self.pinned_end_us: dict[int, int] = {}
        self._take_pins()
        self.staged = any(self.after[i] for i in self.free)

    def _axis_us(self, at: datetime) -> int:
        """Open time from now to a time; before now, the open time since then, negative."""
        now = self.request.now
        if at < now:
            return -(self.request.calendar.working_time(at, now) // timedelta(microseconds=1))
        return self.axis.open_us(at)

    def _closed(self, resource: int) -> tuple[tuple[int, int], ...]:
        spans = (
            (max(0, self._axis_us(a)), self._axis_us(b))
            for a, b in sorted(self.request.resources[resource].closed)
        )
        return tuple((a, b) for a, b in spans if b > a)

    def _take_started(self) -> None:
        started = sorted(
            (task.started.at, i) for i, task in enumerate(self.request.tasks) if task.started
        )
        for at, i in started:
            holder = self.request.tasks[i].started
            assert holder is not None
            lane = self.lane[holder.resource]
            start = self._axis_us(at)
            left = self.duration_us[i] + min(start, 0)
            end = self._advanced(lane, max(start, 0), max(left, 0))
            self.running[i] = Times(lane, self.family[i], start, 0, start, end)
            self.free_from_us[lane] = max(self.free_from_us[lane], end)
            self.family_from[lane] = self.family[i]

    def _eligible(self, task: Task) -> tuple[int, ...]:
        if task.pin and task.pin.resource:
            return (self.lane[task.pin.resource],)
        return tuple(self.lane[name] for name in task.resources)

    def _take_pins(self) -> None:
        for i in self.free:
            pin = self.request.tasks[i].pin
            if pin is None or not (pin.hot or pin.start):
                continue
            if pin.start is not None:
                self.ready_us[i] = max(self.ready_us[i], self._axis_us(pin.start))
            self.pinned_end_us[i] = self.ready_us[i] + self.duration_us[i]

    def _advanced(self, lane: int, start: int, work: int) -> int:
        """The end of work on a resource that pauses while it stands still."""
        at = start
        for closed, opened in self.closed[lane]:
            if opened <= at:
                continue
            if at + work <= closed:
                break
            work -= max(0, closed - at)
            at = opened
        return at + work

    def _opened(self, lane: int, at: int) -> int:
        for closed, opened in self.closed[lane]:
            if closed <= at < opened:
                return opened
        return at

    def lane_cost(self, lane: int, order: Sequence[int]) -> float:
        """Weighted time of one resource's order, without links between resources."""
        at, family, cost = self.free_from_us[lane], self.family_from[lane], 0.0
        for i in order:
            at, family, cost = self.step(lane, i, at, family, cost)
        return cost

    def step(self, lane: int, i: int, at: int, family: int, cost: float) -> tuple[int, int, float]:
        """When a resource is free, its family, and the cost so far, after one more task."""
        setup = self.setup_us[family][self.family[i]]
        if self.closed[lane]:
            free = self._opened(lane, max(self._advanced(lane, at, setup), self.ready_us[i]))
            end = self._advanced(lane, free, self.duration_us[i])
        else:
            end = max(at + setup, self.ready_us[i]) + self.duration_us[i]
        return end, self.family[i], cost + self.setup_weight * setup + self._end_cost(i, end)

    def _end_cost(self, i: int, end: int) -> float:
        cost = self.weight[i] * (end - self.due_us[i]) if end > self.due_us[i] else 0.0
        pinned = self.pinned_end_us.get(i)
        if pinned is not None and end > pinned:
            cost += PIN_PENALTY * (end - pinned)
        return cost

    def times(self, lanes: Lanes) -> dict[int, Times] | None:
        """When every task runs; None when the orders of two resources block each other."""
        done: dict[int, Times] = dict(self.running)
        at, family = list(self.free_from_us), list(self.family_from)
        position = [0] * len(lanes)
        moved = True
        while moved:
            moved = False
            for lane, order in enumerate(lanes):
                while position[lane] < len(order):
                    i = order[position[lane]]
                    if any(before not in done for before in self.after[i]):
                        break
                    linked = max((done[before].end_us for before in self.after[i]), default=0)
                    setup = self.setup_us[family[lane]][self.family[i]]
                    free = self._advanced(lane, at[lane], setup)
                    start = self._opened(lane, max(free, self.ready_us[i], linked))
                    end = self._advanced(lane, start, self.duration_us[i])
                    done[i] = Times(lane, family[lane], at[lane], setup, start, end)
                    at[lane], family[lane] = end, self.family[i]
                    position[lane] += 1
                    moved = True
        complete = all(position[lane] == len(order) for lane, order in enumerate(lanes))
        return done if complete else None

    def cost(self, lanes: Lanes) -> float:
        """Weighted time late and of changeovers, with what pins are missed by; the search's aim."""
        if not self.staged:
            return sum(self.lane_cost(lane, order) for lane, order in enumerate(lanes))
        times = self.times(lanes)
        if times is None:
            return math.inf
        return sum(
            self.setup_weight * one.setup_us + self._end_cost(i, one.end_us)
            for i, one in times.items()
            if i not in self.running
        )

    def lanes(self, order: Order) -> Lanes:
        """Task numbers from names; names that are gone or not allowed there are left out."""
        lanes: Lanes = [[] for _ in self.request.resources]
        for resource, names in order.items():
            lane = self.lane.get(resource)
            for name in names:
                i = self.number.get(name)
                if lane is None or i is None or i in self.running:
                    continue
                if lane in self.eligible[i] and not any(i in other for other in lanes):
                    lanes[lane].append(i)
        return lanes

    def order(self, lanes: Lanes) -> dict[str, tuple[str, ...]]:
        """Names of every resource in order, running tasks first."""
        running = sorted((times.start_us, i) for i, times in self.running.items())
        names = [task.name for task in self.request.tasks]
        return {
            resource.name: tuple(
                [names[i] for _, i in running if self.running[i].resource == lane]
                + [names[i] for i in lanes[lane]]
            )
            for lane, resource in enumerate(self.request.resources)
        }


def _micros(minutes: float) -> int:
    return round(minutes * US_PER_MIN)
