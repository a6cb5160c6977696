"""The cheapest order of strokes: A* from the finished part back to the flat sheet.

The part is unbent in thought. With everything folded there is least room, so the last strokes are
the few that still clear, and a part that cannot be made shows it at once; a search that starts with
the flat sheet wanders through many beginnings that lead nowhere. A state is what remains bent and
how the sheet lies for the stroke after it: (strokes done, side up, direction, X, tools, station).
Clearance is tested only when a state is about to be left. Further:

* a bound on the way before that never overestimates (`bound`);
* dominance: of two ways to go on from the same strokes done, one is dropped when re-posing the
  sheet (turning, moving the gauge, changing tools) makes it no dearer than the other. Handling
  seconds obey the triangle inequality, so nothing that comes before can pay the difference back;
* ties are broken by the order strokes are numbered in: equal input gives equal output.

A*: P. E. Hart, N. J. Nilsson, B. Raphael, "A Formal Basis for the Heuristic Determination of
Minimum Cost Paths", IEEE Trans. Systems Science and Cybernetics 4 (1968). Taking the product apart
to find how to put it together: L. S. Homem de Mello, A. C. Sanderson, "Representations of
mechanical assembly sequences", IEEE Trans. Robotics and Automation 7 (1991).
"""

import heapq
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Protocol

from server.geometry.profile import Rear
from server.mechanics.tooling import Punch
from server.planning.order import Costs, PlacedStroke, Pose, order_cost
from server.planning.stroke import Stroke
from server.planning.stroke_tests import StrokeTests

