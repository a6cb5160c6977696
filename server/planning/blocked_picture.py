"""A blocked stroke as a picture: the moment it is blocked worst, and what both sheet and tool take.

The sheet is drawn as it would go through the tool, so that the overlap is seen in its place.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from server.findings import Finding
from server.geometry.clearance import overlap_depth, seen_in_machine
from server.geometry.outline import Loop, polygons_of, shifted
from server.mechanics.tooling import Punch
from server.planning.gauging import Contact, finger_outline
from server.planning.making import open_tip_height
from server.planning.part_block import deepest, looked_at
from server.planning.part_half import PartHalf
from server.planning.part_strokes import PartStrokes
from server.planning.placed_element import Element
from server.planning.plan_task import PlanTask
from server.planning.profile_strokes import ProfileStrokes
from server.planning.sequence import Tests
from server.planning.step_picture import StepPicture, moment
from server.planning.stroke import Stroke
from server.planning.stroke_tests import BED, FINGER, HOLDER, bed_in_place, holder_in_place

SLIVER_MM = 0.04
LAST = -1


@dataclass(frozen=True, slots=True)
class BlockedPicture:
    """The moment a stroke is blocked; `overlap_mm` is empty where no sheet meets anything."""

    picture: StepPicture
    overlap_mm: tuple[Loop, ...]


@dataclass(frozen=True, slots=True)
class _Met:
    """Sheet that meets a tool: outlines in the machine, at which sample, and how deep."""

    sheet: tuple[Loop, ...]
    sample: int
    depth_mm: float


@dataclass(frozen=True, slots=True)
class _Try:
    """One stroke in one position after others."""

    task: PlanTask
    tests: Tests
    stroke: Stroke
    rear: int
    punch: Punch
    done: int

    @property
    def samples(self) -> int:
        """Samples of the stroke; one more stands for the sheet being put in."""
        return len(self.stroke.swing.half_rad)

    @property
    def contact(self) -> Contact | None:
        """What touches the gauge, None where nothing is allowed to."""
        return self.tests.contact(self.done, self.stroke.index, self.rear)

    def tip_mm(self, sample: int) -> float:
        """Height of the punch tip at a sample."""
        if sample >= self.samples:
            return open_tip_height(self.task, self.punch, self.stroke.die)
        return float(self.stroke.swing.tip_mm[sample])

    def tool(self, name: str, sample: int) -> Loop:
        """A tool's outline in the machine at a sample; empty for one that is not there."""
        tip_mm = self.tip_mm(sample)
        contact = self.contact
        outlines = {
            HOLDER: shifted(holder_in_place(self.task, self.punch), y_mm=tip_mm),
            BED: bed_in_place(self.task, self.stroke.die),
            FINGER: finger_outline(self.task.brake.finger, contact.x_mm) if contact else (),
            self.stroke.die.name: self.stroke.die.profile_mm,
            self.punch.name: shifted(self.punch.profile_mm, y_mm=tip_mm),
        }
        return outlines.get(name, ())


def blocked_picture(
    task: PlanTask,
    tests: Tests,
    stroke: Stroke,
    rear: int,
    punch: Punch,
    done: int,
    finding: Finding | None,
) -> BlockedPicture:
    """The moment a finding tells of: its overlap, or the sheet as it would be put in."""
    one = _Try(task, tests, stroke, rear, punch, done)
    if finding is not None and stroke.still is None and finding.code.startswith("meets_"):
        found = _itself(one) if finding.code == "meets_itself" else _with_tool(one, finding)
        if found is not None:
            return found
    return BlockedPicture(_moment(one, 0), ())


