"""What no schedule can beat: lower bounds on weighted lateness and changeovers, in minutes.

Three relaxations, each valid alone; the best of their combinations is reported.

* changeovers: every family has to be set up once, save those that are on a resource already;
* lateness: all resources work, never change over, and time has a price (Lagrangian);
* deadlines: the resources are one machine as fast as all together, with as many families set up
  as there are resources; for every number of changeovers the least possible lateness is counted
  exactly, which says how many changeovers the due dates force.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, product

import numpy as np
from numpy.typing import NDArray

from server.shop.timetable import NEVER_DUE_US, US_PER_MIN, Timetable

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

MOST_CELLS = 4000
PRICE_ROUNDS = 1500
PRICE_BLOCKS = 150
PRICE_PATIENCE = 20
MOST_PRICE_WORK = 400_000_000
MOST_STATES = 6_000_000
SAFETY_RATIO = 1e-9
"""Taken off the bound by prices, against rounding in floating point."""


@dataclass(frozen=True, slots=True)
class Group:
    """Resources that share tasks, and those tasks."""

    lanes: tuple[int, ...]
    tasks: tuple[int, ...]


def lower_bound(table: Timetable, *, known_min: float) -> float:
    """A number of minutes that no schedule's objective is below.

    Args:
        table: the request in whole numbers.
        known_min: objective of a schedule already found [min].

    Returns: the bound [min]; at most `known_min`.

    References: changeovers and deadlines derived here (the deadline rule after J. R. Jackson 1955);
        lateness: time-indexed Lagrangian relaxation, M. L. Fisher, Management Science 27 (1981)
        1-18; step length after B. T. Polyak (1969).
    """
    running = sum(
        table.weight[i] * max(0, times.end_us - table.due_us[i])
        for i, times in table.running.items()
    )
    total = running / US_PER_MIN
    for group in task_groups(table):
        changeovers = _changeover_bound(table, group)
        room = known_min - total
        if changeovers < room:
            lateness = _lateness_bound(table, group, room) * (1 - SAFETY_RATIO)
            simple = changeovers + lateness
            total += max(simple, _deadline_bound(table, group, room))
        else:
            total += changeovers
    return min(known_min, total)


def task_groups(table: Timetable) -> list[Group]:
    """Resources and free tasks, split where no task could go to both sides."""
    groups: list[tuple[set[int], list[int]]] = []
    for i in table.free:
        lanes, tasks = set(table.eligible[i]), [i]
        for other in [g for g in groups if g[0] & lanes]:
            lanes |= other[0]
            tasks += other[1]
            groups.remove(other)
        groups.append((lanes, tasks))
    return [Group(tuple(sorted(lanes)), tuple(sorted(tasks))) for lanes, tasks in groups]


def _changeover_bound(table: Timetable, group: Group) -> float:
    """Each family not yet on a resource is set up once; a bare resource's first one is free."""
    mounted = [table.family_from[lane] for lane in group.lanes]
    wanted = {table.family[i] for i in group.tasks} - set(mounted)
    there = {f for f in (*mounted, *(table.family[i] for i in group.tasks)) if f != table.none}
    cheapest = sorted(
        min((table.setup_us[g][f] for g in there if g != f), default=0) for f in wanted
    )
    free = mounted.count(table.none)
    paid = cheapest[: max(0, len(cheapest) - free)]
    return table.setup_weight * sum(paid) / US_PER_MIN


