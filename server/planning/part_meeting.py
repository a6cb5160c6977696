"""What the elements of a flat part meet while they swing: tools, fingers, and each other.

Tools are prisms along the bed. Instead of clipping every face to every possible set of tools, each
element of the part is held against the endless prism of punch and die, and where it would be met is
kept as a stretch of the bed that the tool has to leave out. Holder and bed are as long as the brake.

Choices left open by the documents: the flat sheet in the plane of the bend line may touch the die's
top and is not tested against it; the face whose free edge touches a finger is not tested against
that finger.
"""

from dataclasses import dataclass

import numpy as np

from server.geometry.clearance import Obstacles, Prism
from server.geometry.solid import Span, solids_overlap
from server.geometry.thick_part import ThickPart
from server.mechanics.tooling import Punch
from server.planning.gauging import Contact, finger_outline
from server.planning.making import Making
from server.planning.part_block import Met, deepest, meetings
from server.planning.part_half import PartHalf
from server.planning.part_rest import PartRest
from server.planning.placed_element import Element, PlacedBlock, PlacedElement
from server.planning.plan_task import PlanTask
from server.planning.stroke import Stroke
from server.planning.stroke_tests import FINGER, lower_prisms, upper_prisms, with_loading


@dataclass(frozen=True, slots=True)
class HalfMet:
    """What a half meets: stretches that punch and die have to leave out, or `blocked` for good."""

    punch: tuple[Span, ...]
    die: tuple[Span, ...]
    blocked: bool


