"""A folded part as flat faces joined by bends: flat coordinates (u, v) in mm, side A up.

Conventions chosen here, where the trade leaves them open:

* Faces meet at the bend line: the bend's own zone (its allowance, half on each side of the line)
  belongs to the outlines. An outline that stops short of the line by up to half the allowance is
  accepted and filled up to the line.
* Two bends on one line between the same two faces (a window in the bend) are one bend in two
  pieces. Any other second way from face to face is a cycle: a seam is missing.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from server.errors import Amount, ShopError, place, say
from server.geometry.outline import (
    SAME_POINT_MM,
    THINNEST_MM,
    Loop,
    Point,
    checked_outline,
    polygons_of,
    signed_area,
)

MOST_BENDS = 500
MOST_FACES = MOST_BENDS + 1
ON_LINE_MM = 0.01
SAME_ANGLE_DEG = 1e-6
OVERLAP_MM2 = 0.01
STRIP_MM = 0.02


@dataclass(frozen=True, slots=True)
class Face:
    """One flat region: outer outline and holes, counter-clockwise, in flat coordinates [mm]."""

    outline_mm: Loop
    holes_mm: tuple[Loop, ...] = ()


@dataclass(frozen=True, slots=True)
class BendLine:
    """One bend on its centre line. A positive angle closes toward side A.

    `inside_radius_mm` and `allowance_mm` (neutral arc length) are 0 until the die is known.
    """

    line_mm: tuple[Point, Point]
    faces: tuple[int, int]
    bend_angle_deg: float
    inside_radius_mm: float = 0.0
    allowance_mm: float = 0.0

    @property
    def length_mm(self) -> float:
        """Length of the bend line."""
        return math.dist(*self.line_mm)

    @property
    def along(self) -> Point:
        """Unit vector along the line."""
        (u0, v0), (u1, v1) = self.line_mm
        return ((u1 - u0) / self.length_mm, (v1 - v0) / self.length_mm)


@dataclass(frozen=True, slots=True)
class FlatPart:
    """Faces and bends of one sheet. `across` of a bend points from its first face to its second.

    A part in zones has a bend line for each zone: `bend_of_zone` tells the drawn bend of each, and
    `strips` are the narrow faces within a drawn bend, which its zones may use up.
    """

    thickness_mm: float
    faces: tuple[Face, ...]
    bends: tuple[BendLine, ...]
    across: tuple[Point, ...] = ()
    twins: tuple[int, ...] = ()
    strips: tuple[int, ...] = ()
    bend_of_zone: tuple[int, ...] = ()

    def bend_at(self, zone: int) -> int:
        """The drawn bend that a bend line is of."""
        return self.bend_of_zone[zone] if self.bend_of_zone else zone

    def zones_at(self, bend: int) -> tuple[int, ...]:
        """The bend lines of a drawn bend."""
        if not self.bend_of_zone:
            return (bend,)
        return tuple(zone for zone, of in enumerate(self.bend_of_zone) if of == bend)

    def with_uses(
        self, inside_radii_mm: Sequence[float], allowances_mm: Sequence[float]
    ) -> "FlatPart":
        """The same part with each bend's inside radius and allowance."""
        bends = tuple(
            replace(bend, inside_radius_mm=radius_mm, allowance_mm=allowance_mm)
            for bend, radius_mm, allowance_mm in zip(
                self.bends, inside_radii_mm, allowances_mm, strict=True
            )
        )
        return replace(self, bends=bends)


def checked_part(part: FlatPart, *, where: str = "part") -> FlatPart:
    """A part that can be folded: outlines cleaned and filled up to the bend lines.

    Raises: ShopError for anything wrong with outlines, bend lines or the way faces hang together;
        `where` names the face or bend.
    """
    _need_counts(part, where)
    faces = [_checked_face(face, i, where) for i, face in enumerate(part.faces)]
    shapes = [Polygon(face.outline_mm, face.holes_mm) for face in faces]
    _need_apart(shapes, where)
    across = [_checked_bend(bend, i, shapes, where) for i, bend in enumerate(part.bends)]
    twins = _need_tree(part, where)
    filled = [_filled(shape, index, part, across) for index, shape in enumerate(shapes)]
    return replace(
        part,
        faces=tuple(_face_of(shape) for shape in filled),
        across=tuple(across),
        twins=twins,
    )


