"""What the elements of a flat part meet while they swing: tools, fingers, and each other.

Tools are prisms along the bed. Instead of clipping every face to every possible set of tools, each
element of the part is held against the endless prism of punch and die, and where it would be met is
kept as a stretch of the bed that the tool has to leave out. Holder and bed are as long as the brake.

Choices left open by the documents: the flat sheet in the plane of the bend line may touch the die's
top and is not tested against it; the face whose free edge touches a finger is not tested against
that finger.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon

from server.geometry.clearance import Obstacles, Prism
from server.geometry.outline import Loop, mirrored
from server.geometry.solid import Span, solids_overlap
from server.geometry.thick_part import ThickPart
from server.mechanics.tooling import Die, Punch
from server.planning.gauging import Contact, finger_outline
from server.planning.making import Making
from server.planning.part_block import Met, deepest, meetings
from server.planning.part_half import PartHalf
from server.planning.part_rest import PartRest
from server.planning.placed_element import Element, PlacedBlock, PlacedElement
from server.planning.plan_task import PlanTask
from server.planning.stroke import Stroke
from server.planning.stroke_tests import FINGER, lower_prisms, upper_prisms, with_loading

SAME_DIGITS = 9
SAME_AREA_MM2 = 1e-6


@dataclass(frozen=True, slots=True)
class HalfMet:
    """What a half meets: stretches that punch and die have to leave out, or `blocked` for good."""

    punch: tuple[Span, ...]
    die: tuple[Span, ...]
    blocked: bool


@dataclass(frozen=True, slots=True)
class _Prisms:
    """Tools, and whether they look alike from the rear and from in front."""

    prisms: tuple[Prism, ...]
    alike: bool


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
        self._tools: dict[tuple[str, str], _Prisms] = {}
        self._seen: dict[tuple[PartHalf, str, bool], tuple[Obstacles, Obstacles]] = {}
        self._obstacles: dict[tuple[object, ...], Obstacles] = {}
        self._in_block: dict[tuple[PlacedBlock, Obstacles, bool], list[tuple[Met, ...]]] = {}
        self._met: dict[tuple[PlacedElement, str, bool], tuple[Met, ...]] = {}
        self._halves: dict[tuple[PartHalf, int, str, bool], HalfMet] = {}
        self._met_finger: dict[tuple[PlacedElement, float], tuple[Met, ...]] = {}
        self._fingers: dict[tuple[PartHalf, int, Contact], PlacedElement | None] = {}
        self._itself: dict[tuple[int, int], tuple[bool, tuple[Element, Element] | None]] = {}

    def tools(self, half: PartHalf, punch: Punch, *, front: bool) -> tuple[Obstacles, Obstacles]:
        """Upper and lower tools as one half sees them, kept by what their motion depends on."""
        key = (half, punch.name, front)
        if key not in self._seen:
            self._seen[key] = self._seen_by(half, punch, front=front)
        return self._seen[key]

    def _seen_by(self, half: PartHalf, punch: Punch, *, front: bool) -> tuple[Obstacles, Obstacles]:
        stroke, own = half.stroke, None if half.stroke.still is None else half.swing
        motion = (stroke.what, stroke.die.name, stroke.loaded_deg, stroke.loaded_radius_mm)
        if own is not None:
            motion = (f"{stroke.what} {stroke.index} {half.which}", stroke.die.name, 0.0, 0.0)
        upper, lower = self._prisms(punch, stroke.die)
        above = (*motion, stroke.k_factor, front and not upper.alike, punch.name)
        below = (*motion, stroke.k_factor, front and not lower.alike)
        if above not in self._obstacles:
            swing = with_loading(self.task, stroke, punch, own)
            self._obstacles[above] = Obstacles(upper.prisms, swing, front=front and not upper.alike)
        if below not in self._obstacles:
            swing = own or stroke.swing
            self._obstacles[below] = Obstacles(lower.prisms, swing, front=front and not lower.alike)
        return self._obstacles[above], self._obstacles[below]

    def _prisms(self, punch: Punch, die: Die) -> tuple[_Prisms, _Prisms]:
        if ("punch", punch.name) not in self._tools:
            self._tools["punch", punch.name] = _prisms(upper_prisms(self.task, punch))
        if ("die", die.name) not in self._tools:
            self._tools["die", die.name] = _prisms(lower_prisms(self.task, die))
        return self._tools["punch", punch.name], self._tools["die", die.name]

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

    def finger(self, behind: PartHalf, done: int, contact: Contact) -> PlacedElement | None:
        """The first element that meets a finger."""
        key = (behind, done & behind.mask, contact)
        if key not in self._fingers:
            self._fingers[key] = self._finger_met(behind, done, contact)
        return self._fingers[key]

    def finger_depth(
        self, behind: PartHalf, placed: PlacedElement, contact: Contact
    ) -> tuple[float, int]:
        """How deep an element reaches into a finger at worst, and at which sample."""
        tools = self._finger(behind.stroke, contact.x_mm)
        return deepest(placed.solids, tools, FINGER, self.thick.skin_mm)

    def _finger_met(self, behind: PartHalf, done: int, contact: Contact) -> PlacedElement | None:
        half_mm = self.task.brake.finger.width_mm / 2
        for placed in behind.placed_elements(done):
            if placed.flat or not (placed.high_mm[0] > contact.x_mm or placed.low_mm[1] < 0.0):
                continue
            element = placed.element
            if contact.kind == "edge" and element.kind == "face" and element.index == contact.face:
                continue
            for met in self._finger_meetings(placed, behind.stroke, contact.x_mm):
                if any(
                    low < place + half_mm and place - half_mm < high
                    for low, high in met.spans
                    for place in contact.fingers_mm
                ):
                    return placed
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


def _prisms(prisms: Sequence[Prism]) -> _Prisms:
    return _Prisms(tuple(prisms), all(_is_alike(prism.outline_mm) for prism in prisms))


def _is_alike(outline: Loop) -> bool:
    """Whether an outline is its own mirror image."""
    corners = {(round(x, SAME_DIGITS), round(y, SAME_DIGITS)) for x, y in outline}
    return (
        Polygon(outline).is_valid
        and corners == {(-x, y) for x, y in corners}
        and (Polygon(outline).symmetric_difference(Polygon(mirrored(outline))).area < SAME_AREA_MM2)
    )
