"""Seconds a bend sequence needs at least: what is left when clearance is ignored.

`PoseBound` holds for every part: the strokes left and the turns that their sides and directions
force. `TableBound` is for profiles of few strokes: the exact cost of the same problem with gauge
contacts and support but without clearance tests, by dynamic programming over the sets of
strokes (R. Bellman, "Dynamic Programming Treatment of the Travelling Salesman Problem", J. ACM 9
(1962); M. Held, R. M. Karp, J. SIAM 10 (1962)). Leaving constraints out never makes the cost
higher, so neither bound overestimates, and both obey the triangle inequality with it.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from server.planning.order import Costs, Pose
from server.planning.precedence import FlipBound, GaugeBound
from server.planning.profile_strokes import ProfileStrokes
from server.planning.stroke_tests import StrokeTests

TABLE_MOST_STROKES = 14


class NoBound:
    """Knows nothing: turns A* into a plain cheapest-first search."""

    def before_s(self, done: int, stroke: int, rear: int, pose: Pose) -> float:
        """Nothing."""
        del done, stroke, rear, pose
        return 0.0

    def whole_s(self) -> float:
        """Nothing."""
        return 0.0


class PoseBound:
    """Strokes left, and the fewest turns through the positions they ask for.

    Each stroke left asks for its side and one of its two directions; strokes that ask for the same
    are one demand. The cheapest tour of demands is found once for each set of them.
    """

    def __init__(
        self,
        tests: StrokeTests,
        costs: Costs,
        rears: Sequence[Sequence[int]],
        later: Sequence[int] = (),
    ) -> None:
        self.costs = costs
        strokes = tests.making.strokes
        later = later or [0] * len(strokes)
        self.flips = FlipBound(tests, costs, later)
        self.gauge = GaugeBound(tests, costs, rears, later)
        asks = [
            (
                0 if stroke.sign > 0 else 1,
                tuple(sorted({tests.directions[stroke.index][r] for r in rears[stroke.index]})),
            )
            for stroke in strokes
        ]
        self.demands = sorted(set(asks))
        self.demand_of = [self.demands.index(ask) for ask in asks]
        self.members = [
            sum(1 << i for i, ask in enumerate(asks) if ask == demand) for demand in self.demands
        ]
        self.count = len(strokes)
        self._tours: dict[tuple[int, int, int], float] = {}

    def before_s(self, done: int, stroke: int, rear: int, pose: Pose) -> float:
        """Seconds from the flat sheet until a stroke may begin."""
        del stroke, rear
        strokes_s = done.bit_count() * self.costs.handling.stroke_s
        tour_s = self._tour_s(self._asked(done), pose.side, pose.direction)
        turns_s = max(tour_s, self.flips.seconds_before(done, pose))
        return strokes_s + turns_s + self.gauge.seconds_before(done, pose.x_mm)

    def whole_s(self) -> float:
        """Seconds from the flat sheet."""
        left = self._asked((1 << self.count) - 1)
        turns_s = min(
            (
                self._tour_s(left, side, direction)
                for side, directions in self.demands
                for direction in directions
            ),
            default=0.0,
        )
        full = (1 << self.count) - 1
        flips = min(self.flips.flips_before(full, side) for side in (0, 1)) if full else 0
        turns_s = max(turns_s, flips * self.costs.over_s)
        return self.count * self.costs.handling.stroke_s + turns_s + self.gauge.least_s(full)

    def _asked(self, done: int) -> int:
        """The demands of some strokes."""
        return sum(1 << number for number, members in enumerate(self.members) if members & done)

    def _tour_s(self, left: int, side: int, direction: int) -> float:
        """Least turning that passes through every demand left, from a position."""
        for number, (wanted, directions) in enumerate(self.demands):
            if left >> number & 1 and wanted == side and direction in directions:
                left &= ~(1 << number)
        if not left:
            return 0.0
        key = (left, side, direction)
        if key not in self._tours:
            best = float("inf")
            for number, (wanted, directions) in enumerate(self.demands):
                if not left >> number & 1:
                    continue
                for way in directions:
                    turn_s = (self.costs.over_s if wanted != side else 0.0) + (
                        self.costs.turn_s if way != direction else 0.0
                    )
                    rest_s = self._tour_s(left & ~(1 << number), wanted, way)
                    best = min(best, turn_s + rest_s)
            self._tours[key] = best
        return self._tours[key]


class TableBound:
    """Exact cost of the way before, for a profile without its clearance tests."""

    def __init__(
        self,
        tests: ProfileStrokes,
        costs: Costs,
        rears: Sequence[Sequence[int]],
        later: Sequence[int] = (),
    ) -> None:
        strokes = tests.making.strokes
        count = len(strokes)
        size = 1 << count
        masks = np.arange(size)
        contacts = np.full((2 * count, size), np.nan)
        stroke_s = np.zeros((2 * count, size))
        for stroke in strokes:
            row, ready = 2 * stroke.index, (masks >> stroke.index & 1) == 0
            for first in stroke.after:
                ready &= (masks >> first & 1) == 1
            if later:
                ready &= (masks & later[stroke.index]) == 0
            for rear in rears[stroke.index]:
                x_mm, flange = tests.contact_table(stroke.index, rear)
                contacts[row + rear] = np.where(ready, x_mm(masks), np.nan)
                stroke_s[row + rear] = costs.handling.stroke_s + np.where(
                    flange(masks), costs.handling.gauge_on_flange_s, 0.0
                )
        self._before = _cost_before(tests, costs, contacts, stroke_s)
        full = size - 1
        ends = [
            float(stroke_s[row, rest] + self._before[rest, row])
            for row in range(2 * count)
            for rest in (full & ~(1 << (row // 2)),)
            if not np.isnan(contacts[row, rest])
        ]
        self._whole_s = min(ends, default=float("inf"))

    def before_s(self, done: int, stroke: int, rear: int, pose: Pose) -> float:
        """Seconds from the flat sheet until a stroke may begin."""
        del pose
        return float(self._before[done, 2 * stroke + rear])

    def whole_s(self) -> float:
        """Seconds for all; infinite when contacts alone forbid every order."""
        return self._whole_s


def _cost_before(
    tests: ProfileStrokes,
    costs: Costs,
    contacts: NDArray[np.float64],
    stroke_s: NDArray[np.float64],
) -> NDArray[np.float64]:
    """before[done, 2 stroke + rear]: least seconds until that stroke begins, with `done` made."""
    strokes = tests.making.strokes
    rows, size = contacts.shape
    masks = np.arange(size)
    layer = np.bitwise_count(masks)
    before = np.full((size, rows), np.inf)
    before[0] = 0.0
    sides = np.array([strokes[row // 2].sign for row in range(rows)])
    ways = np.array([tests.directions[row // 2][row % 2] for row in range(rows)])
    turns_s = np.where(sides[:, None] != sides[None, :], costs.over_s, 0.0) + np.where(
        ways[:, None] != ways[None, :], costs.turn_s, 0.0
    )
    x_next = np.ascontiguousarray(contacts.T)
    move_s, per_mm = costs.handling.gauge_move_s, 1.0 / costs.handling.gauge_speed_mm_per_s
    for made in range(1, rows // 2):
        here = masks[layer == made]
        best = np.full((len(here), rows), np.inf)
        for row in range(rows):
            bit = 1 << (row // 2)
            last = np.nonzero(here & bit)[0]
            earlier = here[last] & ~bit
            usable = ~np.isnan(contacts[row, earlier])
            last, earlier = last[usable], earlier[usable]
            if not len(last):
                continue
            head = stroke_s[row, earlier] + before[earlier, row]
            step = np.abs(x_next[here[last]] - contacts[row, earlier][:, None])
            gauge_s = np.where(step > 0.0, move_s + per_mm * step, 0.0)
            way_s = gauge_s + turns_s[row][None, :] + head[:, None]
            best[last] = np.fmin(best[last], way_s)
        before[here] = best
    return before
