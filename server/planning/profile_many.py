"""Many sets of strokes of a profile at once: which halves clear the tools, by boxes first.

What lies outward of a bend line is the same rigid chain of legs whichever stroke it lies beside. So
the chain is folded once for each set, and for each stroke only turned into that stroke's frame, all
of it in arrays. A leg whose box, a little enlarged, lies apart from all a tool passes through clears
it; of the few others each is asked by itself and only once, as what it meets depends on nothing
outward of it. The answers are those of one half after another.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from server.geometry.profile import Profile
from server.mechanics.tooling import Punch
from server.planning.making import Making
from server.planning.profile_half import CLOSED_HEM_DEG, UPRIGHT_COS, Half, centre_height

Floats = NDArray[np.float64]
Ints = NDArray[np.int_]
Bools = NDArray[np.bool_]
Box = tuple[float, float, float, float]

AT_ONCE = 512
"""Sets whose places fit the processor's cache."""
ALMOST_MM = 0.01
"""Far more than places of a part of some metres are off by in numbers of half the length."""
NEARLY_MM = 0.5
"""More than X is rounded by."""
CLOSED_HEM_RAD = np.radians(CLOSED_HEM_DEG) - 1e-6
NO_BOX: Box = (np.inf, np.inf, -np.inf, -np.inf)


@dataclass(frozen=True, slots=True)
class Places:
    """Where the legs outward of strokes are: one row for each stroke and leg, a column for each set.

    A leg's lower face runs from `near` to `far`, its upper one `thick` away; `high_x_mm` is its
    greatest x; its arc, from `arc` on, lies within `around`. `box` (4, rows, sets) encloses its arc too. `flat_mm` has one row for each
    stroke; `closed` are the legs of closed hems.
    """

    near_x_mm: Floats
    near_y_mm: Floats
    far_x_mm: Floats
    far_y_mm: Floats
    thick_x_mm: Floats
    thick_y_mm: Floats
    arc_x_mm: Floats
    arc_y_mm: Floats
    around_mm: Floats
    high_x_mm: Floats
    box: tuple[Floats, Floats, Floats, Floats]
    upright: Bools
    closed: Bools | None
    straight: Bools
    flat_mm: Floats

    def near(self, rows: Ints, columns: Ints, boxes: Floats) -> Bools:
        """Which of some legs are not far from the boxes (one for each)."""
        low_x, low_y, high_x, high_y = boxes.T
        near: Bools = (
            (self.box[0][rows, columns] < high_x + ALMOST_MM)
            & (self.box[2][rows, columns] > low_x - ALMOST_MM)
            & (self.box[1][rows, columns] < high_y + ALMOST_MM)
            & (self.box[3][rows, columns] > low_y - ALMOST_MM)
        )
        return near

    def farthest(self, rows: Ints, columns: Ints, low_mm: float, high_mm: float) -> Floats:
        """Greatest x between two heights of the long sides of some legs, at most a little less."""
        x, y = self.near_x_mm[rows, columns], self.near_y_mm[rows, columns]
        end_x, end_y = self.far_x_mm[rows, columns], self.far_y_mm[rows, columns]
        up_x, up_y = self.thick_x_mm[rows, columns], self.thick_y_mm[rows, columns]
        lower = _farthest_x(x, y, end_x, end_y, low_mm, high_mm)
        upper = _farthest_x(x + up_x, y + up_y, end_x + up_x, end_y + up_y, low_mm, high_mm)
        return np.maximum(lower, upper)


@dataclass(frozen=True, slots=True)
class Touch:
    """Between which heights the finger is, and the least and greatest X of a stroke."""

    window_mm: tuple[float, float]
    x_mm: Callable[[int], tuple[float, float]]


