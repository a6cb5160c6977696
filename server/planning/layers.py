"""The cheapest order of strokes, layer by layer: all sets of one stroke fewer at once.

Folded sheet leaves so little room that few sets of strokes can be what is made before the rest: of
the 2**25 sets of a profile of 25 bends some thousands. So instead of one state after another this
goes through them by their number of strokes, from the finished part to the flat sheet, and keeps
for each set, and each stroke that can come last in it, the least seconds to the end: the dynamic
programme of Held and Karp over the sets that are reached (M. Held, R. M. Karp, "A Dynamic
Programming Approach to Sequencing Problems", J. SIAM 10 (1962)).

A layer holds at most so many states, the most promising first, as in beam search (B. Lowerre, "The
HARPY speech recognition system", thesis, 1976). The least estimate dropped for want of room is a
bound for every order that was not seen: nothing dropped means proven. (Keeping what a beam leaves
out, to prove its result: R. Zhou, E. A. Hansen, "Beam-Stack Search", ICAPS 2005.)
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from server.planning.order import PlacedStroke, Pose, order_cost
from server.planning.search import (
    ASK_EVERY,
    MOST_DEAD_SETS,
    SAME_S,
    TIE_S,
    Progress,
    Search,
)
from server.planning.stroke_tests import Ask, Offer

Floats = NDArray[np.float64]
Ints = NDArray[np.int_]

NARROW = 8
"""States kept of each layer once the work allowed is used up, so that an order is still found."""
TESTS_OF_A_STATE = 3
"""As many tests take as long as one state, as measured."""
MOST_PAIRS = 500_000


@dataclass(frozen=True, slots=True)
class Layered:
    """What a pass came to: an order or none, and a bound for every order it did not see.

    `dead_sets` are sets of strokes of which none was seen to be the last.
    """

    order: tuple[PlacedStroke, ...] | None
    seconds: float
    bound_s: float
    dead_sets: tuple[int, ...] = ()


@dataclass(slots=True)
class _Poses:
    """Poses as columns; tools by number, a station of -1 is whichever suits."""

    side: Ints
    direction: Ints
    x_mm: Floats
    tools: Ints
    station: Ints


@dataclass(slots=True)
class _States:
    """The states kept of one layer, those of a set side by side.

    State i is the stroke `placed[i]`, with `seconds[i]` from it to the end and tools `changed[i]` on
    the way; what follows is at `after[i]` among the states kept before. Those of `sets[k]` run from `first[k]` to `first[k + 1]`.
    """

    sets: list[int]
    first: Ints
    seconds: Floats
    poses: _Poses
    changed: NDArray[np.bool_]
    placed: list[PlacedStroke]
    after: list[int]


@dataclass(slots=True, eq=False)
class Way:
    """One stroke as the last of a set, in one half's position with one punch; `rest` comes before.

    `placed` is at any station, `before_s` the bound from the flat sheet until it begins.
    `stations` are known once it was tested.
    """

    rest: int
    placed: PlacedStroke
    tools: int
    stroke_s: float
    before_s: float
    stations: tuple[int, ...] = ()

    def at_station(self, station: int) -> PlacedStroke:
        """The stroke at one of its stations; the one asked for last is kept."""
        one, pose = self.placed, self.placed.pose
        if station != pose.station:
            there = Pose(pose.side, pose.direction, pose.x_mm, pose.tools, station)
            self.placed = PlacedStroke(one.stroke, one.rear, one.punch, one.contact, there)
        return self.placed


@dataclass(slots=True)
class Memory:
    """What passes over the same choice of punches share: the ways of each set not seen blocked."""

    ways: dict[int, list[Way]] = field(default_factory=dict)
    tools: dict[str, int] = field(default_factory=dict)


def layer_work(search: Search, tests_before: int) -> int:
    """The work a search has taken; `tests_before` were made when it began."""
    return search.states + (search.tests.tests_made - tests_before) // TESTS_OF_A_STATE


class LayerSearch:
    """One pass over a part, with at most `width` states for each number of strokes.

    Only orders with a change of tools are looked for when `owed_s` has its seconds.
    """

    def __init__(
        self,
        search: Search,
        width: int,
        most_work: int | None = None,
        owed_s: float = 0.0,
        memory: Memory | None = None,
    ) -> None:
        self.search = search
        self.width = width
        self.most_work = most_work
        self.owed_s = owed_s
        self.memory = memory or Memory()
        self._tests_before = search.tests.tests_made
        self.strokes = search.tests.making.strokes
        self.dropped_s = math.inf
        self._dead: list[int] = []
        self._stopped = False

    def run(self) -> Layered:
        """The cheapest order among the states kept."""
        if not self.strokes:
            return Layered((), 0.0, 0.0)
        layers: list[_States] = [_finished((1 << len(self.strokes)) - 1)]
        for _ in self.strokes:
            following = self._layer(layers[-1])
            if self._stopped:
                return Layered(None, math.inf, self.search.bound.whole_s(), self._dead_sets())
            if following is None:
                return Layered(None, math.inf, self.dropped_s, self._dead_sets())
            layers.append(following)
        order = []
        at = int(layers[-1].seconds.argmin())
        for layer in reversed(layers[1:]):
            order.append(layer.placed[at])
            at = layer.after[at]
        seconds = order_cost(order, self.search.costs).seconds
        return Layered(tuple(order), seconds, min(self.dropped_s, seconds), self._dead_sets())

    def _layer(self, layer: _States) -> _States | None:
        """The states of one stroke fewer, None when there are none."""
        of_set: list[int] = []
        ways: list[Way] = []
        self._look_at([done for done in layer.sets if done not in self.memory.ways])
        for number, done in enumerate(layer.sets):
            some = self.memory.ways[done]
            ways += some
            of_set += [number] * len(some)
        if not ways:
            self._dead += layer.sets
            return None
        every = [way.placed.pose for way in ways]
        poses = _Poses(
            np.array([pose.side for pose in every]),
            np.array([pose.direction for pose in every]),
            np.array([pose.x_mm for pose in every]),
            np.array([way.tools for way in ways]),
            np.full(len(ways), -1),
        )
        seconds, after = self._least(layer, np.array(of_set), poses)
        seconds += np.array([way.stroke_s for way in ways])
        return self._kept(layer, ways, of_set, poses, seconds, after)

    def _look_at(self, sets: list[int]) -> None:
        """Every stroke that may be the last of each set, by contact and support."""
        search, tests, ways = self.search, self.search.tests, self.memory.ways
        for done in sets:
            ways[done] = []
        asks = []
        for stroke in self.strokes:
            index = stroke.index
            some = [at for at, done in enumerate(sets) if search.may_be_last(stroke, done)]
            for rear in search.rears[index]:
                later = search.by_rear[index][rear] if search.by_rear else 0
                asks.append(Ask(index, rear, [at for at in some if not sets[at] & later]))
        for ask, offers in zip(asks, tests.offers(sets, asks, search.punches), strict=True):
            self._keep_ways(sets, ask, offers)

    def _keep_ways(self, sets: list[int], ask: Ask, offers: Sequence[Offer | None]) -> None:
        """The ways of what one stroke with one half behind is offered."""
        search, ways = self.search, self.memory.ways
        index, rear, stroke = ask.stroke, ask.rear, self.strokes[ask.stroke]
        side, direction = 0 if stroke.sign > 0 else 1, search.tests.directions[index][rear]
        for place, offer in zip(ask.places, offers, strict=True):
            if offer is None:
                continue
            contact, punches = offer
            done = sets[place]
            rest = done & ~(1 << index)
            for punch in punches:
                tools = f"{punch.name} / {stroke.die.name}"
                number = self.memory.tools.setdefault(tools, len(self.memory.tools))
                pose = Pose(side, direction, contact.x_mm, tools, -1)
                before_s = search.bound.before_s(rest, index, rear, pose)
                placed = PlacedStroke(index, rear, punch, contact, pose)
                stroke_s = search.costs.stroke_s(contact)
                ways[done].append(Way(rest, placed, number, stroke_s, before_s))

    def _least(self, layer: _States, of_set: Ints, poses: _Poses) -> tuple[Floats, Ints]:
        """Least seconds after each way to the end, at the station it suits best, and what follows.

        Also fills in that station.
        """
        count = len(of_set)
        seconds, after = np.zeros(count), np.full(count, -1)
        if not len(layer.seconds):
            return seconds, after
        counts = (layer.first[1:] - layer.first[:-1])[of_set]
        ends = np.cumsum(counts)
        start = 0
        while start < count:
            offset = int(ends[start] - counts[start])
            stop = max(start + 1, int(np.searchsorted(ends, offset + MOST_PAIRS, side="right")))
            some, many = np.arange(start, stop), counts[start:stop]
            begins = ends[start:stop] - many - offset
            way = np.repeat(some, many)
            state = np.arange(len(way)) + np.repeat(layer.first[of_set[start:stop]] - begins, many)
            pair_s = layer.seconds[state] + self._moves(poses, way, layer.poses, state)
            least = np.minimum.reduceat(pair_s, begins)
            seconds[start:stop] = least
            best = np.flatnonzero(pair_s <= np.repeat(least, many))[::-1]
            after[way[best]] = state[best]  # the first of equal ones is written last
            start = stop
        same_tools = layer.poses.tools[after] == poses.tools
        poses.station = np.where(same_tools, layer.poses.station[after], -1)
        return seconds, after

    def _moves(self, before: _Poses, way: Ints, after: _Poses, state: Ints) -> Floats:
        """Seconds from ways to states of the layer, without those of another station."""
        costs = self.search.costs
        handling = costs.handling
        step_mm = np.abs(after.x_mm[state] - before.x_mm[way])
        seconds = np.where(
            step_mm > 0.0, handling.gauge_move_s + step_mm / handling.gauge_speed_mm_per_s, 0.0
        )
        seconds += (after.side[state] != before.side[way]) * costs.over_s
        seconds += (after.direction[state] != before.direction[way]) * costs.turn_s
        seconds += (after.tools[state] != before.tools[way]) * handling.change_tools_s
        return seconds

    def _kept(
        self,
        layer: _States,
        ways: list[Way],
        of_set: list[int],
        poses: _Poses,
        seconds: Floats,
        after: Ints,
    ) -> _States | None:
        """The most promising ways that nothing blocks and none of the same set outdoes."""
        search = self.search
        changed = self._changed(layer, poses, after)
        found: dict[int, list[_Kept]] = {}
        room, kept = self._room(), 0
        leaving = set()
        for estimate_s, number in self._promising(ways, seconds, changed):
            if kept >= room:
                self.dropped_s = min(self.dropped_s, estimate_s)
                break
            search.states += 1
            if search.states % ASK_EVERY == 0:
                room = self._room()
                if self._told_to_stop(estimate_s):
                    return None
            way, least_s = ways[number], float(seconds[number])
            known = found.setdefault(way.rest, [])
            placed = way.at_station(int(poses.station[number]))
            if self._outdone(known, least_s, placed.pose):
                leaving.add(of_set[number])
                continue
            if not self._tested(way):
                self.memory.ways[layer.sets[of_set[number]]].remove(way)
                continue
            leaving.add(of_set[number])
            for station in way.stations:
                if station != placed.pose.station:
                    placed = way.at_station(station)
                one = _Kept(least_s, placed, int(after[number]), bool(changed[number]))
                if not _suits(layer, one):
                    self._reckon(layer, of_set[number], one)
                known.append(one)
                kept += 1
        self._dead += [done for number, done in enumerate(layer.sets) if number not in leaving]
        return self._in_columns(found) if kept else None

    def _tested(self, way: Way) -> bool:
        """Whether nothing blocks a way; its stations are known then."""
        if not way.stations:
            one, tests = way.placed, self.search.tests
            if tests.possible(way.rest, one.stroke, one.rear, one.punch):
                way.stations = tests.stations(way.rest, one.stroke, one.rear, one.punch)
        return bool(way.stations)

    def _changed(self, layer: _States, poses: _Poses, after: Ints) -> NDArray[np.bool_]:
        """Whether tools are changed between each way and the end."""
        if not len(layer.seconds):
            return np.zeros(len(after), dtype=bool)
        changed: NDArray[np.bool_] = layer.changed[after] | (
            layer.poses.tools[after] != poses.tools
        )
        return changed

    def _promising(
        self, ways: list[Way], seconds: Floats, changed: NDArray[np.bool_]
    ) -> list[tuple[float, int]]:
        """Estimates of the ways that may lead to a better order, the least first."""
        before_s = np.array([way.before_s for way in ways]) + np.where(changed, 0.0, self.owed_s)
        estimates = np.round(seconds + before_s, 7)
        order = np.argsort(estimates, kind="stable")
        few = int(np.searchsorted(estimates[order], self.search.better_than_s - TIE_S))
        return list(zip(estimates[order[:few]].tolist(), order[:few].tolist(), strict=True))

    def _outdone(self, known: list["_Kept"], seconds: float, pose: Pose) -> bool:
        """Whether a state kept of the same set is at least as good, whatever comes earlier."""
        costs = self.search.costs
        return any(
            one.seconds <= seconds + SAME_S
            and one.seconds + costs.move_s(pose, one.placed.pose) <= seconds + SAME_S
            for one in known
        )

    def _reckon(self, layer: _States, of_set: int, one: "_Kept") -> None:
        """Least seconds from a state whose station is known to the end."""
        costs = self.search.costs
        first, stop = layer.first[of_set : of_set + 2].tolist()
        ways = [
            (float(layer.seconds[at]) + costs.move_s(one.placed.pose, layer.placed[at].pose), at)
            for at in range(first, stop)
        ]
        seconds, at = min(ways)
        one.seconds, one.after = seconds + costs.stroke_s(one.placed.contact), at
        one.changed = (
            bool(layer.changed[at]) or layer.placed[at].pose.tools != one.placed.pose.tools
        )

    def _in_columns(self, found: dict[int, list["_Kept"]]) -> _States:
        sets = [rest for rest, kept in found.items() if kept]
        every = [one for rest in sets for one in found[rest]]
        counts = [len(found[rest]) for rest in sets]
        poses = [one.placed.pose for one in every]
        return _States(
            sets,
            np.cumsum([0, *counts]),
            np.array([one.seconds for one in every]),
            _Poses(
                np.array([pose.side for pose in poses]),
                np.array([pose.direction for pose in poses]),
                np.array([pose.x_mm for pose in poses]),
                np.array([self.memory.tools[pose.tools] for pose in poses]),
                np.array([pose.station for pose in poses]),
            ),
            np.array([one.changed for one in every]),
            [one.placed for one in every],
            [one.after for one in every],
        )

    def _room(self) -> int:
        """How many states a layer may have, by the work left."""
        work = layer_work(self.search, self._tests_before)
        left = self.most_work is None or work < self.most_work
        return self.width if left else min(self.width, NARROW)

    def _told_to_stop(self, estimate_s: float) -> bool:
        search = self.search
        progress = Progress(search.states, search.tests.tests_made, estimate_s, search.best_s())
        self._stopped = not search.keep_going(progress)
        return self._stopped

    def _dead_sets(self) -> tuple[int, ...]:
        order = sorted(self._dead, key=lambda done: (done.bit_count(), done))
        return tuple(order[:MOST_DEAD_SETS])


@dataclass(slots=True)
class _Kept:
    """One state kept, and its place among those after it."""

    seconds: float
    placed: PlacedStroke
    after: int
    changed: bool


def _finished(full: int) -> _States:
    """The finished part: nothing comes after it."""
    none, zero = np.empty(0), np.empty(0, dtype=np.int_)
    poses = _Poses(zero, zero, none, zero, zero)
    return _States([full], np.array([0, 0]), none, poses, zero.astype(bool), [], [])


def _suits(layer: _States, one: _Kept) -> bool:
    """Whether the seconds reckoned for any station hold for the state's own."""
    if one.after < 0:
        return True
    following, pose = layer.placed[one.after].pose, one.placed.pose
    return following.tools != pose.tools or following.station == pose.station
