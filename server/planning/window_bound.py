"""Seconds of turning and moving the gauge that some strokes of a part force, whatever the others do.

A window is a choice of strokes. The moves between its strokes in any order of the whole part take no
less than going straight from one to the next, as handling seconds obey the triangle inequality; so
the least of the window alone, over all its orders, holds for the part. It is found for every set of
the window's strokes (a pattern database: J. C. Culberson, J. Schaeffer, "Pattern Databases",
Computational Intelligence 14 (1998), with the dynamic programme of Held and Karp, J. SIAM 10 (1962)).

What the window's other strokes allow is kept: who has to come before whom, and at which X a stroke
can be gauged while the element that offers it is folded by just the strokes made. What strokes
outside it, clearance and support forbid besides is left out, which never makes the cost higher.
Sides, directions and the gauge are in one table, so that a turn saved at the price of a long way of
the gauge is seen. The best of several windows counts, as their moves may be the same.
"""

import random
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from server.planning.bound import PoseBound
from server.planning.order import Costs, Pose
from server.planning.precedence import LaterByRear
from server.planning.stroke_tests import Stop, StrokeTests

MOST_WHOLE = 11
"""Parts of no more strokes are one window."""
FIRST_SIZE = 8
DRAWN = 12
TRIED = (4, 3)
"""How many strokes more are tried for each next one of a window."""
KEPT = 2
SEED = 1968

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class _Option:
    """One way to lie for a stroke: half behind, side, direction and X, and the stops that offer the X."""

    stroke: int
    rear: int
    side: int
    direction: int
    x_mm: float
    stops: tuple[Stop, ...]


@dataclass(slots=True)
class _Window:
    """The table of one window: least seconds of moves by the set made and the option made last."""

    strokes: tuple[int, ...]
    table: Floats
    side: NDArray[np.int_]
    direction: NDArray[np.int_]
    x_mm: Floats
    known: dict[tuple[int, int, int, float], float] = field(default_factory=dict)

    @property
    def whole_s(self) -> float:
        """Moves through all strokes of the window."""
        return float(self.table[-1].min())

    def set_of(self, done: int) -> int:
        """The window's own bits of a set of strokes."""
        return sum(1 << place for place, stroke in enumerate(self.strokes) if done >> stroke & 1)


