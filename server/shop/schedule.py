"""The shop's schedule: best order found, its times, what is late, how far from the best possible.

Objective: minutes late, weighted, plus minutes of changeover (times `changeover_weight`); both in
open time, so a night is not late. How it is found, cheapest first: earliest due date and ATCS rules,
simulated annealing from the best of them, all orders where there are few tasks, and CP-SAT, which
improves or proves. The earliest-due-date order is always among the candidates, so no schedule is
worse. Nothing depends on a clock or on chance: the same request gives the same schedule.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from server.errors import Amount, say
from server.findings import Finding
from server.shop.schedule_bound import lower_bound
from server.shop.schedule_exact import can_be_exact, exact_order
from server.shop.schedule_model import can_help, solve
from server.shop.schedule_rule import earliest_due_date, starting_orders
from server.shop.schedule_search import improved
from server.shop.schedule_task import Order, ScheduleRequest
from server.shop.timetable import US_PER_MIN, Lanes, Times, Timetable

Method = Literal["rule", "search", "all orders", "solver"]

SEARCH_SHARE = 0.45
MOVES_PER_SECOND = 4.5e6
LONGEST_SEARCH_MOVES = 125_000
FEW_MOVES = 5_000
LEAST_SOLVER_EFFORT_S = 0.2
SAME_MIN = 1e-6


@dataclass(frozen=True, slots=True)
class Bar:
    """One task on the plan: changed over from `changeover_start`, running from start to finish."""

    task: str
    resource: str
    family: str
    changeover_start: datetime
    changeover_min: float
    start: datetime
    finish: datetime
    due: datetime | None
    late_min: float
    running: bool


@dataclass(frozen=True, slots=True)
class Use:
    """What one resource's open time is used for until its last task is done."""

    resource: str
    working_min: float
    changeover_min: float
    waiting_min: float

    @property
    def used_ratio(self) -> float:
        """Share of the time that makes parts."""
        total = self.working_min + self.changeover_min + self.waiting_min
        return self.working_min / total if total else 0.0


@dataclass(frozen=True, slots=True)
class Schedule:
    """The plan. `bound_min` is what no plan can beat; equal to the objective it is proven."""

    request: ScheduleRequest
    bars: tuple[Bar, ...]
    order: Order
    objective_min: float
    late_weighted_min: float
    changeover_min: float
    changeovers_count: int
    bound_min: float
    due_date_order_min: float
    method: Method
    uses: tuple[Use, ...]
    findings: tuple[Finding, ...]

    @property
    def late(self) -> tuple[Bar, ...]:
        """Late tasks, the latest first."""
        late = (bar for bar in self.bars if bar.late_min > 0)
        return tuple(sorted(late, key=lambda bar: (-bar.late_min, bar.task)))

    @property
    def gap_ratio(self) -> float:
        """How much the objective may be above the best possible, as a share of it."""
        if self.objective_min <= self.bound_min + SAME_MIN:
            return 0.0
        return (self.objective_min - self.bound_min) / self.objective_min

    @property
    def proven_best(self) -> bool:
        """True when no plan is better."""
        return self.gap_ratio == 0.0

    def bar(self, task: str) -> Bar:
        """The bar of a task; a task that is not there is our own mistake."""
        return next(bar for bar in self.bars if bar.task == task)


def schedule(request: ScheduleRequest) -> Schedule:
    """The best schedule found within the request's effort.

    Args:
        request: resources, tasks, changeovers, calendar, and how much effort.

    Returns: a `Schedule`.

    Raises: ShopError `changeover_unknown` where the matrix misses a pair, `never_open` where the
        calendar does.

    References: rules, search, bound and solver in their own modules.
    """
    table = Timetable(request)
    return _Solving(table).solved()


def schedule_in_order(request: ScheduleRequest, order: Order) -> Schedule:
    """The plan of an order a person has laid out; tasks it leaves out go where they cost least."""
    table = Timetable(request)
    lanes = completed(table, table.lanes(order))
    return as_schedule(table, lanes, bound_min=0.0, method="rule")