def _lateness_bound(table: Timetable, group: Group, known_min: float) -> float:
    """Weighted lateness when changeovers take no time, by prices on machine time."""
    tasks = [i for i in group.tasks if table.weight[i] > 0]
    if not tasks:
        return 0.0
    cell_us = _cell_us(table, tasks)
    duration = np.array([table.duration_us[i] // cell_us for i in tasks])
    ready = np.array([earliest_us(table, i) // cell_us for i in tasks])
    due = np.array([-(-table.due_us[i] // cell_us) for i in tasks])
    weight = np.array([table.weight[i] for i in tasks], dtype=np.float64)
    if not duration.any():
        return 0.0
    known = known_min * US_PER_MIN / cell_us
    prices = _Prices(duration, ready, due, weight, len(group.lanes))
    return prices.best_value(known) * cell_us / US_PER_MIN


class _Prices:
    """Machine time for sale: every task buys its cheapest place, and what is taken in counts.

    Any prices give a bound; they are raised where more is asked for than there are machines.
    """

    def __init__(
        self, duration: Ints, ready: Ints, due: Ints, weight: Floats, lanes_count: int
    ) -> None:
        self.duration, self.lanes_count = duration, lanes_count
        self.cells_count = int(duration.sum() + ready.max(initial=0)) + 1
        self.start = np.arange(self.cells_count)
        end = self.start[None, :] + duration[:, None]
        self.cost: Floats = weight[:, None] * np.maximum(0, end - due[:, None])
        outside = (self.start[None, :] < ready[:, None]) | (end > self.cells_count)
        self.cost[outside] = np.inf
        self.end = np.minimum(end, self.cells_count)
        self.rows = np.arange(len(duration))
        busy = float(duration.sum()) / lanes_count + float(ready.max(initial=0))
        reach = busy + float(duration.max())
        self.block = np.minimum(PRICE_BLOCKS - 1, (self.start * PRICE_BLOCKS) // math.ceil(reach))
        self.ahead = np.maximum(
            0.0, 1.0 - (np.arange(PRICE_BLOCKS) + 0.5) * reach / PRICE_BLOCKS / busy
        )
        self.steepest = 5 * float(weight.max()) / max(1.0, float(duration.min()))
        self.flattest = float(weight.min()) / float(duration.max()) / 50

    def value(self, block_price: Floats) -> tuple[float, Floats]:
        """The bound at some prices, and by how much each block of time is asked for too often."""
        price = block_price[self.block]
        paid = np.concatenate(([0.0], np.cumsum(price)))
        full = self.cost + paid[self.end] - paid[self.start][None, :]
        chosen = full.argmin(axis=1)
        value = float(full[self.rows, chosen].sum() - self.lanes_count * price.sum())
        used = np.zeros(self.cells_count + 1)
        np.add.at(used, chosen, 1)
        np.add.at(used, chosen + self.duration, -1)
        excess = np.cumsum(used)[: self.cells_count] - self.lanes_count
        asked = np.bincount(self.block, weights=excess, minlength=PRICE_BLOCKS)
        return value, asked.astype(np.float64)

    def best_value(self, known: float) -> float:
        """The best bound found, by steps of Polyak's length with momentum from a simple start."""
        size = self.cost.size
        rounds = min(PRICE_ROUNDS, MOST_PRICE_WORK // size)
        best, best_price = 0.0, np.zeros(PRICE_BLOCKS)
        for flat in (0.0, 0.2, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9):
            for slope in np.geomspace(
                self.flattest, self.steepest, 24 if rounds == PRICE_ROUNDS else 5
            ):
                price = slope * np.minimum(1.0 - flat, self.ahead)
                value, _ = self.value(price)
                if value > best:
                    best, best_price = value, price
        price, step, stale = best_price, 1.0, 0
        direction = np.zeros(PRICE_BLOCKS)
        for _ in range(rounds):
            value, excess = self.value(price)
            if value > best:
                best, best_price, stale = value, price, 0
            else:
                stale += 1
            if stale > PRICE_PATIENCE:
                step, stale, price = step * 0.8, 0, best_price
                direction = np.zeros(PRICE_BLOCKS)
                if step < 1e-3:
                    break
                continue
            direction = np.where((price <= 0) & (excess < 0), 0.0, excess) + 0.9 * direction
            square = float(direction @ direction)
            if square == 0.0:
                break
            price = np.maximum(0.0, price + step * (known - value) / square * direction)
        return best


def earliest_us(table: Timetable, i: int) -> int:
    """When a task could start at the earliest: material, and the tasks it waits for."""
    linked = 0
    for before in table.after[i]:
        running = table.running.get(before)
        if running is not None:
            linked = max(linked, running.end_us)
        else:
            linked = max(linked, earliest_us(table, before) + table.duration_us[before])
    first = min(table.free_from_us[lane] for lane in table.eligible[i])
    return max(table.ready_us[i], linked, first)


def _cell_us(table: Timetable, tasks: Sequence[int]) -> int:
    """The coarsest exact grid, or one of `MOST_CELLS` cells on which times are rounded down."""
    exact = 0
    for i in tasks:
        exact = math.gcd(exact, table.duration_us[i], earliest_us(table, i))
        if table.due_us[i] < NEVER_DUE_US:
            exact = math.gcd(exact, table.due_us[i])
    total = sum(table.duration_us[i] for i in tasks) + max(earliest_us(table, i) for i in tasks)
    return max(exact, -(-total // MOST_CELLS), 1)


def _deadline_bound(table: Timetable, group: Group, known_min: float) -> float:
    """The least of changeovers plus lightest weight x greatest lateness, over their number."""
    tasks = [i for i in group.tasks if table.weight[i] > 0]
    families = sorted({table.family[i] for i in tasks})
    slots = min(len(group.lanes), len(families))
    pairs = [(a, b) for a in range(table.none) for b in families if a != b]
    setup_min = min((table.setup_us[a][b] for a, b in pairs), default=0) / US_PER_MIN
    if slots == 0 or setup_min == 0.0:
        return 0.0
    rows = [
        sorted((i for i in tasks if table.family[i] == f), key=lambda i: table.due_us[i])
        for f in families
    ]
    shape = tuple(len(row) + 1 for row in rows)
    if math.prod(shape) * math.comb(len(families), slots) > MOST_STATES:
        return 0.0
    fluid = _Fluid(table, group, rows, shape, slots, setup_min)
    lightest = min(table.weight[i] for i in tasks)
    best = known_min
    for changeovers, late_min in enumerate(fluid.least_lateness_min()):
        spent = table.setup_weight * changeovers * setup_min
        best = min(best, spent + lightest * max(0.0, late_min))
        if late_min <= 0.0 or spent + table.setup_weight * setup_min >= best:
            break
    return best


class _Fluid:
    """One machine as fast as all, done jobs counted by family in order of their due dates.

    For the greatest lateness the due-date order within a family loses nothing, and the time after
    some jobs and changeovers does not depend on their order; so the counts say it all.
    """

    def __init__(
        self,
        table: Timetable,
        group: Group,
        rows: list[list[int]],
        shape: tuple[int, ...],
        slots: int,
        setup_min: float,
    ) -> None:
        self.shape, self.slots, self.setup_min = shape, slots, setup_min
        self.lanes_count = len(group.lanes)
        self.start_min = min(table.free_from_us[lane] for lane in group.lanes) / US_PER_MIN
        self.due_min = [np.array([table.due_us[i] / US_PER_MIN for i in row]) for row in rows]
        self.work_min = np.zeros(shape)
        for axis, row in enumerate(rows):
            done = np.cumsum([0.0, *(table.duration_us[i] / US_PER_MIN for i in row)])
            self.work_min = self.work_min + done.reshape(
                [-1 if other == axis else 1 for other in range(len(rows))]
            )
        families = [table.family[row[0]] for row in rows]
        mounted = {table.family_from[lane] for lane in group.lanes} & set(families)
        self.sets = list(combinations(range(len(rows)), slots))
        self.at_first = {
            chosen: len(mounted - {families[axis] for axis in chosen}) == 0 or len(mounted) > slots
            for chosen in self.sets
        }

    def least_lateness_min(self) -> Iterator[float]:
        """The least greatest lateness with 0, 1, 2, ... changeovers [min]."""
        before: dict[tuple[int, ...], Floats] = {}
        everything = tuple(size - 1 for size in self.shape)
        for changeovers in range(sum(self.shape) + 1):
            now: dict[tuple[int, ...], Floats] = {}
            for chosen in self.sets:
                late = np.full(self.shape, np.inf)
                if changeovers == 0 and self.at_first[chosen]:
                    late[(0,) * len(self.shape)] = -np.inf
                for other in self._one_away(chosen, before):
                    np.minimum(late, before[other], out=late)
                self._run(chosen, late, changeovers)
                now[chosen] = late
            yield float(min(late[everything] for late in now.values()))
            before = now

    def _one_away(
        self, chosen: tuple[int, ...], before: dict[tuple[int, ...], Floats]
    ) -> Iterator[tuple[int, ...]]:
        wanted = set(chosen)
        return (other for other in before if len(wanted & set(other)) == self.slots - 1)

    def _run(self, chosen: tuple[int, ...], late: Floats, changeovers: int) -> None:
        """Let the families set up go on: lateness grows along their counts only."""
        moved = np.moveaxis(late, chosen, range(self.slots))
        work = np.moveaxis(self.work_min, chosen, range(self.slots))
        spent = self.start_min + changeovers * self.setup_min / self.lanes_count
        for counts in product(*(range(self.shape[axis]) for axis in chosen)):
            end = spent + work[counts] / self.lanes_count
            least = moved[counts]
            for place, axis in enumerate(chosen):
                if counts[place]:
                    one_less = (*counts[:place], counts[place] - 1, *counts[place + 1 :])
                    own = end - self.due_min[axis][counts[place] - 1]
                    least = np.minimum(least, np.maximum(moved[one_less], own))
            moved[counts] = least
