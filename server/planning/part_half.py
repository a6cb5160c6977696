"""One half of a flat part beside a stroke's bend line, in any folded state.

In the half's frame the bend line is at x = 0, x runs outward, the sheet lies from y = 0 to t, and z
runs along the line from the start of the stroke's first bend. The half is made of elements: faces,
and the zones between them. Where an element lies depends only on the strokes between it and the
line, so its solids and what they meet are kept by those.
"""

import math
from collections.abc import Iterator

import numpy as np

from server.geometry.clearance import Swing
from server.geometry.folding import Motion
from server.geometry.outline import Point
from server.geometry.part import BendLine, FlatPart, bend_tree
from server.geometry.solid import Solid, Span
from server.geometry.thick_part import ThickPart
from server.geometry.zoned_part import lines_toward
from server.planning.bend_way import ZoneState
from server.planning.gauging import PARALLEL_DEG
from server.planning.half_support import SAME_PLACE, HalfSupport, far_face
from server.planning.making import Making
from server.planning.placed_element import Element, PlacedBlock, PlacedElement
from server.planning.profile_half import CLOSED_HEM_DEG, state_after
from server.planning.stroke import Stroke
from server.planning.zone_pose import beyond, poses_after, rolled_zone

ALONG_COS = math.cos(math.radians(PARALLEL_DEG))
MOST_STATES_AT_ONCE = 64
"""All states of an element are made together when they are not more than this."""