def meetings_first(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """Findings with an overlap that can be shown before the others, in their order else."""
    return tuple(sorted(findings, key=lambda one: not one.code.startswith("meets_")))


def _moment(one: _Try, sample: int) -> StepPicture:
    loading = sample >= one.samples
    return moment(
        one.task,
        one.tests,
        one.stroke,
        one.rear,
        one.punch,
        one.contact,
        one.done,
        0 if loading else sample,
        tip_mm=one.tip_mm(sample) if loading else None,
    )


def _with_tool(one: _Try, finding: Finding) -> BlockedPicture | None:
    name = finding.tool or ""
    met = (
        _profile_met(one, name)
        if isinstance(one.tests, ProfileStrokes)
        else _part_met(one, one.tests, name)
    )
    if met is None:
        return None
    picture = _moment(one, met.sample)
    sheet = picture.sheet_mm if isinstance(one.tests, ProfileStrokes) else met.sheet
    areas = _common(_shape(sheet), _shape((one.tool(name, met.sample),)))
    return BlockedPicture(picture, areas or _common(_shape(met.sheet), _shape(sheet)))


def _profile_met(one: _Try, name: str) -> _Met | None:
    assert isinstance(one.tests, ProfileStrokes)
    moving = (HOLDER, one.punch.name)
    last = one.samples + (1 if name in moving else 0)
    pieces = {}
    hit: list[int] = []
    for sample in range(last):
        sheet = np.concatenate(
            one.tests.pieces_in_machine(
                one.done, one.stroke.index, one.rear, min(sample, one.samples) % one.samples
            )
        )
        tool = _shape((one.tool(name, sample),))
        if tool.is_empty:
            return None
        if shapely.area(shapely.intersection(shapely.polygons(sheet), tool)).sum() > SLIVER_MM**2:
            hit.append(sample)
            pieces[sample] = tuple(tuple(map(tuple, loop)) for loop in sheet.tolist())
    return max(
        (
            _Met(
                pieces[sample],
                sample,
                overlap_depth(pieces[sample], _shape((one.tool(name, sample),))),
            )
            for sample in looked_at(hit)
        ),
        key=lambda met: (met.depth_mm, -met.sample),
        default=None,
    )


def _part_met(one: _Try, tests: PartStrokes, name: str) -> _Met | None:
    if name == FINGER:
        contact = one.contact
        met = contact and tests.finger_met(one.done, one.stroke.index, one.rear, contact)
        if not met:
            return None
        behind = tests.sides(one.stroke.index, one.rear)[0]
        return _Met(_shadows(one, behind, met[0], met[2], front=False), met[2], met[1])
    found: list[_Met] = []
    for half, front in tests.tested(one.stroke.index, one.rear):
        above, below = tests.tools(half, one.punch, front=front)
        tools = above if name in above.names else below
        for placed in half.placed_elements(one.done):
            met_tools = tests.element_met(half, placed, one.punch, front=front)
            if any(met.tool == name for met in met_tools):
                depth_mm, sample = deepest(placed.solids, tools, name, tests.thick.skin_mm)
                sheet = _shadows(one, half, placed.element, sample, front=front)
                found.append(_Met(sheet, sample, depth_mm))
    return max(found, key=lambda met: met.depth_mm, default=None)


def _shadows(
    one: _Try, half: PartHalf, element: Element, sample: int, *, front: bool
) -> tuple[Loop, ...]:
    """An element's outlines seen along the bed, in the machine at a sample."""
    at = 0 if sample >= one.samples else sample
    return tuple(
        tuple(
            (float(x), float(y))
            for x, y in seen_in_machine(np.array(solid.shadow()), one.stroke.swing, at, front=front)
        )
        for solid in half.solids(element, one.done)
    )


def _itself(one: _Try) -> BlockedPicture | None:
    if isinstance(one.tests, ProfileStrokes):
        near, far = one.tests.pieces_in_machine(one.done, one.stroke.index, one.rear, LAST)
        shapes = [
            _shape([tuple(map(tuple, loop)) for loop in half.tolist()]) for half in (near, far)
        ]
    else:
        pair = one.tests.self_met(one.done, one.stroke.index)
        if pair is None:
            return None
        first, second = one.tests.half(one.stroke.index, 0), one.tests.half(one.stroke.index, 1)
        shapes = [
            _shape(_shadows(one, half, element, one.samples - 1, front=which != one.rear))
            for which, (half, element) in enumerate(zip((first, second), pair, strict=True))
        ]
    return BlockedPicture(_moment(one, one.samples - 1), _common(*shapes))


def _shape(loops: Sequence[Loop]) -> BaseGeometry:
    return shapely.union_all(
        [shapely.make_valid(Polygon(loop)) for loop in loops if len(loop) >= 3]
    )


def _common(first: BaseGeometry, second: BaseGeometry) -> tuple[Loop, ...]:
    """Outlines of the area two shapes share; slivers of drawing accuracy are left out."""
    shared = first.intersection(second).buffer(-SLIVER_MM).buffer(SLIVER_MM)
    return tuple(
        tuple((round(float(x), 3), round(float(y), 3)) for x, y in area.exterior.coords[:-1])
        for area in polygons_of(shared)
    )
