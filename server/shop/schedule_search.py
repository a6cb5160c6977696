"""Search for a better order by many small moves, some of them worse: simulated annealing.

Deterministic: a fixed seed and a counted number of moves, no clock. Ends with plain descent.
"""

import math
import random
from collections.abc import Sequence

from server.shop.timetable import Lanes, Timetable

State = tuple[int, int, float]
"""When a resource is free, its family, and the cost so far."""
Change = tuple[list[int], int, int]
"""A resource's new order, the first place that differs, and the place from which it is as before."""
Changes = dict[int, Change]

SEED = 20260101
LONGEST_RUN = 6
COLDEST_SHARE = 0.002


class LaneBook:
    """Current orders with the state after every task, so that a move re-counts only what follows."""

    def __init__(self, table: Timetable, lanes: Lanes) -> None:
        self.table = table
        self.lanes: Lanes = [list(order) for order in lanes]
        self.members: list[list[int]] = [[] for _ in table.families]
        for i in table.free:
            self.members[table.family[i]].append(i)
        self.states: list[list[State]] = [
            self._states(lane, order) for lane, order in enumerate(self.lanes)
        ]

    @property
    def cost(self) -> float:
        """Cost of the current orders."""
        if self.table.staged:
            return self.table.cost(self.lanes)
        return sum(states[-1][2] for states in self.states)

    def cost_of(self, changes: Changes, most: float) -> float:
        """Cost with some resources' orders changed from a position on; infinity past `most`."""
        if self.table.staged:
            return self.table.cost(
                [changes[n][0] if n in changes else order for n, order in enumerate(self.lanes)]
            )
        cost = sum(states[-1][2] for lane, states in enumerate(self.states) if lane not in changes)
        for lane, change in changes.items():
            cost += self._changed_cost(lane, change, most - cost)
            if cost > most:
                return math.inf
        return cost

    def accept(self, changes: Changes) -> None:
        """Make the changes the current orders."""
        for lane, (order, first, _) in changes.items():
            self.lanes[lane] = order
            if not self.table.staged:
                states = self.states[lane][: first + 1]
                for i in order[first:]:
                    states.append(self.table.step(lane, i, *states[-1]))
                self.states[lane] = states

    def _states(self, lane: int, order: Sequence[int]) -> list[State]:
        states: list[State] = [(self.table.free_from_us[lane], self.table.family_from[lane], 0.0)]
        for i in order:
            states.append(self.table.step(lane, i, *states[-1]))
        return states

    def _changed_cost(self, lane: int, change: Change, most: float) -> float:
        order, first, same_from = change
        states = self.states[lane]
        state = self._walked(lane, order[first:same_from], states[first], most)
        if state[2] > most or same_from >= len(order):
            return state[2]
        before = states[same_from]
        if state[:2] == before[:2]:
            return state[2] + states[-1][2] - before[2]
        return self._walked(lane, order[same_from:], state, most)[2]

    def _walked(self, lane: int, tasks: list[int], state: State, most: float) -> State:
        """The state after some tasks; `Timetable.step` written out, since all time goes here."""
        table = self.table
        at, family, cost = state
        if table.closed[lane] or table.pinned_end_us:
            for i in tasks:
                at, family, cost = table.step(lane, i, at, family, cost)
            return at, family, cost
        setup_us, families, ready_us = table.setup_us, table.family, table.ready_us
        duration_us, due_us, weight = table.duration_us, table.due_us, table.weight
        for i in tasks:
            after = families[i]
            if setup := setup_us[family][after]:
                at += setup
                cost += table.setup_weight * setup
            family = after
            at = max(at, ready_us[i]) + duration_us[i]
            if at > due_us[i]:
                cost += weight[i] * (at - due_us[i])
                if cost > most:
                    break
        return at, family, cost


def improved(table: Timetable, lanes: Lanes, *, moves_count: int, seed: int = SEED) -> Lanes:
    """The best order found by a counted number of moves from a starting order."""
    rng = random.Random(seed)  # noqa: S311 - a search, not a secret
    book = LaneBook(table, lanes)
    cost = best_cost = book.cost
    best: Lanes = [list(order) for order in book.lanes]
    if len(table.free) < 2 or cost == 0.0:
        return best
    hottest = _starting_temperature(book, rng, cost)
    cooling = COLDEST_SHARE ** (1 / max(1, moves_count))
    temperature = hottest
    for _ in range(moves_count):
        changes = _move(book, rng)
        temperature *= cooling
        if not changes:
            continue
        most = cost - temperature * math.log(1.0 - rng.random())
        found = book.cost_of(changes, most)
        if found <= most:
            book.accept(changes)
            cost = found
            if cost < best_cost - 1e-6:
                best_cost, best = cost, [list(order) for order in book.lanes]
    return best