def flat_area(part: FlatPart) -> float:
    """Area of the flat blank [mm2]."""
    return math.fsum(
        abs(signed_area(face.outline_mm)) - sum(abs(signed_area(hole)) for hole in face.holes_mm)
        for face in part.faces
    )


def flat_size(part: FlatPart) -> tuple[float, float]:
    """Size of the rectangle around the flat blank along u and v [mm]."""
    points = [point for face in part.faces for point in face.outline_mm]
    us, vs = [p[0] for p in points], [p[1] for p in points]
    return max(us) - min(us), max(vs) - min(vs)


def stroke_groups(part: FlatPart) -> tuple[tuple[int, ...], ...]:
    """Bends that one stroke makes: on one line, with the same angle, radius and sign."""
    groups: list[list[int]] = []
    for index, bend in enumerate(part.bends):
        for group in groups:
            if _same_stroke(part.bends[group[0]], bend):
                group.append(index)
                break
        else:
            groups.append([index])
    return tuple(tuple(group) for group in groups)


def bend_tree(part: FlatPart, root: int = 0) -> tuple[tuple[int, int, int], ...]:
    """The bends as (bend, face nearer the root, face farther), each face after its parent."""
    beside: list[list[int]] = [[] for _ in part.faces]
    for index, bend in enumerate(part.bends):
        if index not in part.twins:
            for face in bend.faces:
                beside[face].append(index)
    order: list[tuple[int, int, int]] = []
    seen, waiting = {root}, [root]
    while waiting:
        near = waiting.pop(0)
        for index in beside[near]:
            first, second = part.bends[index].faces
            far = second if first == near else first
            if far not in seen:
                seen.add(far)
                order.append((index, near, far))
                waiting.append(far)
    return tuple(order)


def flat_regions(part: FlatPart) -> tuple[tuple[Face, ...], ...]:
    """What stays flat of each face: the outline without the halves of its bend zones.

    Raises: ShopError `face_swallowed` when the bends beside a face use all of it.
    """
    regions = []
    for index, face in enumerate(part.faces):
        shape: BaseGeometry = Polygon(face.outline_mm, face.holes_mm)
        zones = [zone_half(part, bend, index) for bend in _bends_of_face(part, index)]
        if zones:
            shape = shape.difference(shapely.union_all(zones))
        pieces = [piece for piece in polygons_of(shape) if piece.area > OVERLAP_MM2]
        if not pieces and index not in part.strips:
            raise ShopError(
                "face_swallowed",
                say("The bends beside face {face} use up all of it.", face=place(index)),
                remedy="Make the face wider or bend with a smaller inside radius.",
                where=f"part.faces.{index}",
            )
        regions.append(tuple(_face_of(piece) for piece in pieces))
    return tuple(regions)


def zone_half(part: FlatPart, bend_index: int, face_index: int) -> Polygon:
    """The half of a bend's zone that lies in one of its faces."""
    bend = part.bends[bend_index]
    sign = 1.0 if bend.faces[1] == face_index else -1.0
    return _strip(bend, part.across[bend_index], 0.0, sign * bend.allowance_mm / 2)


def _need_counts(part: FlatPart, where: str) -> None:
    if not 0.0 < part.thickness_mm < math.inf:
        raise ShopError(
            "out_of_range",
            "The thickness has to be above 0.",
            remedy="Give the measured sheet thickness.",
            where="thickness_mm",
        )
    for what, count, most in (
        ("faces", len(part.faces), MOST_FACES),
        ("bends", len(part.bends), MOST_BENDS - 1),
    ):
        if count > most:
            raise ShopError(
                f"too_many_{what}",
                say(
                    "The part has {n} {what}; at most {m} are taken.",
                    n=str(count),
                    what=what,
                    m=str(most),
                ),
                remedy="Split the part.",
                where=f"{where}.{what}",
            )
    if not part.faces:
        raise ShopError(
            "no_faces", "The part has no face.", remedy="Draw one.", where=f"{where}.faces"
        )