class Fan:
    """The halves on one side of all strokes made with the same face up, as one chain of legs.

    Rows run through the strokes, and for each through its legs outward of the first; `row_stroke`,
    `row_depth` and `row_mask` tell which, how far outward, and the strokes (bits) it depends on.
    """

    def __init__(self, making: Making, halves: Mapping[int, Half], outward: int) -> None:
        sheet = making.sheet
        assert isinstance(sheet, Profile)
        self.strokes = list(halves)
        self.halves = halves
        self.outward = outward
        self.thickness_mm = sheet.thickness_mm
        sign = next(iter(halves.values())).sign
        count = len(sheet.bends)
        zones = range(count) if outward > 0 else range(count - 1, -1, -1)
        most = max(map(len, making.zone_states))
        table = np.zeros((6, count, most + 1))
        for place, zone in enumerate(zones):
            allowance_mm = sheet.bends[zone].allowance_mm
            straight_mm = sheet.straights_mm[zone + 1 if outward > 0 else zone]
            table[0, place, 0] = max(0.0, allowance_mm + straight_mm)
            for number, (_, state) in enumerate(making.zone_states[zone], 1):
                turn = np.radians(state.angle_deg) * sign
                spare_mm = (allowance_mm - state.arc_mm) / 2
                arm_mm = centre_height(state, sign, sheet.thickness_mm)
                table[:, place, number] = (
                    max(0.0, spare_mm + straight_mm),
                    turn,
                    spare_mm,
                    spare_mm + arm_mm * np.sin(turn),
                    arm_mm * (1.0 - np.cos(turn)),
                    1.5 * (state.inside_radius_mm + sheet.thickness_mm) + sheet.thickness_mm,
                )
        self._table = table
        self._hems = bool((np.abs(table[1]) >= CLOSED_HEM_RAD).any())
        self._flat_mm = np.cumsum(table[0, :, 0])
        own = [halves[stroke].own for stroke in self.strokes]
        base = [zone if outward > 0 else count - 1 - zone for zone in own]
        self._base = np.array(base)
        self._base_end_mm = np.array(
            [
                sheet.bends[zone].allowance_mm / 2
                + max(0.0, sheet.straights_mm[halves[stroke].legs[0]])
                for stroke, zone in zip(self.strokes, own, strict=True)
            ]
        )
        self._across_mm = np.array([half.across_mm for half in halves.values()])
        self._base_across_mm = np.array(
            [half.inner_node(0, 0).least_across_mm for half in halves.values()]
        )
        self._cos = np.array([half.cos for half in halves.values()])
        self._sin = np.array([half.sin for half in halves.values()])
        self._legs = np.array([len(halves[stroke].zones) for stroke in self.strokes])
        self._first = np.cumsum(self._legs) - self._legs
        rows = [
            (number, stroke, depth)
            for number, stroke in enumerate(self.strokes)
            for depth in range(1, len(halves[stroke].zones) + 1)
        ]
        self.row_number = np.array([number for number, _, _ in rows], dtype=np.int_)
        self.row_stroke = [stroke for _, stroke, _ in rows]
        self.row_depth = [depth for _, _, depth in rows]
        self.row_mask = [halves[stroke].bits[depth] for _, stroke, depth in rows]
        self._row_base = self._base[self.row_number]
        self._row_leg = self._row_base + np.array(self.row_depth, dtype=np.int_)

    def places(self, folded: Ints) -> Places:
        """Where everything is; `folded` has the number of each zone's state (zones, sets), 0 flat."""
        if self.outward < 0:
            folded = folded[::-1]
        count, sets = folded.shape
        length, turn, spare, along, up, around = self._table[:, np.arange(count)[:, None], folded]
        heading = np.cumsum(turn, axis=0)
        cos, sin = np.cos(heading), np.sin(heading)
        cos_in = np.concatenate((np.ones((1, sets)), cos[:-1]))
        sin_in = np.concatenate((np.zeros((1, sets)), sin[:-1]))
        x = np.cumsum(along * cos_in - up * sin_in + length * cos, axis=0)
        y = np.cumsum(along * sin_in + up * cos_in + length * sin, axis=0)
        arc_x = np.concatenate((np.zeros((1, sets)), x[:-1])) + spare * cos_in
        arc_y = np.concatenate((np.zeros((1, sets)), y[:-1])) + spare * sin_in

        base, leg, flat_mm = self._row_base, self._row_leg, self._flat(folded > 0, spare)
        x, y, cos, sin, arc_x, arc_y, length, around = (
            one.astype(np.float32) for one in (x, y, cos, sin, arc_x, arc_y, length, around)
        )
        base_cos, base_sin, base_x, base_y = cos[base], sin[base], x[base], y[base]
        end_mm = self._base_end_mm[self.row_number][:, None].astype(np.float32)
        leg_cos = cos[leg] * base_cos + sin[leg] * base_sin
        leg_sin = sin[leg] * base_cos - cos[leg] * base_sin
        step_x, step_y = x[leg] - base_x, y[leg] - base_y
        far_x = step_x * base_cos + step_y * base_sin + end_mm
        far_y = step_y * base_cos - step_x * base_sin
        step_x, step_y = arc_x[leg] - base_x, arc_y[leg] - base_y
        from_x = step_x * base_cos + step_y * base_sin + end_mm
        from_y = step_y * base_cos - step_x * base_sin
        long, spread = length[leg], around[leg]
        near_x, near_y = far_x - long * leg_cos, far_y - long * leg_sin
        thick_x, thick_y = (
            np.float32(-self.thickness_mm) * leg_sin,
            np.float32(self.thickness_mm) * leg_cos,
        )
        bent = folded > 0
        bends = np.cumsum(bent, axis=0)
        low_x, high_x = _span(far_x, near_x, thick_x)
        low_y, high_y = _span(far_y, near_y, thick_y)
        return Places(
            near_x,
            near_y,
            far_x,
            far_y,
            thick_x,
            thick_y,
            from_x,
            from_y,
            spread,
            high_x,
            (
                np.minimum(low_x, from_x) - spread,
                np.minimum(low_y, from_y) - spread,
                np.maximum(high_x, from_x) + spread,
                np.maximum(high_y, from_y) + spread,
            ),
            np.abs(leg_cos) <= UPRIGHT_COS + 1e-4,
            np.abs(turn[leg]) >= CLOSED_HEM_RAD if self._hems else None,
            bends[leg] == bends[base],
            flat_mm,
        )

    def across(self, places: Places, numbers: Ints, columns: Ints) -> Floats:
        """How far at least some halves stay off the plane of the punch after the stroke."""
        rows, each, begins = self.legs_of(numbers, columns)
        cos, sin = self._cos[self.row_number[rows]], self._sin[self.row_number[rows]]
        near = places.near_x_mm[rows, each] * cos - places.near_y_mm[rows, each] * sin
        far = places.far_x_mm[rows, each] * cos - places.far_y_mm[rows, each] * sin
        thick = places.thick_x_mm[rows, each] * cos - places.thick_y_mm[rows, each] * sin
        arc = places.arc_x_mm[rows, each] * cos - places.arc_y_mm[rows, each] * sin
        corners = np.minimum(near, far) + np.minimum(thick, 0.0)
        legs = np.minimum(corners, arc) - places.around_mm[rows, each]
        found = self._base_across_mm[numbers]
        some = self._legs[numbers] > 0
        if some.any():
            least = np.minimum.reduceat(legs, begins[some]) + self._across_mm[numbers[some]]
            found[some] = np.minimum(found[some], least)
        return found

    def legs_of(self, numbers: Ints, columns: Ints) -> tuple[Ints, Ints, Ints]:
        """Rows and columns of all legs of some strokes in some sets, and where each one's begin."""
        many = self._legs[numbers]
        begins = np.cumsum(many) - many
        inner = np.arange(int(many.sum())) - np.repeat(begins, many)
        return np.repeat(self._first[numbers], many) + inner, np.repeat(columns, many), begins

    def may_touch(self, places: Places, asked: Bools, touch: Touch) -> Bools:
        """Where the gauge may be touched by what it may touch; False is certain (strokes, sets).

        It touches what lies farthest between the heights of the finger, which has to be the free edge,
        the fold of a closed hem or a leg that stands upright.
        """
        may = asked.copy()
        low_mm, high_mm = touch.window_mm
        some = np.flatnonzero((self._legs > 0) & asked.any(axis=1))
        for number in some.tolist():
            first = int(self._first[number])
            legs = slice(first, first + int(self._legs[number]))
            low_y, high_y = places.box[1][legs], places.box[3][legs]
            within = (low_y <= high_mm + ALMOST_MM) & (high_y >= low_mm - ALMOST_MM)
            stands = places.upright[legs] & within
            reach = np.where(stands, places.high_x_mm[legs], -np.inf).max(axis=0)
            if places.closed is not None:
                reach[places.closed[legs].any(axis=0)] = np.inf
            last = legs.stop - 1
            edge_y, thick_y = places.far_y_mm[last], places.thick_y_mm[last]
            in_window = (edge_y + np.minimum(thick_y, 0.0) <= high_mm + ALMOST_MM) & (
                edge_y + np.maximum(thick_y, 0.0) >= low_mm - ALMOST_MM
            )
            edge_x = places.far_x_mm[last] + np.maximum(places.thick_x_mm[last], 0.0)
            reach = np.maximum(reach, np.where(in_window, edge_x, -np.inf))
            least_mm, most_mm = touch.x_mm(self.strokes[number])
            may[number] &= reach >= least_mm - NEARLY_MM
            columns = np.flatnonzero(may[number])
            if not len(columns):
                continue
            rows, each, begins = self.legs_of(np.full(len(columns), number), columns)
            x_mm = places.farthest(rows, each, low_mm + ALMOST_MM, high_mm - ALMOST_MM)
            least = np.maximum.reduceat(x_mm, begins)
            may[number, columns] = (least <= reach[columns] + NEARLY_MM) & (
                least <= most_mm + NEARLY_MM
            )
        return may

    def _flat(self, bent: Bools, spare_mm: Floats) -> Floats:
        """How far the sheet lies flat outward of each stroke's bend line."""
        count, sets = bent.shape
        first = np.full((count + 1, sets), count)
        first[:count] = np.where(bent, np.arange(count)[:, None], count)
        first = np.minimum.accumulate(first[::-1], axis=0)[::-1][self._base + 1]
        padded = np.concatenate((spare_mm, np.zeros((1, sets))))
        flat: Floats = (
            (self._base_end_mm - self._flat_mm[self._base])[:, None]
            + self._flat_mm[first - 1]
            + np.take_along_axis(padded, first, axis=0)
        )
        return flat


