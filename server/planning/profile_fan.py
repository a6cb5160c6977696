"""The legs of a profile outward of a bend line, folded for many sets of strokes at once, in arrays.

What lies outward of a bend line is the same rigid chain of legs whichever stroke it lies beside. So
the chain is folded once for each set, and for each stroke only turned into that stroke's frame.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from server.geometry.profile import Profile
from server.planning.making import Making
from server.planning.profile_half import CLOSED_HEM_DEG, UPRIGHT_COS, Half, centre_height

Floats = NDArray[np.float64]
Ints = NDArray[np.int_]
Bools = NDArray[np.bool_]

ALMOST_MM = 0.01
"""Far more than places of a part of some metres are off by in numbers of half the length."""
NEARLY_MM = 0.5
"""More than X is rounded by."""
CLOSED_HEM_RAD = np.radians(CLOSED_HEM_DEG) - 1e-6


@dataclass(frozen=True, slots=True)
class Places:
    """Where the legs outward of strokes are: one row for each stroke and leg, a column for each set.

    A leg's lower face runs from `near` to `far`, its upper one `thick` away; `high_x_mm` is its
    greatest x; its arc, from `arc` on, lies within `around`. `box` (4, rows, sets) encloses its arc
    too. `flat_mm` has one row for each stroke; `closed` are the legs of closed hems.
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