class WindowBound:
    """`PoseBound`, or what the best window says when that is more."""

    def __init__(
        self,
        tests: StrokeTests,
        costs: Costs,
        rears: Sequence[Sequence[int]],
        later: Sequence[int],
        base: PoseBound,
        by_rear: LaterByRear = (),
    ) -> None:
        self.costs = costs
        self.base = base
        self._later = later
        self._by_rear = by_rear or tuple((0, 0) for _ in rears)
        self._options = [_options(tests, stroke, rears, later) for stroke in range(len(rears))]
        self.windows = self._chosen()

    def before_s(self, done: int, stroke: int, rear: int, pose: Pose) -> float:
        """Seconds from the flat sheet until a stroke may begin."""
        strokes_s = done.bit_count() * self.costs.handling.stroke_s
        least_s = self.base.before_s(done, stroke, rear, pose) - strokes_s
        for window in self.windows:
            least_s = max(least_s, self._moves_s(window, window.set_of(done), pose))
        return strokes_s + least_s

    def whole_s(self) -> float:
        """Seconds from the flat sheet."""
        strokes_s = len(self._options) * self.costs.handling.stroke_s
        moves_s = max((window.whole_s for window in self.windows), default=0.0)
        return max(self.base.whole_s(), strokes_s + moves_s)

    def _moves_s(self, window: _Window, made: int, pose: Pose) -> float:
        """Moves through some strokes of a window and on to a pose."""
        if not made:
            return 0.0
        key = (made, pose.side, pose.direction, pose.x_mm)
        known = window.known.get(key)
        if known is None:
            ways = window.table[made] + _moves(
                self.costs,
                (window.side, window.direction, window.x_mm),
                (pose.side, pose.direction, pose.x_mm),
            )
            known = window.known[key] = float(ways.min())
        return known

    def _chosen(self) -> list[_Window]:
        """A few windows that say much: the best of some drawn, grown by what adds most.

        Drawn the same for the same part.
        """
        usable = [stroke for stroke, options in enumerate(self._options) if options]
        if len(usable) < 2:
            return []
        if len(usable) <= MOST_WHOLE:
            return [self._window(tuple(usable))]
        rng = random.Random(SEED)  # noqa: S311  # has to repeat, no secret
        drawn = [self._window(tuple(sorted(rng.sample(usable, FIRST_SIZE)))) for _ in range(DRAWN)]
        drawn.sort(key=lambda window: (-window.whole_s, window.strokes))
        grown = []
        for window in drawn[:KEPT]:
            best = window
            for count in TRIED:
                others = [stroke for stroke in usable if stroke not in best.strokes]
                tries = rng.sample(others, min(count, len(others)))
                more = [self._window(tuple(sorted((*best.strokes, one)))) for one in tries]
                best = max(more, key=lambda one: (one.whole_s, one.strokes))
            grown.append(best)
        return grown

    def _window(self, strokes: tuple[int, ...]) -> _Window:
        """The table of a window, by the number of strokes made."""
        place_of = {stroke: place for place, stroke in enumerate(strokes)}
        options = [one for stroke in strokes for one in self._options[stroke]]
        side = np.array([one.side for one in options])
        direction = np.array([one.direction for one in options])
        x_mm = np.array([one.x_mm for one in options])
        columns = (side, direction, x_mm)
        sets = np.arange(1 << len(strokes))
        made_in = np.bitwise_count(sets)
        table = np.full((len(sets), len(options)), np.inf)
        allowed = [self._allowed(one, place_of, sets) for one in options]
        moves = [
            _moves(self.costs, columns, (one.side, one.direction, one.x_mm)) for one in options
        ]
        for made in range(1, len(strokes) + 1):
            layer = sets[made_in == made]
            with_bit = [layer[(layer & 1 << place) != 0] for place in range(len(strokes))]
            for number, option in enumerate(options):
                place = place_of[option.stroke]
                after = with_bit[place]
                before = after & ~(1 << place)
                usable = allowed[number][before]
                after, before = after[usable], before[usable]
                if made == 1:
                    table[after, number] = 0.0
                elif len(after):
                    table[after, number] = (table[before] + moves[number]).min(axis=1)
        return _Window(strokes, table, side, direction, x_mm)

    def _allowed(
        self, option: _Option, place_of: dict[int, int], sets: NDArray[np.int_]
    ) -> NDArray[np.bool_]:
        """Of which of a window's sets an option may come right after."""

        def inside(mask: int) -> int:
            return sum(1 << place for stroke, place in place_of.items() if mask >> stroke & 1)

        offered = np.zeros(len(sets), dtype=bool)
        for of, made in {(inside(stop.of), inside(stop.made)) for stop in option.stops}:
            offered |= (sets & of) == made
        later = self._later[option.stroke] | self._by_rear[option.stroke][option.rear]
        offered &= (sets & inside(later)) == 0
        return offered


def _options(
    tests: StrokeTests, stroke: int, rears: Sequence[Sequence[int]], later: Sequence[int]
) -> tuple[_Option, ...]:
    """Every way a stroke may lie, none when they cannot be told."""
    before = sum(1 << first for first, some in enumerate(later) if some >> stroke & 1)
    side = 0 if tests.making.strokes[stroke].sign > 0 else 1
    found: dict[tuple[int, float], list[Stop]] = {}
    for rear in rears[stroke]:
        stops = tests.possible_stops(stroke, rear, before, later[stroke])
        if stops is None:
            return ()
        for stop in stops:
            found.setdefault((rear, stop.x_mm), []).append(stop)
    return tuple(
        _Option(stroke, rear, side, tests.directions[stroke][rear], x_mm, tuple(stops))
        for (rear, x_mm), stops in found.items()
    )


def _moves(
    costs: Costs,
    columns: tuple[NDArray[np.int_], NDArray[np.int_], Floats],
    pose: tuple[int, int, float],
) -> Floats:
    """Seconds of turning and of the gauge from each option to a pose."""
    side, direction, x_mm = columns
    handling = costs.handling
    step_mm = np.abs(x_mm - pose[2])
    seconds: Floats = np.where(
        step_mm > 0.0, handling.gauge_move_s + step_mm / handling.gauge_speed_mm_per_s, 0.0
    )
    seconds += (side != pose[0]) * costs.over_s
    seconds += (direction != pose[1]) * costs.turn_s
    return seconds
