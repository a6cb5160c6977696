"""Constant-section profiles: their general part, and their folded section drawn true to scale.

A profile is straights and bends in order from its first edge, the same along its whole width. Its
flat coordinate u runs from the first edge; w runs from side B (0) up to side A (t).
"""

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from server.errors import Amount, ShopError, say
from server.geometry.folding import RolledBend, rolled_bend
from server.geometry.outline import Loop, Point
from server.geometry.part import MOST_BENDS, BendLine, Face, FlatPart

Side = Literal["A", "B"]
Rear = Literal["first", "second"]

CHORD_MM = 0.02
STRAIGHT_DEG = 1e-9
APEX_MOST_DEG = 170.0


@dataclass(frozen=True, slots=True)
class ProfileBend:
    """One bend of a profile; a positive angle closes toward side A."""

    bend_angle_deg: float
    inside_radius_mm: float
    allowance_mm: float


@dataclass(frozen=True, slots=True)
class Profile:
    """Straight parts between the bend zones, in order, and the bends between them."""

    thickness_mm: float
    width_mm: float
    straights_mm: tuple[float, ...]
    bends: tuple[ProfileBend, ...]

    def __post_init__(self) -> None:
        if len(self.straights_mm) != len(self.bends) + 1:
            raise ShopError(
                "wrong_count",
                "A profile has one more straight part than bends.",
                remedy="Give one more leg than bends.",
                where="legs_mm",
            )
        if len(self.bends) >= MOST_BENDS:
            raise ShopError(
                "too_many_bends",
                say(
                    "The part has {n} bends; at most {most} are taken.",
                    n=str(len(self.bends)),
                    most=str(MOST_BENDS - 1),
                ),
                remedy="Split the part.",
                where="bends",
            )
        if not (self.thickness_mm > 0.0 and self.width_mm > 0.0):
            raise ShopError(
                "out_of_range",
                say(
                    "A sheet {t} thick and {w} wide is no sheet.",
                    t=Amount(self.thickness_mm, "mm"),
                    w=Amount(self.width_mm, "mm"),
                ),
                remedy="Give both above 0.",
                where="width_mm",
            )

    @property
    def bend_lines_mm(self) -> tuple[float, ...]:
        """Distance of each bend line from the first edge, on the flat."""
        lines, at_mm = [], 0.0
        for straight_mm, bend in zip(self.straights_mm, self.bends, strict=False):
            at_mm += straight_mm + bend.allowance_mm / 2
            lines.append(at_mm)
            at_mm += bend.allowance_mm / 2
        return tuple(lines)

    @property
    def flat_length_mm(self) -> float:
        """Length of the flat across the bends."""
        return math.fsum(self.straights_mm) + math.fsum(b.allowance_mm for b in self.bends)

    def rolled(self, index: int, angle_deg: float) -> RolledBend:
        """One bend closed to a signed angle."""
        bend = self.bends[index]
        return rolled_bend(
            angle_deg=angle_deg,
            full_angle_deg=bend.bend_angle_deg,
            inside_radius_mm=bend.inside_radius_mm,
            allowance_mm=bend.allowance_mm,
            thickness_mm=self.thickness_mm,
        )


def flat_part(profile: Profile) -> FlatPart:
    """The general part of a profile: rectangles joined along v, already checked."""
    width_mm = profile.width_mm
    edges = (0.0, *profile.bend_lines_mm, profile.flat_length_mm)
    faces = tuple(
        Face(((u0, 0.0), (u1, 0.0), (u1, width_mm), (u0, width_mm)))
        for u0, u1 in itertools.pairwise(edges)
    )
    bends = tuple(
        BendLine(
            ((u, 0.0), (u, width_mm)),
            (index, index + 1),
            bend.bend_angle_deg,
            bend.inside_radius_mm,
            bend.allowance_mm,
        )
        for index, (u, bend) in enumerate(zip(profile.bend_lines_mm, profile.bends, strict=True))
    )
    return FlatPart(profile.thickness_mm, faces, bends, ((1.0, 0.0),) * len(bends))


@dataclass(frozen=True, slots=True)
class SectionLeg:
    """One straight stretch of a drawn section, on the middle of the sheet."""

    index: int
    start_mm: Point
    end_mm: Point
    heading_deg: float