def _starting_temperature(book: LaneBook, rng: random.Random, cost: float) -> float:
    """A temperature at which a typical worsening move passes every third time or so."""
    worse = []
    for _ in range(200):
        changes = _move(book, rng)
        if changes and cost < (found := book.cost_of(changes, math.inf)) < math.inf:
            worse.append(found - cost)
    worse.sort()
    return worse[len(worse) // 4] if worse else max(cost, 1.0)


def _move(book: LaneBook, rng: random.Random) -> Changes | None:
    """A random neighbour: a run moved, beside its own family or anywhere; a swap; tails exchanged."""
    lanes = book.lanes
    lane = rng.randrange(len(lanes)) if len(lanes) > 1 else 0
    order = lanes[lane]
    if not order:
        return None
    first = rng.randrange(len(order))
    roll = rng.random()
    if roll < 0.3:
        return _joined(book, rng, lane, first)
    if len(lanes) > 1 and roll < 0.6:
        other = rng.randrange(len(lanes) - 1)
        other += other >= lane
        return _across(book, rng, lane, other)
    if len(order) < 2:
        return None
    if roll < 0.7:
        second = rng.randrange(len(order) - 1)
        second += second >= first
        swapped = list(order)
        swapped[first], swapped[second] = order[second], order[first]
        return {lane: (swapped, min(first, second), max(first, second) + 1)}
    start, end = _run(book, rng, order, first)
    if roll < 0.8:
        return _runs_swapped(book, rng, lane, start, end)
    rest = order[:start] + order[end:]
    if not rest:
        return None
    to = rng.randrange(len(rest))
    to += to >= start
    return {
        lane: (rest[:to] + order[start:end] + rest[to:], min(start, to), max(end, to + end - start))
    }


def _runs_swapped(
    book: LaneBook, rng: random.Random, lane: int, start: int, end: int
) -> Changes | None:
    """Two stretches of one resource change places."""
    order = book.lanes[lane]
    low, high = _run(book, rng, order, rng.randrange(len(order)))
    if low < start:
        start, end, low, high = low, high, start, end
    if low < end:
        return None
    swapped = order[:start] + order[low:high] + order[end:low] + order[start:end] + order[high:]
    return {lane: (swapped, start, high)}


def _joined(book: LaneBook, rng: random.Random, lane: int, first: int) -> Changes | None:
    """A run moved to stand before or after another task of its family."""
    table, order = book.table, book.lanes[lane]
    i = order[first]
    j = rng.choice(book.members[table.family[i]])
    if i == j:
        return None
    start, end = _run(book, rng, order, first)
    run = order[start:end]
    rest = order[:start] + order[end:]
    if j in rest:
        to = rest.index(j) + rng.randint(0, 1)
        if to == start:
            return None
        return {lane: (rest[:to] + run + rest[to:], min(start, to), max(end, to + len(run)))}
    for other, there in enumerate(book.lanes):
        if other != lane and j in there:
            if any(other not in table.eligible[k] for k in run):
                return None
            to = there.index(j) + rng.randint(0, 1)
            return {
                lane: (rest, start, len(rest)),
                other: (there[:to] + run + there[to:], to, len(there) + len(run)),
            }
    return None


def _run(book: LaneBook, rng: random.Random, order: list[int], first: int) -> tuple[int, int]:
    """One task, a few, or the whole stretch of its family: start and end in the order."""
    roll = rng.random()
    if roll < 0.45:
        return first, first + 1
    if roll < 0.7:
        return first, min(first + rng.randint(2, LONGEST_RUN), len(order))
    family = book.table.family
    own = family[order[first]]
    start, end = first, first + 1
    while end < len(order) and family[order[end]] == own:
        end += 1
    if roll < 0.85:
        while start and family[order[start - 1]] == own:
            start -= 1
    return start, end


def _across(book: LaneBook, rng: random.Random, lane: int, other: int) -> Changes | None:
    """Something goes to another resource: a run, an exchange of two, or the tails."""
    here, there = book.lanes[lane], book.lanes[other]
    first, to = rng.randrange(len(here)), rng.randint(0, len(there))
    roll = rng.random()
    if roll < 0.55:
        first, end = _run(book, rng, here, first)
        back = to
    elif roll < 0.8 and there:
        first, end = _run(book, rng, here, first)
        to, back = _run(book, rng, there, rng.randrange(len(there)))
    else:
        end, back = len(here), len(there)
    leaving, coming = here[first:end], there[to:back]
    eligible = book.table.eligible
    if any(other not in eligible[i] for i in leaving):
        return None
    if any(lane not in eligible[i] for i in coming):
        return None
    new_here = here[:first] + coming + here[end:]
    new_there = there[:to] + leaving + there[back:]
    return {lane: (new_here, first, len(new_here)), other: (new_there, to, len(new_there))}