def _checked_face(face: Face, index: int, where: str) -> Face:
    here = f"{where}.faces.{index}"
    name = f"face {index}"
    outline = checked_outline(face.outline_mm, where=f"{here}.outline_mm", name=name)
    shape = Polygon(outline)
    holes: list[Loop] = []
    for number, points in enumerate(face.holes_mm):
        at = f"{here}.holes_mm.{number}"
        hole = checked_outline(points, where=at, name=f"hole {number} of {name}")
        if not shape.contains(Polygon(hole)) or any(
            Polygon(hole).intersects(Polygon(other)) for other in holes
        ):
            raise ShopError(
                "hole_off_the_face",
                say("Hole {hole} is not inside {face}.", hole=str(number), face=name),
                remedy="Move it, or cut it out of the outline.",
                where=at,
            )
        holes.append(hole)
    return Face(outline, tuple(holes))


def _checked_bend(bend: BendLine, index: int, shapes: Sequence[Polygon], where: str) -> Point:
    """The unit vector across the bend, from its first face to its second."""
    here = f"{where}.bends.{index}"
    if any(not 0 <= face < len(shapes) for face in bend.faces) or bend.faces[0] == bend.faces[1]:
        raise ShopError(
            "no_such_face",
            say(
                "Bend {bend} joins faces {a} and {b}; the part has faces {none} to {last}.",
                bend=place(index),
                a=place(bend.faces[0]),
                b=place(bend.faces[1]),
                none=place(0),
                last=place(len(shapes) - 1),
            ),
            remedy="Name two different faces of the part.",
            where=f"{here}.faces",
        )
    if not 0.0 < abs(bend.bend_angle_deg) <= 180.0:
        raise ShopError(
            "not_a_bend",
            say(
                "Bend {bend} has {angle}.",
                bend=place(index),
                angle=Amount(bend.bend_angle_deg, "deg"),
            ),
            remedy="Give an angle above 0°, up to 180°, signed by the side that closes.",
            where=f"{here}.bend_angle_deg",
        )
    points = [value for point in bend.line_mm for value in point]
    if not all(math.isfinite(value) for value in points) or bend.length_mm < THINNEST_MM:
        raise ShopError(
            "bend_line_without_length",
            say("The line of bend {bend} has no length.", bend=place(index)),
            remedy="Give its two ends.",
            where=f"{here}.line_mm",
        )
    along = bend.along
    across = (-along[1], along[0])
    first, second = (shapes[face] for face in bend.faces)
    for candidate in (across, (-across[0], -across[1])):
        off_mm = max(
            _off_the_face_mm(bend, first, (-candidate[0], -candidate[1]), second),
            _off_the_face_mm(bend, second, candidate, first),
        )
        if off_mm <= ON_LINE_MM + 0.01 * bend.length_mm:
            return candidate
    raise ShopError(
        "bend_line_off_the_sheet",
        say(
            "The line of bend {bend} does not lie along the seam of faces {a} and {b}.",
            bend=place(index),
            a=place(bend.faces[0]),
            b=place(bend.faces[1]),
        ),
        remedy="Let both outlines end at the line, along its whole length.",
        where=f"{here}.line_mm",
    )


def _off_the_face_mm(bend: BendLine, face: Polygon, outward: Point, other: Polygon) -> float:
    """Length of the line beside which the face is missing or the other face lies instead."""
    gap_mm = face.distance(LineString(bend.line_mm))
    if gap_mm > bend.allowance_mm / 2 + ON_LINE_MM:
        return bend.length_mm
    strip = _strip(bend, outward, gap_mm + ON_LINE_MM, gap_mm + ON_LINE_MM + STRIP_MM)
    covered_mm2 = face.intersection(strip).area - other.intersection(strip).area
    return float(bend.length_mm - covered_mm2 / STRIP_MM)


def _need_tree(part: FlatPart, where: str) -> tuple[int, ...]:
    """The bends that are second pieces of another bend; everything else has to be a tree."""
    group = list(range(len(part.faces)))
    joins: dict[tuple[int, ...], int] = {}
    twins = []

    def find(face: int) -> int:
        while group[face] != face:
            group[face] = group[group[face]]
            face = group[face]
        return face

    for index, bend in enumerate(part.bends):
        pair = tuple(sorted(bend.faces))
        if pair in joins and _same_stroke(part.bends[joins[pair]], bend):
            twins.append(index)
            continue
        first, second = find(bend.faces[0]), find(bend.faces[1])
        if first == second:
            ring = _ring(part, index, twins)
            raise ShopError(
                "cycle",
                say(
                    f"Faces {', '.join(f'{{face_{face}}}' for face in ring)} form a closed ring "
                    "of bends.",
                    **{f"face_{face}": place(face) for face in ring},
                ),
                remedy="Open one seam of the ring: two of these faces meet without a bend.",
                where=f"{where}.bends.{index}",
            )
        group[first] = second
        joins[pair] = index
    root = find(0)
    for face in range(len(part.faces)):
        if find(face) != root:
            raise ShopError(
                "faces_apart",
                say(
                    "Face {face} is not joined to face {first} by any bends.",
                    face=place(face),
                    first=place(0),
                ),
                remedy="Add the bend that holds it, or leave the face out.",
                where=f"{where}.faces.{face}",
            )
    return tuple(twins)