@dataclass(frozen=True, slots=True)
class SectionBend:
    """One rolled arc of a drawn section.

    `heading_deg` is the sheet's direction where the arc begins, `sweep_deg` its signed turn.
    `outside_corner_mm` is where the outer faces meet if extended, None near a full fold and while
    the bend is flat.
    """

    index: int
    centre_mm: Point
    inside_radius_mm: float
    middle_mm: Point
    heading_deg: float
    sweep_deg: float
    outside_corner_mm: Point | None


@dataclass(frozen=True, slots=True)
class Section:
    """A folded section ready to draw: closed outline, middle of the sheet, legs and bends."""

    outline_mm: Loop
    centre_line_mm: Loop
    legs: tuple[SectionLeg, ...]
    bends: tuple[SectionBend, ...]


@dataclass(frozen=True, slots=True)
class SectionPlace:
    """Where a section lies in the machine: which bend is under the punch, and how.

    The inside of that bend's arc touches the punch tip at (0, `tip_y_mm`). Before the stroke that
    is the sheet's upper face: `tip_y_mm` = thickness.
    """

    bend: int
    side_up: Side
    rear: Rear
    tip_y_mm: float


def section_outline(
    profile: Profile,
    *,
    angles_deg: Mapping[int, float] | Sequence[float] | None = None,
    rolls: Mapping[int, RolledBend] | None = None,
    place: SectionPlace | None = None,
) -> Section:
    """The section with any bends folded to any angles, as polygons true to scale.

    Args:
        profile: straights and bends.
        angles_deg: signed angle now of each bend; a bend left out of a mapping is flat; None folds
            everything to its full angle.
        rolls: rolled arcs to draw instead: the bend under load, whose radius differs from the
            released one, or a hem half closed. With `rolls` alone every other bend is flat.
        place: where the section lies in the machine; None starts at (0, 0) along +x, side A up.

    Returns: a `Section`; every point in the frame asked for.
    """
    if angles_deg is None and rolls is not None:
        angles = {}
    elif angles_deg is None:
        angles = {i: bend.bend_angle_deg for i, bend in enumerate(profile.bends)}
    elif isinstance(angles_deg, Mapping):
        angles = dict(angles_deg)
    else:
        angles = dict(enumerate(angles_deg))
    given = {} if rolls is None else rolls
    arcs = [
        given.get(i) or profile.rolled(i, angles.get(i, 0.0)) for i in range(len(profile.bends))
    ]
    walk = _Walk(profile.thickness_mm)
    for index, straight_mm in enumerate(profile.straights_mm):
        flat_mm = straight_mm
        for beside in (index - 1, index):
            if 0 <= beside < len(arcs):
                flat_mm += (profile.bends[beside].allowance_mm - arcs[beside].arc_mm) / 2
        walk.straight(index, flat_mm)
        if index < len(arcs):
            walk.arc(index, arcs[index])
    section = walk.section()
    return section if place is None else _placed(section, profile.thickness_mm, place)


