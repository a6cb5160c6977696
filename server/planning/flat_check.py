"""What speaks against a flat part on the drawing board, before it is planned.

Flanges are measured on the whole flat sheet: a bend beyond may be made later, the planner decides.
Choices made here: the sheet may be bare at both ends of a bend over the distance needed (a 45 degree
mitre) and over the V in between (a hole), and has to bear on half of the line, as in planning.
"""

import math
from collections.abc import Iterator, Sequence

import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from server.errors import Amount, ShopError, place, say
from server.findings import Finding
from server.geometry.outline import Point
from server.geometry.part import BendLine, FlatPart, stroke_groups
from server.geometry.self_collision import self_collision
from server.geometry.zoned_part import ZonedPart
from server.mechanics.edge_distance import check_hole_to_bend, check_relief
from server.mechanics.minimum_radius import din6935_minimum_radius
from server.planning.bend_way import BentWay
from server.planning.blank import DrawnBend, SheetInTools, apex_flange, bend_findings
from server.planning.drawn_flat import Grain

MOST_FACES_HELD_TOGETHER = 40
TOUCH_MM = 0.01
DEEP_ENOUGH_MM = 1e4
ALONG_DEG = 30.0
Span = tuple[float, float]


def check_flat(
    part: FlatPart,
    folded: ZonedPart,
    outline: Polygon,
    drawn: Sequence[DrawnBend],
    bents: Sequence[BentWay],
    sheet: SheetInTools,
    grain: Grain = "any",
) -> Iterator[Finding]:
    """Everything that can be said of a flat part by its flat and its folded state."""
    lengths = _stroke_lengths(part)
    for index, (bend, bent) in enumerate(zip(drawn, bents, strict=True)):
        line = part.bends[index]
        flange_mm = min(
            _flange(outline, line, part.across[index], sign, bent, sheet) for sign in (-1.0, 1.0)
        )
        yield from bend_findings(sheet, bend, bent, lengths[index], flange_mm, index)
        yield from _hole_findings(part, index, sheet)
        yield from _relief_findings(outline, part, index, sheet)
        yield from _grain_findings(part.bends[index], index, sheet, grain)
    yield from _folded_findings(folded)


def _stroke_lengths(part: FlatPart) -> list[float]:
    """The length one stroke bends at each bend: all bends on its line together."""
    lengths = [0.0] * len(part.bends)
    for group in stroke_groups(part):
        total_mm = math.fsum(part.bends[bend].length_mm for bend in group)
        for bend in group:
            lengths[bend] = total_mm
    return lengths


def _flange(
    outline: Polygon,
    line: BendLine,
    across: Point,
    sign: float,
    bent: BentWay,
    sheet: SheetInTools,
) -> float:
    """The outside flange on one side, as far as the bend has to bear on it [mm]."""
    least_mm = max(hit.least_flange_mm for hit in bent.hits) * (1 + sheet.flange_margin)
    air = bent.hits[0].air
    if air is None or bent.hits[-1].what == "flatten":
        apex_mm = bent.use.outside_setback_mm
    else:
        apex_mm = apex_flange(straight_mm=0.0, air=air, thickness_mm=sheet.thickness_mm)
    beyond_mm = apex_mm - line.allowance_mm / 2
    need_mm = max(least_mm - beyond_mm, TOUCH_MM)
    outward = (across[0] * sign, across[1] * sign)
    return bearing_reach(outline, line, outward, need_mm, sheet.die.v_opening_mm) + beyond_mm


def bearing_reach(
    sheet: BaseGeometry, line: BendLine, outward: Point, need_mm: float, gap_mm: float
) -> float:
    """How far from a bend line the sheet bears [mm]: `need_mm` where it is enough.

    Formula: bare stretches of the line at `need_mm` may be `need_mm` long at the ends and `gap_mm`
        in between, and take up half of it at most; else the reach where the widest one is
    """
    at_need = _beside(line, outward, need_mm)
    covered = sorted(
        sorted(at_need.project(shapely.Point(p)) for p in (piece.coords[0], piece.coords[-1]))
        for piece in _lines_of(at_need.intersection(sheet))
    )
    bare: list[Span] = []
    at_mm, length = 0.0, line.length_mm
    for low, high in covered:
        if low - at_mm > TOUCH_MM:
            bare.append((at_mm, low))
        at_mm = max(at_mm, high)
    if length - at_mm > TOUCH_MM:
        bare.append((at_mm, length))
    allowed = all(
        b - a <= (need_mm if a <= TOUCH_MM or b >= length - TOUCH_MM else gap_mm) for a, b in bare
    )
    if allowed and math.fsum(b - a for a, b in bare) <= length / 2:
        return need_mm
    a, b = max(bare, key=lambda span: span[1] - span[0])
    (u, v), (x, y), middle = line.line_mm[0], line.along, (a + b) / 2
    start = (u + x * middle, v + y * middle)
    ray = LineString([start, (start[0] + outward[0] * need_mm, start[1] + outward[1] * need_mm)])
    reaches = [
        max(ray.project(shapely.Point(p)) for p in (piece.coords[0], piece.coords[-1]))
        for piece in _lines_of(ray.intersection(sheet))
        if ray.project(shapely.Point(piece.coords[0])) < TOUCH_MM
        or ray.project(shapely.Point(piece.coords[-1])) < TOUCH_MM
    ]
    return max(reaches, default=0.0)