class PartHalf:
    """All folded states of one half."""

    def __init__(self, making: Making, thick: ThickPart, stroke: Stroke, which: int) -> None:
        part = making.sheet
        assert isinstance(part, FlatPart)
        self.making = making
        self.part = part
        self.thick = thick
        self.stroke = stroke
        self.which = which
        self.own = lines_toward(part, stroke.zones, which)
        lead = part.bends[self.own[0]]
        self.lead = lead
        across = part.across[self.own[0]]
        self.outward: Point = across if which == 1 else (-across[0], -across[1])
        self.root = lead.faces[which]
        self.origin = _beside(lead, part.bends[stroke.zones[0]].line_mm[0])
        self.frame = _frame(self.origin, lead, self.outward, stroke.sign, part.thickness_mm)
        from_line_mm = 0.0 if stroke.still is None else stroke.still.from_line_mm
        self.least_flat_mm = max(0.0, stroke.least_flat_mm - from_line_mm)
        self._strokes_of_bend = {
            bend: sum(1 << one for one, _ in states)
            for bend, states in enumerate(making.zone_states)
        }
        self._walk()
        self.spans = tuple(self._span(part.bends[zone]) for zone in self.own)
        self.mask = 0
        for element in self.elements:
            self.mask |= element.mask
        self._poses: dict[tuple[int, int], Motion] = {}
        self._placed: list[dict[int, PlacedElement]] = [{} for _ in self.elements]
        self._together: dict[int, tuple[PlacedElement, ...]] = {}
        self._number = {element: number for number, element in enumerate(self.elements)}
        self._lined: dict[int, bool] = {}
        mates_mask = sum(
            1 << one.index
            for one in making.strokes
            if set(one.zones) & making.mates[self.own[0]] and one.index != stroke.index
        )
        self.support = HalfSupport(self, mates_mask)
        self._beside_mask = 0
        for face in self.beside:
            self._beside_mask |= self.placed_by[face]

    @property
    def is_tested(self) -> bool:
        """Whether the half is held against the tools: what a stroke flattens lies under the punch."""
        still = self.stroke.still
        return still is None or still.swings[self.which] is not None

    @property
    def swing(self) -> Swing:
        """How the half moves through the stroke."""
        still = self.stroke.still
        own = None if still is None else still.swings[self.which]
        return self.stroke.swing if own is None else own

    def rests(self, done: int) -> bool:
        """Whether enough straight sheet lies beside the line."""
        return self.straight_mm(done) >= self.least_flat_mm - 1e-9

    def straight_mm(self, done: int) -> float:
        """Straight sheet beside the line, where it is least [mm]: `least_flat_mm` when enough."""
        return self.support.straight_mm(done)

    def in_base_plane(self, element: Element, done: int) -> bool:
        """Whether an element still lies flat with the sheet beside the bend line."""
        return not done & element.mask

    def solids(self, element: Element, done: int) -> tuple[Solid, ...]:
        """The element's eroded solids in the half's frame."""
        return self.placed(self._number[element], done).solids

    def placed_elements(self, done: int) -> tuple[PlacedElement, ...]:
        """All elements where some strokes have brought them."""
        key = done & self.mask
        known = self._together.get(key)
        if known is None:
            missing = [
                (number, key & element.mask)
                for number, element in enumerate(self.elements)
                if key & element.mask not in self._placed[number]
            ]
            if missing:
                self._place(missing)
            known = tuple(
                states[key & element.mask]
                for states, element in zip(self._placed, self.elements, strict=True)
            )
            self._together[key] = known
        return known

    def placed(self, number: int, done: int) -> PlacedElement:
        """One element, by its number, where some strokes have brought it."""
        known, state = self._placed[number], done & self.elements[number].mask
        if state not in known:
            self._place([(number, state)])
        return known[state]

    def _place(self, wanted: list[tuple[int, int]]) -> None:
        """Make elements, by number, in states; the first time all that have few states."""
        if not any(self._placed):
            few = [
                (number, state)
                for number, element in enumerate(self.elements)
                if 1 << element.mask.bit_count() <= MOST_STATES_AT_ONCE
                for state in subsets(element.mask)
            ]
            wanted = list(dict.fromkeys([*few, *wanted]))
        block = PlacedBlock(
            [
                (self.elements[number], not state, self._solids_of(self.elements[number], state))
                for number, state in wanted
            ]
        )
        for (number, state), placed in zip(wanted, block.placed, strict=True):
            self._placed[number][state] = placed

    def _solids_of(self, element: Element, done: int) -> tuple[Solid, ...]:
        near = self.pose(element.near, done)
        if element.kind == "face":
            return self.thick.face_solids(element.index, self.frame @ near)
        state = state_after(self.making, element.index, done)
        return self._zone(element.index, state, element.near, self.frame @ near)

    def _zone(
        self, zone: int, state: ZoneState | None, near: int, pose: Motion
    ) -> tuple[Solid, ...]:
        if state is None:
            return self.thick.zone_solids(zone, 0.0, near, pose)
        roll = rolled_zone(state, self.part.thickness_mm)
        return self.thick.rolled_solids(zone, roll, near, pose)

    def closed_fold(self, element: Element, done: int) -> tuple[int, tuple[Solid, ...]] | None:
        """The face beyond a zone and its whole roll, where it is folded shut toward the rear along
        the bed.
        """
        state = state_after(self.making, element.index, done)
        if state is None or abs(state.angle_deg) < CLOSED_HEM_DEG:
            return None
        line = self.part.bends[element.index]
        pose = self.face_pose(element.near, done)
        x, y = self.part.across[element.index]
        sign = 1.0 if line.faces[0] == element.near else -1.0
        onward = pose[:3, :3] @ np.array([sign * x, sign * y, 0.0])
        along = pose[:3, :3] @ np.array([*line.along, 0.0])
        if onward[0] <= SAME_PLACE or abs(along[2]) < ALONG_COS:
            return None
        roll = rolled_zone(state, self.part.thickness_mm)
        solids = self.thick.rolled_solids(element.index, roll, element.near, pose, skin_mm=0.0)
        return far_face(line, element), solids

    def whole(self, done: int) -> list[Solid]:
        """The whole part after some strokes, as it lies with this half flat."""
        poses = poses_after(self.making, done, self.root)
        found: list[Solid] = []
        for zone, near, _ in bend_tree(self.part, self.root):
            state = state_after(self.making, zone, done)
            found += self._zone(zone, state, near, self.frame @ poses[near])
        for face, pose in enumerate(poses):
            found += self.thick.face_solids(face, self.frame @ pose)
        return found

    def face_pose(self, face: int, done: int) -> Motion:
        """Where a face's flat coordinates lie in the half's frame."""
        pose: Motion = self.frame @ self.pose(face, done)
        return pose

    def on_one_line(self, done: int) -> bool:
        """Whether all bends of the stroke still lie on one line beside this half."""
        key = done & self._beside_mask
        if key not in self._lined:
            self._lined[key] = all(
                np.abs(self.pose(face, done) - np.eye(4)).max() < SAME_PLACE for face in self.beside
            )
        return self._lined[key]

    def _walk(self) -> None:
        """The faces and zones of this half, and which strokes place them."""
        group = set(self.own)
        side = {self.root: 0}
        mask = {self.root: 0}
        self._way: dict[int, tuple[int, int]] = {}
        elements = [Element("face", self.root, self.root, 0)]
        for bend, near, far in bend_tree(self.part, self.root):
            crossed = bend in group
            side[far] = side[near] ^ crossed
            mask[far] = mask[near] | (0 if crossed else self._strokes_of_bend[bend])
            self._way[far] = (bend, near)
            if side[far] == 0:
                elements.append(Element("face", far, far, mask[far]))
                if not crossed:
                    elements.append(Element("zone", bend, near, mask[far]))
        for bend in self.part.twins:
            if bend not in group:
                first, second = self.part.bends[bend].faces
                near, far = (
                    (first, second)
                    if self._way.get(second, (0, -1))[1] == first
                    else (second, first)
                )
                if side[far] == 0:
                    placed_by = mask[near] | self._strokes_of_bend[bend]
                    elements.append(Element("zone", bend, near, placed_by))
        self.elements = tuple(elements)
        self.beside = tuple(
            sorted(
                {face for bend in group for face in self.part.bends[bend].faces if side[face] == 0}
            )
        )
        self.placed_by = mask

    def pose(self, face: int, done: int) -> Motion:
        """A face's pose in the root's flat coordinates; the stroke's own bends are flat."""
        if face == self.root:
            return np.eye(4)
        key = (face, done & self.placed_by[face])
        if key not in self._poses:
            bend, near = self._way[face]
            pose = self.pose(near, done)
            state = state_after(self.making, bend, done)
            if state is not None and bend not in self.own:
                pose = pose @ beyond(self.part, bend, state, near)
            self._poses[key] = pose
        return self._poses[key]

    def _span(self, bend: BendLine) -> Span:
        (u0, v0), along = self.origin, self.lead.along
        ends = [(u - u0) * along[0] + (v - v0) * along[1] for u, v in bend.line_mm]
        return min(ends), max(ends)


def _beside(line: BendLine, point: Point) -> Point:
    """The place on a line that a point on a parallel line lies beside."""
    (u0, v0), (x, y) = line.line_mm[0], line.along
    along = (point[0] - u0) * x + (point[1] - v0) * y
    return (u0 + x * along, v0 + y * along)


def _frame(origin: Point, lead: BendLine, outward: Point, sign: int, thickness_mm: float) -> Motion:
    """From flat coordinates to the half's frame; mirrored when that is how it lies."""
    (u0, v0), along = origin, lead.along
    up = 1.0 if sign > 0 else -1.0
    return np.array(
        [
            [outward[0], outward[1], 0.0, -(outward[0] * u0 + outward[1] * v0)],
            [0.0, 0.0, up, 0.0 if sign > 0 else thickness_mm],
            [along[0], along[1], 0.0, -(along[0] * u0 + along[1] * v0)],
            [0.0, 0.0, 0.0, 1.0],
        ]
    )


def subsets(mask: int) -> Iterator[int]:
    """Every subset of a set of bits."""
    some = mask
    while True:
        yield some
        if not some:
            return
        some = (some - 1) & mask