def _span(far: Floats, near: Floats, thick: Floats) -> tuple[Floats, Floats]:
    """Least and greatest of the four corners of legs."""
    return (
        np.minimum(far, near) + np.minimum(thick, 0.0),
        np.maximum(far, near) + np.maximum(thick, 0.0),
    )


def _farthest_x(
    x: Floats, y: Floats, end_x: Floats, end_y: Floats, low_mm: float, high_mm: float
) -> Floats:
    """Greatest x of lines between two heights, minus infinity when outside."""
    rise = end_y - y
    rise = np.where(np.abs(rise) < 1e-9, 1e-9, rise)
    one, other = (low_mm - y) / rise, (high_mm - y) / rise
    begin = np.maximum(np.minimum(one, other), 0.0)
    end = np.minimum(np.maximum(one, other), 1.0)
    farthest = x + (end_x - x) * np.where(end_x > x, end, begin)
    return np.where(begin <= end, farthest, -np.inf)


def folded_states(making: Making, sets: Ints) -> Ints:
    """The number of each zone's state in each set of strokes (zones, sets), 0 while it is flat."""
    folded = np.zeros((len(making.zone_states), len(sets)), dtype=np.int_)
    for zone, states in enumerate(making.zone_states):
        for number, (stroke, _) in enumerate(states, 1):
            folded[zone][sets >> stroke & 1 == 1] = number
    return folded