class PartMeetings:
    """What is met, kept for each element where it is; `made` counts the tests asked for.

    Elements are tested in blocks, but counted one by one as they are asked about.
    """

    def __init__(self, task: PlanTask, making: Making, thick: ThickPart, rest: PartRest) -> None:
        self.task = task
        self.making = making
        self.thick = thick
        self.rest = rest
        self.made = 0
        self._obstacles: dict[tuple[object, ...], Obstacles] = {}
        self._in_block: dict[tuple[PlacedBlock, Obstacles, bool], list[tuple[Met, ...]]] = {}
        self._met: dict[tuple[PlacedElement, str, bool], tuple[Met, ...]] = {}
        self._halves: dict[tuple[PartHalf, int, str, bool], HalfMet] = {}
        self._met_finger: dict[tuple[PlacedElement, float], tuple[Met, ...]] = {}
        self._fingers: dict[tuple[object, ...], tuple[Element, float, int] | None] = {}
        self._itself: dict[tuple[int, int], tuple[bool, tuple[Element, Element] | None]] = {}

    def tools(self, half: PartHalf, punch: Punch, *, front: bool) -> tuple[Obstacles, Obstacles]:
        """Upper and lower tools as one half sees them, kept by what their motion depends on."""
        stroke, own = half.stroke, None if half.stroke.still is None else half.swing
        motion = (stroke.what, stroke.die.name, stroke.loaded_deg, stroke.loaded_radius_mm)
        if own is not None:
            motion = (f"{stroke.what} {stroke.index} {half.which}", stroke.die.name, 0.0, 0.0)
        above = (*motion, stroke.k_factor, front, punch.name)
        below = (*motion, stroke.k_factor, front)
        if above not in self._obstacles:
            self._obstacles[above] = Obstacles(
                upper_prisms(self.task, punch),
                with_loading(self.task, stroke, punch, own),
                front=front,
            )
        if below not in self._obstacles:
            self._obstacles[below] = Obstacles(
                lower_prisms(self.task, stroke.die), own or stroke.swing, front=front
            )
        return self._obstacles[above], self._obstacles[below]

    def element(
        self, half: PartHalf, placed: PlacedElement, punch: Punch, *, front: bool
    ) -> tuple[Met, ...]:
        """What one element meets through the stroke."""
        key = (placed, punch.name, front)
        if key not in self._met:
            self.made += 1
            above, below = self.tools(half, punch, front=front)
            found = self._of_block(placed.block, above, flat_too=True)[placed.place]
            if not placed.flat:
                found += self._of_block(placed.block, below, flat_too=False)[placed.place]
            self._met[key] = found
        return self._met[key]

    def half(self, half: PartHalf, done: int, punch: Punch, *, front: bool) -> HalfMet:
        """What a half meets, up to the first that no tool of another length would cure."""
        key = (half, done & half.mask, punch.name, front)
        if key not in self._halves:
            self._halves[key] = self._half(half, done, punch, front=front)
        return self._halves[key]

    def _half(self, half: PartHalf, done: int, punch: Punch, *, front: bool) -> HalfMet:
        skin_mm = self.thick.skin_mm
        spans: dict[str, list[Span]] = {punch.name: [], half.stroke.die.name: []}
        for placed in half.placed_elements(done):
            for met in self.element(half, placed, punch, front=front):
                if met.tool not in spans:
                    return HalfMet((), (), blocked=True)
                spans[met.tool] += [(low - skin_mm, high + skin_mm) for low, high in met.spans]
        upper, lower = spans[punch.name], spans[half.stroke.die.name]
        return HalfMet(tuple(upper), tuple(lower), blocked=False)

    def _of_block(
        self, block: PlacedBlock, tools: Obstacles, *, flat_too: bool
    ) -> list[tuple[Met, ...]]:
        key = (block, tools, flat_too)
        if key not in self._in_block:
            self._in_block[key] = meetings(block, tools, flat_too=flat_too)
        return self._in_block[key]

    def finger(
        self, behind: PartHalf, done: int, contact: Contact
    ) -> tuple[Element, float, int] | None:
        """The first element that meets a finger, with depth and sample."""
        key = (behind, done & behind.mask, contact)
        if key not in self._fingers:
            self._fingers[key] = self._finger_met(behind, done, contact)
        return self._fingers[key]

    def _finger_met(
        self, behind: PartHalf, done: int, contact: Contact
    ) -> tuple[Element, float, int] | None:
        half_mm = self.task.brake.finger.width_mm / 2
        for placed in behind.placed_elements(done):
            element = placed.element
            touching = (
                contact.kind == "edge" and element.kind == "face" and element.index == contact.face
            )
            may_reach = placed.high_mm[0] > contact.x_mm or placed.low_mm[1] < 0.0
            if touching or placed.flat or not may_reach:
                continue
            for met in self._finger_meetings(placed, behind.stroke, contact.x_mm):
                if any(
                    low < place + half_mm and place - half_mm < high
                    for low, high in met.spans
                    for place in contact.fingers_mm
                ):
                    tools = self._finger(behind.stroke, contact.x_mm)
                    depth_mm, sample = deepest(placed.solids, tools, FINGER, self.thick.skin_mm)
                    return element, depth_mm, sample
        return None

    def _finger_meetings(
        self, placed: PlacedElement, stroke: Stroke, x_mm: float
    ) -> tuple[Met, ...]:
        key = (placed, x_mm)
        if key not in self._met_finger:
            self.made += 1
            tools = self._finger(stroke, x_mm)
            in_block = self._of_block(placed.block, tools, flat_too=False)
            self._met_finger[key] = in_block[placed.place]
        return self._met_finger[key]

    def _finger(self, stroke: Stroke, x_mm: float) -> Obstacles:
        key = ("finger", stroke.index, x_mm)
        if key not in self._obstacles:
            finger = Prism(FINGER, finger_outline(self.task.brake.finger, x_mm), moves=False)
            self._obstacles[key] = Obstacles([finger], stroke.swing, front=False)
        return self._obstacles[key]

    def itself(
        self, halves: tuple[PartHalf, PartHalf], done: int
    ) -> tuple[Element, Element] | None:
        """Two elements of different halves that share space at the end of the stroke."""
        first, second = halves
        key = (first.stroke.index, done & (first.mask | second.mask))
        if key not in self._itself:
            self._itself[key] = self._itself_met(first, second, done)
        close, found = self._itself[key]
        self.made += close
        return found

    def _itself_met(
        self, first: PartHalf, second: PartHalf, done: int
    ) -> tuple[bool, tuple[Element, Element] | None]:
        """Whether the halves come near to each other at all, and the two elements that meet."""
        near, far = (
            self.rest.boxes(half, done, front=front)
            for half, front in ((first, False), (second, True))
        )
        if near.low_x >= far.high_x:
            return False, None
        close = np.ones((len(near.boxes_mm), len(far.boxes_mm)), dtype=bool)
        for axis in range(3):
            close &= near.boxes_mm[:, None, axis] < far.boxes_mm[None, :, axis + 3]
            close &= far.boxes_mm[None, :, axis] < near.boxes_mm[:, None, axis + 3]
        for i, j in np.argwhere(close).tolist():
            a, b = near.placed[i], far.placed[j]
            if not (a.flat and b.flat) and self._share_space((first, a), (second, b)):
                return True, (a.element, b.element)
        return True, None

    def _share_space(
        self, near: tuple[PartHalf, PlacedElement], far: tuple[PartHalf, PlacedElement]
    ) -> bool:
        return any(
            solids_overlap(one, other)
            for one in self.rest.solids(*near, front=False)
            for other in self.rest.solids(*far, front=True)
        )
