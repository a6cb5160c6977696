"""A flat part lying still in the machine: before a stroke and after it, as it goes in and comes out.

Everything in a block of elements is brought into the machine together, and held against the open
tools together.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from shapely.geometry import Polygon

from server.geometry.clearance import Swing, seen_in_machine
from server.geometry.outline import Loop, convex_parts, shifted
from server.geometry.solid import Solid
from server.mechanics.tooling import Punch
from server.planning.making import open_tip_height
from server.planning.part_half import PartHalf
from server.planning.placed_element import PlacedBlock, PlacedElement, boxes_of
from server.planning.plan_task import PlanTask
from server.planning.stroke import Stroke
from server.planning.stroke_tests import BED, holder_in_place, lower_prisms
from server.planning.taking_out import AtRest, Lying, OpenTools, WayOut

FIRST, LAST = 0, -1


class RestingBlock:
    """A block of elements in the machine at one sample of its motion."""

    def __init__(self, block: PlacedBlock, swing: Swing, sample: int, *, front: bool) -> None:
        self.block = block
        self.outlines = seen_in_machine(block.stack.outlines, swing, sample, front=front)

    @cached_property
    def pieces(self) -> AtRest:
        """The solids seen along the bed."""
        block = self.block
        rests = [block.placed[place].flat for place in block.owner]
        normals = block.stack.normals_of(self.outlines)
        return AtRest(self.outlines, normals, block.stack.spans, rests, block.stack.groups())

    @cached_property
    def boxes_mm(self) -> list[tuple[float, ...]]:
        """For each element the least corner of its box, then the greatest."""
        corners = self.block.stack.corners.copy()
        corners[..., :2] = self.outlines
        return [(*low, *high) for low, high in boxes_of(corners, self.block.first)]


@dataclass(frozen=True, slots=True)
class Boxes:
    """The elements of a half with boxes around them, and how far these reach toward the other."""

    placed: tuple[PlacedElement, ...]
    boxes_mm: np.ndarray
    low_x: float
    high_x: float


class PartRest:
    """A flat part at rest, in every state."""

    def __init__(self, task: PlanTask) -> None:
        self.task = task
        self._blocks: dict[tuple[PlacedBlock, int, bool], RestingBlock] = {}
        self._boxes: dict[tuple[PartHalf, int], Boxes] = {}
        self._lying: dict[tuple[PartHalf, int, int, bool], tuple[Lying, ...]] = {}
        self._open: dict[tuple[int, str, int], OpenTools] = {}

    def boxes(self, half: PartHalf, done: int, *, front: bool) -> Boxes:
        """The elements of a half at the end of the stroke, with their boxes."""
        key = (half, done & half.mask)
        if key not in self._boxes:
            placed = tuple(one for one in half.placed_elements(done) if one.solids)
            boxes_mm = np.array(
                [
                    self._block(one.block, half.swing, LAST, front=front).boxes_mm[one.place]
                    for one in placed
                ]
            )
            low_x, high_x = float(boxes_mm[:, 0].min()), float(boxes_mm[:, 3].max())
            self._boxes[key] = Boxes(placed, boxes_mm, low_x, high_x)
        return self._boxes[key]

    def solids(self, half: PartHalf, placed: PlacedElement, *, front: bool) -> tuple[Solid, ...]:
        """An element's solids in the machine at the end of the stroke."""
        found = []
        for solid in placed.solids:
            corners = solid.corners.copy()
            corners[:, :2] = seen_in_machine(corners[:, :2], half.swing, LAST, front=front)
            found.append(Solid(corners, solid.faces))
        return tuple(found)

    def way_out(
        self, halves: Sequence[tuple[PartHalf, bool]], done: int, punch: Punch, sample: int
    ) -> WayOut:
        """The part at the beginning of a stroke or at its end, and the ways it has.

        `halves` are those held against the tools, each with whether it lies in front.
        """
        lying = [
            one for half, front in halves for one in self._lying_of(half, done, sample, front=front)
        ]
        return WayOut(lying, self._open_tools(halves[0][0].stroke, punch, sample))

    def _lying_of(
        self, half: PartHalf, done: int, sample: int, *, front: bool
    ) -> tuple[Lying, ...]:
        key = (half, done & half.mask, sample, front)
        if key not in self._lying:
            chosen: dict[PlacedBlock, list[int]] = {}
            for placed in half.placed_elements(done):
                block = placed.block
                chosen.setdefault(block, []).extend(block.rows_of[placed.place])
            self._lying[key] = tuple(
                Lying(self._block(block, half.swing, sample, front=front).pieces, rows)
                for block, rows in chosen.items()
            )
        return self._lying[key]

    def _block(self, block: PlacedBlock, swing: Swing, sample: int, *, front: bool) -> RestingBlock:
        key = (block, sample, front)
        if key not in self._blocks:
            self._blocks[key] = RestingBlock(block, swing, sample, front=front)
        return self._blocks[key]

    def _open_tools(self, stroke: Stroke, punch: Punch, sample: int) -> OpenTools:
        key = (stroke.index, punch.name, sample)
        if key not in self._open:
            open_mm = open_tip_height(self.task, punch, stroke.die)
            tip_mm = float(stroke.moving.tip_mm[sample])
            parts = _parts(punch.profile_mm)
            holder = _parts(holder_in_place(self.task, punch))
            lower = {prism.name: prism.outline_mm for prism in lower_prisms(self.task, stroke.die)}
            self._open[key] = OpenTools(
                punch_low=[shifted(part, y_mm=tip_mm) for part in parts],
                punch_high=[shifted(part, y_mm=open_mm) for part in parts],
                holder_high=[shifted(part, y_mm=open_mm) for part in holder],
                die=_parts(lower.get(stroke.die.name, ())),
                bed=_parts(lower.get(BED, ())),
            )
        return self._open[key]


@lru_cache(maxsize=256)
def _parts(outline: Loop) -> tuple[Loop, ...]:
    return convex_parts(Polygon(outline)) if outline else ()