ClearAlone = Callable[[Half, int, int, int, Punch, bool], bool]
"""Whether one leg of a half clears a punch and the die: half, stroke, done, depth, punch, front."""
Boxes = Callable[[Half, int, Punch, bool], tuple[Box, Box]]
"""All that the upper and the lower tools pass through, as a half sees them."""
Rests = Callable[[Half, int, int], bool]
"""Whether a half rests on its shoulder: half, stroke, done."""


class ManyHalves:
    """What many sets of strokes leave possible, for all strokes at once."""

    def __init__(
        self,
        making: Making,
        halves: Sequence[tuple[Half, Half]],
        boxes: Boxes,
        clear_alone: ClearAlone,
        rests: Rests,
        touch: Touch,
    ) -> None:
        self.making = making
        self.halves = halves
        self._boxes_of = boxes
        self._clear_alone = clear_alone
        self._rests = rests
        self._touch = touch
        self.strokes = frozenset(
            stroke.index
            for stroke in making.strokes
            if stroke.still is None
            and not any(making.mates[half.own] for half in halves[stroke.index])
        )
        self._fans: list[tuple[int, Fan]] = []
        for which, outward in enumerate((-1, 1)):
            for sign in (-1, 1):
                some = {
                    stroke.index: halves[stroke.index][which]
                    for stroke in making.strokes
                    if stroke.sign == sign and stroke.index in self.strokes
                }
                if some:
                    self._fans.append((which, Fan(making, some, outward)))
        self._boxes: dict[tuple[int, bool, tuple[str, ...]], tuple[Floats, Floats]] = {}
        self._known: dict[tuple[int, bool, str], list[dict[int, bool]]] = {}

    def possible(
        self,
        sets: Sequence[int],
        asked: tuple[Bools, Bools],
        punches: Sequence[Sequence[Punch]],
    ) -> tuple[tuple[Ints, Ints], Bools]:
        """For each half behind, the punches (bits) with which both halves rest and clear.

        One row for each stroke, a column for each set; only where `asked` holds. And where both halves
        stay apart for certain.
        """
        answers = tuple(np.zeros(ask.shape, dtype=np.int_) for ask in asked)
        apart = np.zeros(asked[0].shape, dtype=bool)
        for start in range(0, len(sets), AT_ONCE):
            some = slice(start, start + AT_ONCE)
            found, apart[:, some] = self._possible(
                sets[some], (asked[0][:, some], asked[1][:, some]), punches
            )
            answers[0][:, some], answers[1][:, some] = found
        return (answers[0], answers[1]), apart

    def _possible(
        self,
        sets: Sequence[int],
        asked: tuple[Bools, Bools],
        punches: Sequence[Sequence[Punch]],
    ) -> tuple[tuple[Ints, Ints], Bools]:
        done = np.array(sets, dtype=np.int_)
        folded = folded_states(self.making, done)
        found = [(which, fan, fan.places(folded)) for which, fan in self._fans]
        rests = np.ones_like(asked[0])
        for _, fan, places in found:
            rests[fan.strokes] &= self._rest(fan, places.flat_mm, sets)
        every = np.array([(1 << len(some)) - 1 for some in punches])[:, None]
        answers = tuple(np.where(ask & rests, every, 0) for ask in asked)
        for which, fan, places in found:
            open_sets = answers[which][fan.strokes]
            may = fan.may_touch(places, open_sets > 0, self._touch)
            answers[which][fan.strokes] = np.where(may, open_sets, 0)
        for front in (False, True):
            for number, (which, fan, places) in enumerate(found):
                answer = answers[1 - which if front else which]
                self._clear(number, fan, places, sets, answer, punches, front)
        return (answers[0], answers[1]), self._apart(found, (answers[0] | answers[1]) > 0)

    def _apart(self, found: Sequence[tuple[int, Fan, Places]], open_sets: Bools) -> Bools:
        """Where the halves stay apart after the stroke, as far as this tells."""
        across = np.zeros(open_sets.shape)
        for _, fan, places in found:
            numbers, columns = np.nonzero(open_sets[fan.strokes])
            if len(numbers):
                strokes = np.array(fan.strokes)[numbers]
                across[strokes, columns] += fan.across(places, numbers, columns)
        return across >= ALMOST_MM

    def _rest(self, fan: Fan, flat_mm: Floats, sets: Sequence[int]) -> Bools:
        strokes = self.making.strokes
        over_mm = flat_mm - np.array([strokes[one].least_flat_mm for one in fan.strokes])[:, None]
        rests: Bools = over_mm >= 0.0
        for row, column in np.argwhere(np.abs(over_mm) < ALMOST_MM).tolist():
            stroke = fan.strokes[row]
            rests[row, column] = self._rests(fan.halves[stroke], stroke, sets[column])
        return rests

    def _clear(
        self,
        number: int,
        fan: Fan,
        places: Places,
        sets: Sequence[int],
        answer: Ints,
        punches: Sequence[Sequence[Punch]],
        front: bool,
    ) -> None:
        """Take from the answer the punches that a fan's halves do not clear."""
        for at in range(max(len(punches[stroke]) for stroke in fan.strokes)):
            bit = 1 << at
            some = [answer[stroke] & bit > 0 for stroke in fan.strokes]
            for stroke, open_sets in zip(fan.strokes, some, strict=True):
                if open_sets.any() and not self._clear_alone(
                    fan.halves[stroke], stroke, 0, 0, punches[stroke][at], front
                ):
                    open_sets[:] = False
                    answer[stroke] &= ~bit
            which, sets_open = np.nonzero(np.array(some))
            rows, columns, _ = fan.legs_of(which, sets_open)
            above, below = self._row_boxes(number, fan, at, punches, front)
            near = places.near(rows, columns, above[rows]) | (
                places.near(rows, columns, below[rows]) & ~places.straight[rows, columns]
            )
            rows, columns = rows[near], columns[near]
            inner_first = np.argsort(rows, kind="stable")
            rows, columns = rows[inner_first], columns[inner_first]
            if len(rows):
                self._ask_each(number, fan, rows, columns, sets, answer, punches, at, front)

    def _ask_each(
        self,
        number: int,
        fan: Fan,
        rows: Ints,
        columns: Ints,
        sets: Sequence[int],
        answer: Ints,
        punches: Sequence[Sequence[Punch]],
        at: int,
        front: bool,
    ) -> None:
        """The legs that boxes do not tell apart, inner first; outward of a blocked one none."""
        bounds = [0, *(np.flatnonzero(np.diff(rows)) + 1).tolist(), len(rows)]
        keep = ~(1 << at)
        last, blocked = -1, set[int]()
        for first, stop in pairwise(bounds):
            row = int(rows[first])
            stroke, depth, mask = fan.row_stroke[row], fan.row_depth[row], fan.row_mask[row]
            if stroke != last:
                last, blocked = stroke, set()
            half, punch = fan.halves[stroke], punches[stroke][at]
            known = self._known_of(number, fan, front, punch)[row]
            for column in columns[first:stop].tolist():
                if column in blocked:
                    continue
                state = sets[column] & mask
                clear = known.get(state)
                if clear is None:
                    clear = self._clear_alone(half, stroke, state, depth, punch, front)
                    known[state] = clear
                if not clear:
                    blocked.add(column)
                    answer[stroke, column] &= keep

    def _known_of(self, number: int, fan: Fan, front: bool, punch: Punch) -> list[dict[int, bool]]:
        key = (number, front, punch.name)
        if key not in self._known:
            self._known[key] = [{} for _ in fan.row_stroke]
        return self._known[key]

    def _row_boxes(
        self, number: int, fan: Fan, at: int, punches: Sequence[Sequence[Punch]], front: bool
    ) -> tuple[Floats, Floats]:
        """The boxes of upper and lower tools for each row, nothing for a stroke without a punch."""
        names = tuple(
            punches[stroke][at].name if at < len(punches[stroke]) else "" for stroke in fan.strokes
        )
        key = (number, front, names)
        if key not in self._boxes:
            both = [
                self._boxes_of(fan.halves[stroke], stroke, punches[stroke][at], front)
                if name
                else (NO_BOX, NO_BOX)
                for stroke, name in zip(fan.strokes, names, strict=True)
            ]
            every = np.array(both)[fan.row_number]
            self._boxes[key] = (every[:, 0], every[:, 1])
        return self._boxes[key]