SAME_S = 1e-9
TIE_S = 1e-6
"""Orders closer than this cost the same: the one of the tools named first stays."""
ASK_EVERY = 64
MOST_DEAD_SETS = 200
REARS: tuple[Rear, Rear] = ("first", "second")


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a search is; seconds are of handling, not of computing."""

    states: int
    tests: int
    bound_s: float
    best_s: float | None


KeepGoing = Callable[[Progress], bool]


def always(_: Progress) -> bool:
    """Never give up."""
    return True


class Bound(Protocol):
    """Seconds that are needed at least for what comes before; 0 is always allowed."""

    def before_s(self, done: int, stroke: int, rear: int, pose: Pose) -> float:
        """From the flat sheet until a stroke may begin, with `done` made before it."""

    def whole_s(self) -> float:
        """From the flat sheet to the finished part."""


@dataclass(frozen=True, slots=True)
class Found:
    """What a search found: an order or none, a proven bound, and how much work it was.

    No order and an infinite bound means: proven that there is none. `dead_sets` are sets of strokes
    of which none was seen to be the last; whoever reports them looks again.
    """

    order: tuple[PlacedStroke, ...]
    seconds: float | None
    bound_s: float
    states: int
    dead_sets: tuple[int, ...] = ()

    @property
    def proven(self) -> bool:
        """Whether the order is optimal, or its absence certain."""
        if self.seconds is None:
            return self.bound_s == float("inf")
        return self.bound_s >= self.seconds - SAME_S


@dataclass(slots=True)
class State:
    """Strokes still done before `placed`, and the seconds from `placed` to the end."""

    seconds: float
    done: int
    placed: PlacedStroke
    after: "State | None"
    tested: bool = False


@dataclass(slots=True)
class Search:
    """One search over a part in chosen dies with given punches.

    `rears` restricts which half may lie behind the die for a stroke. Orders that are not better
    than `better_than_s` by `TIE_S` are dropped. `later` has, for each stroke, the strokes that
    cannot come before it, `by_rear` those for each half behind the die; without them only what the
    making asks for is kept.
    """

    tests: StrokeTests
    costs: Costs
    punches: Sequence[Sequence[Punch]]
    bound: Bound
    rears: Sequence[Sequence[int]]
    better_than_s: float = float("inf")
    keep_going: KeepGoing = always
    dominance: bool = True
    later: Sequence[int] = ()
    by_rear: Sequence[tuple[int, int]] = ()
    states: int = 0
    _best: dict[int, list[tuple[float, Pose]]] = field(default_factory=dict)
    _opened: dict[int, int] = field(default_factory=dict)
    _before: list[int] = field(default_factory=list)

    def run(self, most_states: int | None = None) -> Found:
        """The cheapest order, or what is known of it when the work was cut short."""
        strokes = self.tests.making.strokes
        if not strokes:
            return Found((), 0.0, 0.0, 0)
        heap: list[tuple[float, int, int, State]] = []
        pushed = 0
        for state in self.states_before((1 << len(strokes)) - 1, None):
            pushed += 1
            self._push(heap, state, pushed)
        while heap:
            estimate_s, _, _, state = heapq.heappop(heap)
            self.states += 1
            if self._cut_short(estimate_s, most_states):
                return Found((), None, estimate_s, self.states)
            if self.dominated(state):
                continue
            if not state.tested:
                if not self.allowed(state):
                    continue
                for other in self.at_stations(state):
                    pushed += 1
                    self._push(heap, other, pushed)
                continue
            self.keep(state)
            if not state.done:
                order = order_from(state)
                seconds = order_cost(order, self.costs).seconds
                return Found(order, seconds, seconds, self.states)
            for earlier in self.states_before(state.done, state):
                pushed += 1
                self._push(heap, earlier, pushed)
        bound_s = self.better_than_s
        return Found((), None, bound_s, self.states, self._dead_sets())

    def states_before(self, done: int, after: State | None) -> list[State]:
        """Every stroke that may be the last of `done`, by contact and support; clearance is open."""
        found: list[State] = []
        for stroke in self.tests.making.strokes:
            index = stroke.index
            if not self.may_be_last(stroke, done):
                continue
            rest = done & ~(1 << index)
            for rear in self.rears[index]:
                contact = self.tests.contact(rest, index, rear)
                if contact is None:
                    continue
                for punch in self.punches[index]:
                    tools = f"{punch.name} / {stroke.die.name}"
                    station = -1
                    if after is not None and after.placed.pose.tools == tools:
                        station = after.placed.pose.station
                    pose = Pose(
                        0 if stroke.sign > 0 else 1,
                        self.tests.directions[index][rear],
                        contact.x_mm,
                        tools,
                        station,
                    )
                    seconds = self.costs.stroke_s(contact)
                    if after is not None:
                        seconds += after.seconds + self.costs.move_s(pose, after.placed.pose)
                    placed = PlacedStroke(index, rear, punch, contact, pose)
                    found.append(State(seconds, rest, placed, after))
        self._opened.setdefault(done, 0)
        return found

    def may_be_last(self, stroke: Stroke, done: int) -> bool:
        """Whether what is known of the order lets a stroke of a set come last in it."""
        index = stroke.index
        if not done >> index & 1 or self._must_come_before()[index] & done:
            return False
        made = done & ~(1 << index) & stroke.run_mask
        # the hits of a bumped radius are made side by side
        return not made & (made + (made & -made))

    def allowed(self, state: State) -> bool:
        """Whether nothing blocks the state's stroke."""
        placed = state.placed
        allowed = self.tests.possible(state.done, placed.stroke, placed.rear, placed.punch)
        if allowed:
            whole = state.done | 1 << placed.stroke
            self._opened[whole] = self._opened.get(whole, 0) + 1
        return allowed

    def at_stations(self, state: State) -> list[State]:
        """An allowed state at each tool station that serves it, with the seconds that adds."""
        placed, old = state.placed, state.placed.pose
        found = []
        for station in self.tests.stations(state.done, placed.stroke, placed.rear, placed.punch):
            pose = Pose(old.side, old.direction, old.x_mm, old.tools, station)
            added_s = 0.0
            if state.after is not None and station != old.station:
                following = state.after.placed.pose
                added_s = self.costs.move_s(pose, following) - self.costs.move_s(old, following)
            there = PlacedStroke(placed.stroke, placed.rear, placed.punch, placed.contact, pose)
            found.append(
                State(state.seconds + added_s, state.done, there, state.after, tested=True)
            )
        return found

    def dominated(self, state: State) -> bool:
        """Whether a state kept before is at least as good, whatever comes earlier."""
        known = self._best.get(state.done)
        if not known:
            return False
        pose, seconds = state.placed.pose, state.seconds
        if not self.dominance:
            return any(other == pose and cost <= seconds + SAME_S for cost, other in known)
        return any(
            cost <= seconds + SAME_S and cost + self.costs.move_s(pose, other) <= seconds + SAME_S
            for cost, other in known
        )

    def keep(self, state: State) -> None:
        """Remember a state as one to go on from."""
        self._best.setdefault(state.done, []).append((state.seconds, state.placed.pose))

    def estimate_s(self, state: State) -> float:
        """Seconds of the best whole order through a state, at least."""
        placed = state.placed
        before_s = self.bound.before_s(state.done, placed.stroke, placed.rear, placed.pose)
        return round(state.seconds + before_s, 7)

    def _push(self, heap: list[tuple[float, int, int, State]], state: State, number: int) -> None:
        estimate_s = self.estimate_s(state)
        if estimate_s < self.better_than_s - TIE_S:
            heapq.heappush(heap, (estimate_s, state.done.bit_count(), number, state))

    def _cut_short(self, estimate_s: float, most_states: int | None) -> bool:
        if most_states is not None and self.states > most_states:
            return True
        return self.states % ASK_EVERY == 0 and not self.keep_going(
            Progress(self.states, self.tests.tests_made, estimate_s, self.best_s())
        )

    def best_s(self) -> float | None:
        """Seconds of the order to beat, None before the first one."""
        return self.better_than_s if self.better_than_s < float("inf") else None

    def _must_come_before(self) -> list[int]:
        """For each stroke, the strokes that need it made before them."""
        if not self._before:
            strokes = self.tests.making.strokes
            self._before = list(self.later) or [0] * len(strokes)
            for stroke in strokes:
                for first in stroke.after:
                    self._before[first] |= 1 << stroke.index
        return self._before

    def _dead_sets(self) -> tuple[int, ...]:
        """Sets reached of which no stroke can be the last, the smallest first."""
        dead = [done for done, leaving in self._opened.items() if done and not leaving]
        return tuple(sorted(dead, key=lambda done: (done.bit_count(), done))[:MOST_DEAD_SETS])


def order_from(state: State) -> tuple[PlacedStroke, ...]:
    """The strokes from a state to the end, in the order they are made."""
    order = []
    at: State | None = state
    while at is not None:
        order.append(at.placed)
        at = at.after
    return tuple(order)
