"""Strokes that have to come before others, whatever else is bent: found once, used everywhere.

A bend nearer the line puts everything beyond it in its place. What the sheet up to one folded zone
meets it meets in every state that folds this zone the same way, and a sheet that is too short to
rest on stays too short. So when stroke i is blocked by j alone, in both positions and with every
punch, i comes before j in every order. For profiles zones between them are tried folded and flat,
as far as a few of them lie between.

The fewest turns over in any order that keeps to this is the longest alternation of sides along it.
"""

import itertools
from collections.abc import Sequence

from server.mechanics.tooling import Punch
from server.planning.order import Costs, Pose
from server.planning.stroke_tests import StrokeTests

Later = tuple[int, ...]
LaterByRear = tuple[tuple[int, int], ...]


def later_by_rear(
    tests: StrokeTests,
    punches: Sequence[Sequence[Punch]],
    rears: Sequence[Sequence[int]],
) -> LaterByRear:
    """For each stroke, and each half behind the die, the strokes (bits) that cannot come before it.

    A half that must not lie behind has every stroke.
    """
    strokes = tests.making.strokes
    every = (1 << len(strokes)) - 1
    found = []
    for stroke in strokes:
        index = stroke.index
        first = sum(1 << other.index for other in strokes if index in other.after)
        ways = [every, every]
        for rear in rears[index]:
            ways[rear] = first | sum(
                1 << other
                for other in range(len(strokes))
                if other != index
                and not first >> other & 1
                and tests.always_blocked(index, other, punches[index], (rear,))
            )
        found.append((ways[0], ways[1]))
    return tuple(found)


def later_strokes(by_rear: LaterByRear) -> Later:
    """For each stroke the strokes (bits) that cannot come before it; closed under "and so on"."""
    return tuple(_closed([first & second for first, second in by_rear]))


def _closed(later: Sequence[int]) -> list[int]:
    closed = list(later)
    for middle, first in itertools.product(range(len(closed)), repeat=2):
        if closed[first] >> middle & 1:
            closed[first] |= closed[middle]
    return closed


class FlipBound:
    """Turns over that the order of strokes forces, for any set of them."""

    def __init__(self, tests: StrokeTests, costs: Costs, later: Sequence[int]) -> None:
        self.costs = costs
        self.sides = [0 if stroke.sign > 0 else 1 for stroke in tests.making.strokes]
        count = len(self.sides)
        before = [
            sum(1 << first for first in range(count) if later[first] >> index & 1)
            for index in range(count)
        ]
        order = sorted(range(count), key=lambda index: (before[index].bit_count(), index))
        self._order = [(1 << i, i, [p for p in range(count) if before[i] >> p & 1]) for i in order]
        self._known: dict[int, tuple[int, int]] = {}

    def flips_before(self, done: int, side: int) -> int:
        """Least number of turns over among some strokes and on to a side."""
        known = self._known.get(done)
        if known is None:
            known = self._longest(done)
            self._known[done] = known
        return max(known[side], known[1 - side] + 1)

    def seconds_before(self, done: int, pose: Pose) -> float:
        """Seconds of turning over until a stroke may begin."""
        return self.flips_before(done, pose.side) * self.costs.over_s if done else 0.0

    def _longest(self, done: int) -> tuple[int, int]:
        """Most alternations along the order within a set, ending on each side (-1: none there)."""
        flips: dict[int, int] = {}
        ends = [-1, -1]
        for bit, index, earlier in self._order:
            if not done & bit:
                continue
            side = self.sides[index]
            most = 0
            for first in earlier:
                reached = flips.get(first)
                if reached is not None:
                    reached += self.sides[first] != side
                    most = max(most, reached)
            flips[index] = most
            ends[side] = max(ends[side], most)
        return ends[0], ends[1]


class GaugeBound:
    """Seconds the gauge has to move, for any set of strokes and the X it has to end at.

    Strokes whose possible X have none in common need stops of their own. The stops farthest on both
    sides are passed once, the nearer of the two ways back to the end twice.
    """

    def __init__(
        self,
        tests: StrokeTests,
        costs: Costs,
        rears: Sequence[Sequence[int]],
        later: Sequence[int],
    ) -> None:
        self.move_s = costs.handling.gauge_move_s
        self.per_mm_s = 1.0 / costs.handling.gauge_speed_mm_per_s
        count = len(rears)
        self._x_of: list[frozenset[float] | None] = []
        for stroke in range(count):
            before = sum(1 << first for first in range(count) if later[first] >> stroke & 1)
            some = [
                tests.possible_stops(stroke, one, before, later[stroke]) for one in rears[stroke]
            ]
            told = [stop.x_mm for one in some if one is not None for stop in one]
            self._x_of.append(None if None in some or not told else frozenset(told))
        self._fewest_first = sorted(
            (stroke for stroke in range(count) if self._x_of[stroke]),
            key=lambda stroke: (len(self._x_of[stroke] or ()), stroke),
        )
        self._known: dict[tuple[int, float], float] = {}

    def seconds_before(self, done: int, x_mm: float) -> float:
        """Least seconds of moving through some strokes and on to an X."""
        key = (done, x_mm)
        if key not in self._known:
            self._known[key] = self._seconds(done, x_mm)
        return self._known[key]

    def least_s(self, done: int) -> float:
        """Least seconds of moving through some strokes, wherever the gauge ends."""
        stops = self._stops(done, frozenset())
        return max(0, stops - 1) * self.move_s

    def _stops(self, done: int, taken: frozenset[float]) -> int:
        """Strokes of a set of which no two, and none with what is taken, have an X in common."""
        stops = 0
        for stroke in self._fewest_first:
            possible = self._x_of[stroke]
            if done >> stroke & 1 and possible and taken.isdisjoint(possible):
                stops += 1
                taken |= possible
        return stops

    def _seconds(self, done: int, x_mm: float) -> float:
        stops = self._stops(done, frozenset((x_mm,)))
        over_mm = under_mm = 0.0
        for stroke in self._fewest_first:
            possible = self._x_of[stroke]
            if done >> stroke & 1 and possible and x_mm not in possible:
                over_mm = max(over_mm, min(possible) - x_mm)
                under_mm = max(under_mm, x_mm - max(possible))
        way_mm = over_mm + under_mm + min(over_mm, under_mm)
        return stops * self.move_s + way_mm * self.per_mm_s