def _beside(line: BendLine, outward: Point, away_mm: float) -> LineString:
    (u0, v0), (u1, v1) = line.line_mm
    (x, y) = outward
    return LineString([(u0 + x * away_mm, v0 + y * away_mm), (u1 + x * away_mm, v1 + y * away_mm)])


def _hole_findings(part: FlatPart, index: int, sheet: SheetInTools) -> Iterator[Finding]:
    """The hole nearest to a bend, when it is too near."""
    line = part.bends[index]
    bare = LineString(line.line_mm)
    half_mm = line.allowance_mm / 2
    distances = [
        bare.distance(Polygon(hole)) - half_mm
        for face in line.faces
        for hole in part.faces[face].holes_mm
    ]
    if distances:
        yield from check_hole_to_bend(
            distance_mm=min(distances),
            thickness_mm=sheet.thickness_mm,
            inside_radius_mm=line.inside_radius_mm,
            bend=index,
        )


def _relief_findings(
    outline: Polygon, part: FlatPart, index: int, sheet: SheetInTools
) -> Iterator[Finding]:
    """Sheet right beside the end of a bend's zone: it tears without a relief."""
    line, across = part.bends[index], part.across[index]
    half_mm = line.allowance_mm / 2 - TOUCH_MM
    if half_mm <= 0.0:
        return
    (x, y) = line.along
    for end, way in ((line.line_mm[0], -1.0), (line.line_mm[1], 1.0)):
        band = _band(end, (x * way, y * way), across, half_mm, sheet.thickness_mm)
        beside = band.intersection(outline)
        if beside.area <= TOUCH_MM * sheet.thickness_mm:
            continue
        edge = LineString(
            [
                (end[0] - across[0] * half_mm, end[1] - across[1] * half_mm),
                (end[0] + across[0] * half_mm, end[1] + across[1] * half_mm),
            ]
        )
        found = check_relief(
            width_mm=max(0.0, edge.distance(beside)),
            depth_mm=DEEP_ENOUGH_MM,
            thickness_mm=sheet.thickness_mm,
            inside_radius_mm=line.inside_radius_mm,
            bend=index,
        )
        if found:
            yield found[0]
            return


def _band(end: Point, along: Point, across: Point, half_mm: float, far_mm: float) -> Polygon:
    (u, v), (x, y), (p, q) = end, along, across
    near_mm = TOUCH_MM
    return Polygon(
        [
            (u + x * near_mm - p * half_mm, v + y * near_mm - q * half_mm),
            (u + x * far_mm - p * half_mm, v + y * far_mm - q * half_mm),
            (u + x * far_mm + p * half_mm, v + y * far_mm + q * half_mm),
            (u + x * near_mm + p * half_mm, v + y * near_mm + q * half_mm),
        ]
    )


def _grain_findings(
    line: BendLine, index: int, sheet: SheetInTools, grain: Grain
) -> Iterator[Finding]:
    """A bend line along the rolling direction cracks at a larger radius."""
    if grain == "any" or sheet.material.family not in ("steel", "galvanized"):
        return
    x, y = line.along
    if abs(y if grain == "u" else x) > math.sin(math.radians(ALONG_DEG)):
        return
    try:
        advised_mm = din6935_minimum_radius(
            tensile_strength_mpa=sheet.material.tensile_strength_mpa,
            thickness_mm=sheet.thickness_mm,
            bend_angle_deg=abs(line.bend_angle_deg),
            bend_line="along",
        )
    except ShopError:
        return
    if line.inside_radius_mm < advised_mm * (1 - 1e-9):
        yield Finding(
            "caution",
            "bend_along_grain",
            say(
                "Bend {bend} runs along the grain; its inside radius is {radius}, there DIN 6935 "
                "advises {advised}.",
                bend=place(index),
                radius=Amount(line.inside_radius_mm, "mm"),
                advised=Amount(advised_mm, "mm"),
            ),
            say("Turn the blank on the sheet, or use a wider V."),
            source="DIN 6935 (1975), table of smallest bending radii",
            bend=index,
        )


def _folded_findings(folded: ZonedPart) -> Iterator[Finding]:
    """Faces that share space when everything is bent."""
    part = folded.part
    if len(part.faces) > MOST_FACES_HELD_TOGETHER:
        yield Finding(
            "note",
            "not_held_together",
            say(
                "Whether the folded part runs into itself is looked at while planning: it has more "
                "than {most} faces.",
                most=str(MOST_FACES_HELD_TOGETHER),
            ),
            source="time",
        )
        return
    angles = {index: bend.bend_angle_deg for index, bend in enumerate(part.bends)}
    for meeting in self_collision(part, angles)[:3]:
        yield Finding(
            "stop",
            "runs_into_itself",
            say(
                "Folded, faces {a} and {b} run into each other.",
                a=place(_face_of(folded, meeting.face_a)),
                b=place(_face_of(folded, meeting.face_b)),
            ),
            say("Shorten one of them by the thickness, or cut a relief between them."),
            source="geometry of the folded part",
        )


def _face_of(folded: ZonedPart, face: int) -> int:
    """A face of the part: for a strip within a bend, the first one beside that bend."""
    part = folded.part
    if face not in part.strips:
        return face
    return min(
        part.bends[zone].faces[0]
        for zone in part.zones_at(folded.bend_of_strip[part.strips.index(face)])
    )


def _lines_of(shape: BaseGeometry) -> Iterator[LineString]:
    if isinstance(shape, LineString):
        if not shape.is_empty:
            yield shape
        return
    for member in getattr(shape, "geoms", ()):
        yield from _lines_of(member)