class _Walk:
    """Goes along side B of the section and notes both faces."""

    def __init__(self, thickness_mm: float) -> None:
        self.t_mm = thickness_mm
        self.x_mm, self.y_mm, self.heading_rad = 0.0, 0.0, 0.0
        self.side_b: list[Point] = [(0.0, 0.0)]
        self.side_a: list[Point] = [(0.0, thickness_mm)]
        self.legs: list[SectionLeg] = []
        self.bends: list[SectionBend] = []

    def at(self, w_mm: float) -> Point:
        """The point above the present place of side B."""
        return (
            self.x_mm - w_mm * math.sin(self.heading_rad),
            self.y_mm + w_mm * math.cos(self.heading_rad),
        )

    def straight(self, index: int, length_mm: float) -> None:
        """Go straight on."""
        start = self.at(self.t_mm / 2)
        self.x_mm += length_mm * math.cos(self.heading_rad)
        self.y_mm += length_mm * math.sin(self.heading_rad)
        self._note()
        end = self.at(self.t_mm / 2)
        self.legs.append(SectionLeg(index, start, end, math.degrees(self.heading_rad)))

    def arc(self, index: int, roll: RolledBend) -> None:
        """Go around a rolled arc."""
        sweep_rad = math.radians(roll.angle_deg)
        centre = self.at(roll.axis_w_mm)
        start_rad = self.heading_rad
        outer_mm = roll.inside_radius_mm + self.t_mm
        steps = _chords(outer_mm, abs(sweep_rad))
        middle = self._on_arc(roll, start_rad + sweep_rad / 2, centre)
        for step in range(1, steps + 1):
            self.heading_rad = start_rad + sweep_rad * step / steps
            self.x_mm, self.y_mm = self._on_arc(roll, self.heading_rad, centre, w_mm=0.0)
            self._note()
        corner = None
        if STRAIGHT_DEG < abs(roll.angle_deg) < APEX_MOST_DEG:
            reach = outer_mm / math.cos(sweep_rad / 2)
            towards = start_rad + sweep_rad / 2 - math.copysign(math.pi / 2, sweep_rad)
            corner = (
                centre[0] + reach * math.cos(towards),
                centre[1] + reach * math.sin(towards),
            )
        self.bends.append(
            SectionBend(
                index,
                centre,
                roll.inside_radius_mm,
                middle,
                math.degrees(start_rad),
                roll.angle_deg,
                corner,
            )
        )

    def _on_arc(
        self, roll: RolledBend, heading_rad: float, centre: Point, w_mm: float | None = None
    ) -> Point:
        arm = (self.t_mm / 2 if w_mm is None else w_mm) - roll.axis_w_mm
        return (
            centre[0] - arm * math.sin(heading_rad),
            centre[1] + arm * math.cos(heading_rad),
        )

    def _note(self) -> None:
        self.side_b.append((self.x_mm, self.y_mm))
        self.side_a.append(self.at(self.t_mm))

    def section(self) -> Section:
        """What was walked so far."""
        middle = tuple(
            ((bx + ax) / 2, (by + ay) / 2)
            for (bx, by), (ax, ay) in zip(self.side_b, self.side_a, strict=True)
        )
        outline = (*self.side_b, *reversed(self.side_a))
        return Section(outline, middle, tuple(self.legs), tuple(self.bends))


def _chords(radius_mm: float, sweep_rad: float) -> int:
    if sweep_rad == 0.0:
        return 1
    step = 2.0 * math.acos(max(0.0, 1.0 - CHORD_MM / radius_mm)) if radius_mm > CHORD_MM else 1.0
    return max(2, math.ceil(sweep_rad / step))


def _placed(section: Section, thickness_mm: float, place: SectionPlace) -> Section:
    """A section turned so that one bend lies under the punch."""
    bend = section.bends[place.bend]
    turn_rad = math.radians(bend.heading_deg + bend.sweep_deg / 2)
    along = 1.0 if place.rear == "second" else -1.0
    up = 1.0 if place.side_up == "A" else -1.0
    cos, sin = math.cos(turn_rad), math.sin(turn_rad)
    middle = bend.middle_mm

    def to_machine(point: Point) -> Point:
        x, y = point[0] - middle[0], point[1] - middle[1]
        return (
            along * (x * cos + y * sin),
            up * (y * cos - x * sin) + place.tip_y_mm - thickness_mm / 2,
        )

    def heading(angle_deg: float) -> float:
        rad = math.radians(angle_deg) - turn_rad
        return math.degrees(math.atan2(up * math.sin(rad), along * math.cos(rad)))

    outline = tuple(to_machine(point) for point in section.outline_mm)
    return Section(
        outline if along * up > 0 else tuple(reversed(outline)),
        tuple(to_machine(point) for point in section.centre_line_mm),
        tuple(
            SectionLeg(
                leg.index,
                to_machine(leg.start_mm),
                to_machine(leg.end_mm),
                heading(leg.heading_deg),
            )
            for leg in section.legs
        ),
        tuple(
            SectionBend(
                arc.index,
                to_machine(arc.centre_mm),
                arc.inside_radius_mm,
                to_machine(arc.middle_mm),
                heading(arc.heading_deg),
                along * up * arc.sweep_deg,
                None if arc.outside_corner_mm is None else to_machine(arc.outside_corner_mm),
            )
            for arc in section.bends
        ),
    )