def _ring(part: FlatPart, closing: int, twins: Sequence[int]) -> list[int]:
    """The faces around the ring that one bend closes, by walking the bends before it."""
    start, goal = part.bends[closing].faces
    came: dict[int, int] = {start: start}
    waiting = [start]
    while goal not in came:
        near = waiting.pop(0)
        for index, bend in enumerate(part.bends[:closing]):
            if near in bend.faces and index not in twins:
                far = bend.faces[1] if bend.faces[0] == near else bend.faces[0]
                if far not in came:
                    came[far] = near
                    waiting.append(far)
    ring = [goal]
    while ring[-1] != start:
        ring.append(came[ring[-1]])
    return sorted(ring)


def _need_apart(shapes: Sequence[Polygon], where: str) -> None:
    tree = shapely.STRtree(list(shapes))
    pairs = tree.query(list(shapes), predicate="intersects")
    for first, second in sorted(zip(*(side.tolist() for side in pairs), strict=True)):
        if first >= second:
            continue
        common = shapes[first].intersection(shapes[second]).area
        if common > OVERLAP_MM2:
            raise ShopError(
                "faces_overlap",
                say(
                    "Faces {a} and {b} overlap by {area}.",
                    a=place(first),
                    b=place(second),
                    area=Amount(common, "mm2"),
                ),
                remedy="One sheet cannot be in two faces: move their seam.",
                where=f"{where}.faces.{second}",
            )


def _filled(shape: Polygon, face: int, part: FlatPart, across: Sequence[Point]) -> Polygon:
    """A face with the gaps up to its bend lines closed."""
    fills = []
    for index in _bends_of_face(part, face):
        bend = part.bends[index]
        gap_mm = shape.distance(LineString(bend.line_mm))
        if gap_mm > SAME_POINT_MM:
            sign = 1.0 if bend.faces[1] == face else -1.0
            fills.append(_strip(bend, across[index], 0.0, sign * (gap_mm + ON_LINE_MM)))
    if not fills:
        return shape
    return max(polygons_of(shapely.union_all([shape, *fills])), key=lambda area: area.area)


def _bends_of_face(part: FlatPart, face: int) -> Iterator[int]:
    return (index for index, bend in enumerate(part.bends) if face in bend.faces)


def _strip(bend: BendLine, outward: Point, near_mm: float, far_mm: float) -> Polygon:
    """Rectangle beside a bend line, between two distances from it."""
    (u0, v0), (u1, v1) = bend.line_mm
    (x, y) = outward
    return Polygon(
        [
            (u0 + x * near_mm, v0 + y * near_mm),
            (u1 + x * near_mm, v1 + y * near_mm),
            (u1 + x * far_mm, v1 + y * far_mm),
            (u0 + x * far_mm, v0 + y * far_mm),
        ]
    )


def _face_of(shape: Polygon) -> Face:
    loops = [
        tuple((float(u), float(v)) for u, v in ring.coords[:-1])
        for ring in (shape.exterior, *shape.interiors)
    ]
    first, *rest = [loop if signed_area(loop) > 0 else loop[::-1] for loop in loops]
    return Face(first, tuple(rest))


def _same_stroke(first: BendLine, second: BendLine) -> bool:
    if abs(first.bend_angle_deg - second.bend_angle_deg) > SAME_ANGLE_DEG or (
        abs(first.inside_radius_mm - second.inside_radius_mm) > ON_LINE_MM
    ):
        return False
    (u0, v0), (x, y) = first.line_mm[0], first.along
    return all(abs((u - u0) * y - (v - v0) * x) <= ON_LINE_MM for u, v in second.line_mm)