def completed(table: Timetable, lanes: Lanes) -> Lanes:
    """The lanes with every task that is missing put in where it costs least, most urgent first."""
    lanes = [list(order) for order in lanes]
    placed = {i for order in lanes for i in order}
    for i in sorted(table.free, key=lambda i: (table.due_us[i], i)):
        if i not in placed:
            lanes = cheapest_place(table, lanes, i)
    return lanes


def cheapest_place(table: Timetable, lanes: Lanes, i: int) -> Lanes:
    """The lanes with one more task where it adds least."""
    best, least = lanes, float("inf")
    for lane in table.eligible[i]:
        for place in range(len(lanes[lane]) + 1):
            tried = [list(order) for order in lanes]
            tried[lane].insert(place, i)
            if (cost := table.cost(tried)) < least or best is lanes:
                best, least = tried, cost
    return best


class _Solving:
    """One request being solved: the best order so far, and what is known about it."""

    def __init__(self, table: Timetable) -> None:
        self.table = table
        self.effort_s = table.request.effort_s
        self.by_due_date = earliest_due_date(table)
        self.lanes, self.cost = self.by_due_date, table.cost(self.by_due_date)
        self.method: Method = "rule"
        self.bound_min = 0.0

    def solved(self) -> Schedule:
        for lanes in self._starts():
            self._offer(lanes, "rule")
        if len(self.table.free) > 1 and self.effort_s > 0:
            self._search_and_prove()
        return as_schedule(self.table, self.lanes, bound_min=self.bound_min, method=self.method)

    def _starts(self) -> Iterator[Lanes]:
        if self.table.request.previous is not None:
            yield completed(self.table, self.table.lanes(self.table.request.previous))
        yield from starting_orders(self.table)

    def _search_and_prove(self) -> None:
        if can_be_exact(self.table, effort_s=self.effort_s):
            self._offer(improved(self.table, self.lanes, moves_count=FEW_MOVES), "search")
            best = exact_order(self.table, known=self.cost)
            if best is not None:
                self._offer(best, "all orders")
            self.bound_min = self.objective_min
            return
        self._search(SEARCH_SHARE, first_seed=0)
        self.bound_min = lower_bound(self.table, known_min=self.objective_min)
        if self.objective_min <= self.bound_min + SAME_MIN:
            self.bound_min = self.objective_min
        elif self.effort_s < LEAST_SOLVER_EFFORT_S:
            return
        elif can_help(self.table, known_min=self.cost / US_PER_MIN):
            self._ask_solver()
        else:
            self._search(1 - SEARCH_SHARE, first_seed=100)

    def _search(self, share: float, *, first_seed: int) -> None:
        """Several searches from the best rule's order, each by its own seed."""
        moves = self._moves_count(share)
        runs = max(1, -(-moves // LONGEST_SEARCH_MOVES))
        start = self.lanes
        for seed in range(first_seed, first_seed + runs):
            if self.cost > 0.0:
                self._offer(
                    improved(self.table, start, moves_count=moves // runs, seed=seed), "search"
                )

    def _ask_solver(self) -> None:
        found = solve(
            self.table,
            self.lanes,
            known_min=self.cost / US_PER_MIN,
            bound_min=self.bound_min,
            effort_s=self.effort_s * (1 - SEARCH_SHARE),
        )
        if found.lanes is not None:
            self._offer(found.lanes, "solver")
        known = self.objective_min
        exact = not any(self.table.closed) and not self.table.pinned_end_us
        self.bound_min = known if found.proven and exact else min(known, found.bound_min)

    def _moves_count(self, share: float) -> int:
        tasks = max(1, len(self.table.free))
        per_move = 15.0 + tasks / len(self.table.free_from_us)
        if self.table.staged:
            per_move = 10.0 * tasks
        return int(share * self.effort_s * MOVES_PER_SECOND / per_move)

    @property
    def objective_min(self) -> float:
        """The objective of the best order, without what pins are missed by [min]."""
        times = self.table.times(self.lanes)
        assert times is not None
        return objective_min_of(self.table, times)

    def _offer(self, lanes: Lanes, method: Method) -> None:
        cost = self.table.cost(lanes)
        if cost < self.cost:
            self.lanes, self.cost, self.method = lanes, cost, method


def _weighted_us(table: Timetable, times: dict[int, Times]) -> tuple[float, float]:
    late = sum(table.weight[i] * max(0, one.end_us - table.due_us[i]) for i, one in times.items())
    return late, table.setup_weight * sum(one.setup_us for one in times.values())


def objective_min_of(table: Timetable, times: dict[int, Times]) -> float:
    """Weighted minutes late plus weighted minutes of changeover."""
    return sum(_weighted_us(table, times)) / US_PER_MIN


def as_schedule(table: Timetable, lanes: Lanes, *, bound_min: float, method: Method) -> Schedule:
    """An order with its clock times, objective and findings."""
    times = table.times(lanes)
    if times is None:
        raise AssertionError("an order that blocks itself was chosen")
    late_us, changeover_us = _weighted_us(table, times)
    by_due_date = table.times(earliest_due_date(table))
    assert by_due_date is not None
    changed = [
        i
        for i, one in times.items()
        if i not in table.running and one.family_before not in (table.none, table.family[i])
    ]
    return Schedule(
        request=table.request,
        bars=tuple(
            _bar(table, i, one)
            for i, one in sorted(times.items(), key=lambda item: (item[1].start_us, item[0]))
        ),
        order=table.order(lanes),
        objective_min=(late_us + changeover_us) / US_PER_MIN,
        late_weighted_min=late_us / US_PER_MIN,
        changeover_min=sum(one.setup_us for one in times.values()) / US_PER_MIN,
        changeovers_count=len(changed),
        bound_min=min(bound_min, (late_us + changeover_us) / US_PER_MIN),
        due_date_order_min=objective_min_of(table, by_due_date),
        method=method,
        uses=tuple(_use(table, lane, times) for lane in range(len(lanes))),
        findings=tuple(_check(table, times)),
    )


def _bar(table: Timetable, i: int, one: Times) -> Bar:
    task = table.request.tasks[i]
    running = i in table.running
    axis = table.axis
    start = task.started.at if task.started else axis.at(one.start_us, begin=True)
    return Bar(
        task=task.name,
        resource=table.request.resources[one.resource].name,
        family=task.family,
        changeover_start=start if running else axis.at(one.free_us, begin=True),
        changeover_min=one.setup_us / US_PER_MIN,
        start=start,
        finish=axis.at(one.end_us),
        due=task.due,
        late_min=max(0, one.end_us - table.due_us[i]) / US_PER_MIN,
        running=running,
    )


def _use(table: Timetable, lane: int, times: dict[int, Times]) -> Use:
    own = [(i, one) for i, one in times.items() if one.resource == lane]
    end = max((one.end_us for _, one in own), default=0)
    working = sum(
        one.end_us - max(0, one.start_us) if i in table.running else table.duration_us[i]
        for i, one in own
    )
    changeover = sum(one.setup_us for _, one in own)
    return Use(
        table.request.resources[lane].name,
        working / US_PER_MIN,
        changeover / US_PER_MIN,
        max(0, end - working - changeover) / US_PER_MIN,
    )


def _check(table: Timetable, times: dict[int, Times]) -> Iterator[Finding]:
    request = table.request
    for i, task in enumerate(request.tasks):
        if task.due is not None and task.due < request.now:
            yield Finding(
                "caution",
                "due_in_the_past",
                say("{job} had to be done before now to be on time.", job=task.name),
                say("Agree a new date, or it counts as late from the start."),
            )
        missed = times[i].end_us - table.pinned_end_us.get(i, times[i].end_us)
        if missed > 0 and task.pin is not None and task.pin.start is not None:
            yield Finding(
                "caution",
                "pin_not_held",
                say(
                    "{job} cannot run where it is pinned: it ends {late} later.",
                    job=task.name,
                    late=Amount(missed / US_PER_MIN, "min"),
                ),
                say("Pin it later, or to another brake."),
                amount=Amount(missed / US_PER_MIN, "min"),
            )
