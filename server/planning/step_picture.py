"""What a drawing of a step needs: sheet, tools and gauge as outlines in the machine frame.

A profile is drawn as its section. A flat part is drawn as the section through the middle of the
stroke's first bend and, behind it, the silhouette of the whole part seen along the bed.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, partial

import numpy as np
import shapely
from shapely.geometry import Polygon

from server.geometry.clearance import Swing, seen_in_machine
from server.geometry.folding import RolledBend
from server.geometry.outline import Loop, Point, convex_hull, polygons_of, shifted
from server.geometry.profile import Profile, SectionPlace, section_outline
from server.geometry.solid import Solid, clipped_rings
from server.mechanics.tooling import Punch
from server.planning.gauging import Contact, finger_outline
from server.planning.making import Making, open_tip_height
from server.planning.order import PlacedStroke
from server.planning.part_half import PartHalf
from server.planning.part_strokes import PartStrokes
from server.planning.plan_task import PlanTask
from server.planning.profile_half import state_after
from server.planning.profile_strokes import ProfileStrokes
from server.planning.search import REARS
from server.planning.stroke import Stroke
from server.planning.stroke_tests import bed_in_place, holder_in_place

SMOOTH_MM = 0.12
GRID_MM = 1e-4


@dataclass(frozen=True, slots=True)
class StepPicture:
    """One moment of a step. All outlines are in the machine frame [mm].

    `sheet_mm` is the section (several pieces for a flat part), `silhouette_mm` everything seen along
    the bed, `contact_mm` the point on the finger, None after the sheet has left it.
    """

    half_angle_deg: float
    sheet_mm: tuple[Loop, ...]
    silhouette_mm: tuple[Loop, ...]
    punch_mm: Loop
    holder_mm: Loop
    die_mm: Loop
    bed_mm: Loop
    finger_mm: Loop
    contact_mm: Point | None
    tip_y_mm: float


class StepPictures:
    """A step before the stroke, with the punch just touching, and under full load.

    They are drawn when they are first looked at, as most plans are only compared, and before they
    are sent elsewhere.
    """

    def __init__(
        self, task: PlanTask, tests: ProfileStrokes | PartStrokes, placed: PlacedStroke, done: int
    ) -> None:
        self._draw: Callable[[int], StepPicture] = partial(_drawn, task, tests, placed, done)

    @cached_property
    def drawn(self) -> tuple[StepPicture, StepPicture]:
        """The step before, and after."""
        return self._draw(0), self._draw(-1)

    def __getstate__(self) -> dict[str, object]:
        return {"drawn": self.drawn}

    def __eq__(self, other: object) -> bool:
        return isinstance(other, StepPictures) and self.drawn == other.drawn

    def __hash__(self) -> int:
        return hash(self.drawn)


def _drawn(
    task: PlanTask,
    tests: ProfileStrokes | PartStrokes,
    placed: PlacedStroke,
    done: int,
    sample: int,
) -> StepPicture:
    stroke = tests.making.strokes[placed.stroke]
    return moment(task, tests, stroke, placed.rear, placed.punch, placed.contact, done, sample)


def loading_height(task: PlanTask, placed: PlacedStroke, making: Making) -> float:
    """Height of the punch tip above the die top with the ram on top [mm]."""
    return open_tip_height(task, placed.punch, making.strokes[placed.stroke].die)


def moment(
    task: PlanTask,
    tests: ProfileStrokes | PartStrokes,
    stroke: Stroke,
    rear: int,
    punch: Punch,
    contact: Contact | None,
    done: int,
    sample: int,
    *,
    tip_mm: float | None = None,
) -> StepPicture:
    """One sample of a stroke after others, possible or not; no finger without a contact.

    `tip_mm` puts the punch tip elsewhere than the stroke has it, as when the sheet is put in.
    """
    if isinstance(tests, ProfileStrokes):
        sheet: tuple[Loop, ...] = (_section(tests.making, stroke, rear, done, sample),)
        silhouette = sheet
    else:
        sheet, silhouette = _cut_and_silhouette(tests, stroke, rear, done, sample)
    tip_mm = float(stroke.moving.tip_mm[sample]) if tip_mm is None else tip_mm
    return StepPicture(
        half_angle_deg=math.degrees(float(stroke.swing.half_rad[sample])),
        sheet_mm=sheet,
        silhouette_mm=silhouette,
        punch_mm=shifted(punch.profile_mm, y_mm=tip_mm),
        holder_mm=shifted(holder_in_place(task, punch), y_mm=tip_mm),
        die_mm=stroke.die.profile_mm,
        bed_mm=bed_in_place(task, stroke.die),
        finger_mm=finger_outline(task.brake.finger, contact.x_mm) if contact else (),
        contact_mm=contact.at_mm if contact and sample == 0 else None,
        tip_y_mm=tip_mm,
    )


def _section(making: Making, stroke: Stroke, rear: int, done: int, sample: int) -> Loop:
    sheet = making.sheet
    assert isinstance(sheet, Profile)
    rolls: dict[int, RolledBend] = {}
    for zone in range(len(sheet.bends)):
        state = state_after(making, zone, done)
        if state is not None:
            rolls[zone] = RolledBend(
                state.angle_deg,
                state.inside_radius_mm,
                -state.arc_mm / 2,
                state.arc_mm,
                sheet.thickness_mm + state.inside_radius_mm
                if state.angle_deg > 0
                else -state.inside_radius_mm,
            )
    swing = stroke.swing
    if stroke.depth_mm is not None:
        angle_deg = stroke.sign * math.degrees(2 * float(swing.half_rad[sample]))
        arc_mm = 2 * float(swing.rolled_mm[sample])
        axis_mm = (
            sheet.thickness_mm + stroke.loaded_radius_mm
            if stroke.sign > 0
            else -stroke.loaded_radius_mm
        )
        rolls[stroke.zones[0]] = RolledBend(
            angle_deg, stroke.loaded_radius_mm, -arc_mm / 2, arc_mm, axis_mm
        )
    elif sample != 0:
        for zone in stroke.zones:
            after = state_after(making, zone, done | 1 << stroke.index)
            assert after is not None
            rolls[zone] = RolledBend(
                after.angle_deg,
                after.inside_radius_mm,
                -after.arc_mm / 2,
                after.arc_mm,
                sheet.thickness_mm + after.inside_radius_mm
                if after.angle_deg > 0
                else -after.inside_radius_mm,
            )
    if stroke.still is not None and stroke.still.fold_x_mm is not None:
        return _flattened(sheet, stroke, rolls, stroke.still.fold_x_mm, rear)
    place = SectionPlace(
        stroke.zones[0],
        "A" if stroke.sign > 0 else "B",
        REARS[rear],
        float(stroke.moving.tip_mm[sample]),
    )
    return section_outline(sheet, rolls=rolls, place=place).outline_mm


def _flattened(
    sheet: Profile, stroke: Stroke, rolls: dict[int, RolledBend], fold_x_mm: float, flange: int
) -> Loop:
    """The section with the body of a hem flat on the die, in front of its fold."""
    zone = stroke.zones[0]
    section = section_outline(sheet, rolls=rolls)
    body = section.legs[zone + 1 if flange == 0 else zone]
    (x0, y0) = body.start_mm if flange == 0 else body.end_mm
    turned = math.radians(body.heading_deg) + (0.0 if flange == 0 else math.pi)
    cos, sin = math.cos(turned), math.sin(turned)
    up = stroke.sign * (1.0 if flange == 0 else -1.0)
    from_fold_mm = fold_x_mm - rolls[zone].arc_mm / 2
    return tuple(
        (
            from_fold_mm - ((x - x0) * cos + (y - y0) * sin),
            up * ((y - y0) * cos - (x - x0) * sin) + sheet.thickness_mm / 2,
        )
        for x, y in section.outline_mm
    )


def _cut_and_silhouette(
    tests: PartStrokes, stroke: Stroke, rear: int, done: int, sample: int
) -> tuple[tuple[Loop, ...], tuple[Loop, ...]]:
    middle = sum(tests.half(stroke.index, 0).spans[0]) / 2
    cuts, shadows = [], []
    for half, solids in _solids(tests, stroke, done, sample):
        front = half.which != rear
        for solid in solids:
            shadows.append(_in_machine(solid.shadow(), half.swing, sample, front=front))
            cut = cut_across(solid, middle)
            if len(cut) >= 3:
                cuts.append(_in_machine(cut, half.swing, sample, front=front))
    return _united(cuts), _united(shadows)


def _solids(
    tests: PartStrokes, stroke: Stroke, done: int, sample: int
) -> Iterator[tuple[PartHalf, Sequence[Solid]]]:
    """What lies in the machine, with the half it moves with; where nothing swings, the whole part
    with a half that lies still.
    """
    halves = [tests.half(stroke.index, which) for which in (0, 1)]
    if stroke.still is not None:
        half = next(half for half in halves if half.is_tested)
        yield half, half.whole(done if sample == 0 else done | 1 << stroke.index)
        return
    for half in halves:
        for element in half.elements:
            yield half, half.solids(element, done)


def cut_across(solid: Solid, z_mm: float) -> Loop:
    """The outline of a solid cut at one place along the bed."""
    low, high = solid.span(2)
    if not low < z_mm < high:
        return ()
    lower = clipped_rings(solid.rings(), (0.0, 0.0, 1.0), z_mm)
    points = [
        (round(x, 9), round(y, 9)) for ring in lower for x, y, z in ring if abs(z - z_mm) < 1e-6
    ]
    return convex_hull(points)


def _in_machine(loop: Loop, swing: Swing, sample: int, *, front: bool) -> Loop:
    seen = seen_in_machine(np.array(loop), swing, sample, front=front)
    return tuple((float(x), float(y)) for x, y in seen)


def _united(loops: list[Loop]) -> tuple[Loop, ...]:
    """Outlines of everything together, with the skin that was taken off put back."""
    if not loops:
        return ()
    grown = shapely.union_all(
        [Polygon(loop).buffer(SMOOTH_MM, join_style="mitre") for loop in loops if len(loop) >= 3],
        grid_size=GRID_MM,
    )
    return tuple(
        tuple((float(x), float(y)) for x, y in area.exterior.coords[:-1])
        for area in polygons_of(grown.simplify(0.02))
    )
