"""A flat part whose bends may have several zones side by side: offsets and bumped radii.

The sheet between the outermost zone lines of a bend is cut out of its two faces and becomes narrow
strip faces, which follow the part's own faces in number. A window in the bend parts a strip in two;
the zones that close a ring of faces so are second pieces, as twins of an ordinary bend are.

Choice made here, where the trade leaves it open: where the sheet widens beyond the ends of a bend line
by more than half the zones' width, the zones end with the line and the sheet beside them stays with
its face.
"""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely
from shapely.affinity import affine_transform
from shapely.geometry import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry

from server.errors import ShopError, place, say
from server.geometry.outline import THINNEST_MM, Loop, Point, polygons_of, signed_area
from server.geometry.part import BendLine, Face, FlatPart, bend_tree

FAR_MM = 1e5
SLIVER_MM2 = 1e-3
BESIDE_MM = 1e-4
SAME_LINE_MM = 0.01
GRID_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Zone:
    """One zone of a bend: how far its line lies from the bend's own, and what the zone becomes.

    Measured across the bend from its first face to its second.
    """

    offset_mm: float
    bend_angle_deg: float
    inside_radius_mm: float
    allowance_mm: float


@dataclass(frozen=True, slots=True)
class ZonedPart:
    """A part with its bends in zones: the part's bends are its zones.

    `place_of_zone` is which of its bend's zones each is a piece of; `bend_of_strip` is the bend of
    each strip.
    """

    part: FlatPart
    place_of_zone: tuple[int, ...]
    bend_of_strip: tuple[int, ...]

    def zones_of(self, bend: int, at: int) -> tuple[int, ...]:
        """Every piece of one of a bend's zones."""
        return tuple(
            zone
            for zone, (of, where) in enumerate(
                zip(self.part.bend_of_zone, self.place_of_zone, strict=True)
            )
            if of == bend and where == at
        )


def zone_of(bend: BendLine) -> Zone:
    """A bend line as the one zone of its bend."""
    return Zone(0.0, bend.bend_angle_deg, bend.inside_radius_mm, bend.allowance_mm)


def zoned_part(part: FlatPart, zones: Sequence[Sequence[Zone]]) -> ZonedPart:
    """A checked part with its bends in zones, each bend's in order across it.

    Raises: ShopError `face_swallowed` where the zones of a bend leave nothing of a face beside it.
    """
    shapes: list[Polygon] = [Polygon(face.outline_mm, face.holes_mm) for face in part.faces]
    lines: list[BendLine] = []
    across: list[Point] = []
    bend_of_zone: list[int] = []
    place_of_zone: list[int] = []
    bend_of_strip: list[int] = []
    for index, (bend, own) in enumerate(zip(part.bends, zones, strict=True)):
        if len(own) == 1:
            made = [(0, _with_zone(bend, own[0]))]
        else:
            first = len(shapes)
            strips, made = _parted(part, index, own, shapes)
            shapes += strips
            bend_of_strip += [index] * (len(shapes) - first)
        for where, line in made:
            lines.append(line)
            across.append(part.across[index])
            bend_of_zone.append(index)
            place_of_zone.append(where)
    zoned = replace(
        part,
        faces=tuple(_face_of(shape) for shape in shapes) if bend_of_strip else part.faces,
        bends=tuple(lines),
        across=tuple(across),
        twins=_second_pieces(len(shapes), lines) if bend_of_strip else part.twins,
        strips=tuple(range(len(part.faces), len(shapes))),
        bend_of_zone=tuple(bend_of_zone),
    )
    return ZonedPart(zoned, tuple(place_of_zone), tuple(bend_of_strip))


def _with_zone(bend: BendLine, zone: Zone) -> BendLine:
    return replace(
        bend,
        bend_angle_deg=zone.bend_angle_deg,
        inside_radius_mm=zone.inside_radius_mm,
        allowance_mm=zone.allowance_mm,
    )


def _parted(
    part: FlatPart, index: int, zones: Sequence[Zone], shapes: list[Polygon]
) -> tuple[list[Polygon], list[tuple[int, BendLine]]]:
    """The strips between a bend's zones and the lines of its zones; the faces beside it shrink."""
    bend = part.bends[index]
    near, far = bend.faces
    there = _Beside(bend, part.across[index])
    offsets = [zone.offset_mm for zone in zones]
    band = _band(there, shapely.union_all([shapes[near], shapes[far]], grid_size=GRID_MM), offsets)
    for face, keep_below in ((near, True), (far, False)):
        shapes[face] = _rest(there, shapes[face], band, face, below=keep_below, offsets=offsets)
    layers: list[list[tuple[int, Polygon]]] = [[(near, there.seen(shapes[near]))]]
    strips: list[Polygon] = []
    first = len(shapes)
    for low, high in itertools.pairwise(offsets):
        layer = []
        for piece in polygons_of(band.intersection(box(-FAR_MM, low, FAR_MM, high))):
            if piece.area > SLIVER_MM2:
                layer.append((first + len(strips), piece))
                strips.append(there.back(piece))
        layers.append(layer)
    layers.append([(far, there.seen(shapes[far]))])
    made = []
    for where, (zone, below, above) in enumerate(zip(zones, layers, layers[1:], strict=False)):
        for face, shape in below:
            for other, beyond in above:
                for low, high in _common(shape, beyond, zone.offset_mm):
                    line = there.line(zone.offset_mm, low, high)
                    made.append((where, replace(_with_zone(bend, zone), line_mm=line,
                                                faces=(face, other))))  # fmt: skip
    return strips, made


class _Beside:
    """Coordinates along a bend line from its start, and across it toward its second face."""

    def __init__(self, bend: BendLine, across: Point) -> None:
        self.length_mm = bend.length_mm
        self._start, self._along, self._across = bend.line_mm[0], bend.along, across

    def seen(self, shape: BaseGeometry) -> BaseGeometry:
        """A shape of the flat in these coordinates."""
        (u0, v0), (a, b), (c, d) = self._start, self._along, self._across
        matrix = [a, b, c, d, -(a * u0 + b * v0), -(c * u0 + d * v0)]
        return affine_transform(shape, matrix)

    def back(self, shape: Polygon) -> Polygon:
        """A shape in these coordinates, on the flat."""
        (u0, v0), (a, b), (c, d) = self._start, self._along, self._across
        found = affine_transform(shape, [a, c, b, d, u0, v0])
        assert isinstance(found, Polygon)
        return found

    def line(self, offset_mm: float, low: float, high: float) -> tuple[Point, Point]:
        """A stretch of a line beside the bend line, on the flat."""
        (u0, v0), (a, b), (c, d) = self._start, self._along, self._across
        u, v = u0 + c * offset_mm, v0 + d * offset_mm
        return ((u + a * low, v + b * low), (u + a * high, v + b * high))


def _band(there: _Beside, sheet: BaseGeometry, offsets: Sequence[float]) -> BaseGeometry:
    """The sheet between the outermost zone lines that hangs on the bend line."""
    low, high = offsets[0], offsets[-1]
    line = box(0.0, -BESIDE_MM, there.length_mm, BESIDE_MM)
    pieces = polygons_of(there.seen(sheet).intersection(box(-FAR_MM, low, FAR_MM, high)))
    found = [piece for piece in pieces if piece.intersection(line).area > BESIDE_MM * THINNEST_MM]
    band = shapely.union_all(found, grid_size=GRID_MM)
    room_mm = (high - low) / 2 + SAME_LINE_MM
    if band.is_empty:
        return band
    left, _, right, _ = band.bounds
    if left < -room_mm:
        band = band.intersection(box(0.0, low, FAR_MM, high))
    if right > there.length_mm + room_mm:
        band = band.intersection(box(-FAR_MM, low, there.length_mm, high))
    return band


def _rest(
    there: _Beside,
    shape: Polygon,
    band: BaseGeometry,
    face: int,
    *,
    below: bool,
    offsets: Sequence[float],
) -> Polygon:
    """What the zones of a bend leave of a face beside it."""
    level = offsets[0] if below else offsets[-1]
    pieces = [
        piece
        for piece in polygons_of(there.seen(shape).difference(band))
        if not piece.buffer(-THINNEST_MM / 2).is_empty
    ]
    touching = LineString([(-FAR_MM, level), (FAR_MM, level)]).intersection(band)
    beside = [piece for piece in pieces if piece.distance(touching) <= BESIDE_MM]
    if len(pieces) != 1 or not beside:
        raise ShopError(
            "face_swallowed",
            say("The bends beside face {face} use up all of it.", face=place(face)),
            remedy="Make the face wider or bend with a smaller inside radius.",
            where=f"part.faces.{face}",
        )
    return there.back(pieces[0])


def _common(
    first: BaseGeometry, second: BaseGeometry, offset_mm: float
) -> list[tuple[float, float]]:
    """The stretches of a line along which two shapes have an edge each."""
    spans = [_edges_on(shape, offset_mm) for shape in (first, second)]
    found = []
    for low, high in spans[0]:
        for other_low, other_high in spans[1]:
            start, end = max(low, other_low), min(high, other_high)
            if end - start > THINNEST_MM:
                found.append((start, end))
    return found


def _edges_on(shape: BaseGeometry, offset_mm: float) -> list[tuple[float, float]]:
    """Where the outlines of a shape run along a line."""
    spans: list[tuple[float, float]] = []
    for piece in polygons_of(shape):
        for ring in (piece.exterior, *piece.interiors):
            points = list(ring.coords)
            for (x0, y0), (x1, y1) in itertools.pairwise(points):
                on_it = abs(y0 - offset_mm) <= BESIDE_MM and abs(y1 - offset_mm) <= BESIDE_MM
                if on_it and x0 != x1:
                    spans.append((min(x0, x1), max(x0, x1)))
    joined: list[tuple[float, float]] = []
    for low, high in sorted(spans):
        if joined and low <= joined[-1][1] + BESIDE_MM:
            joined[-1] = (joined[-1][0], max(joined[-1][1], high))
        else:
            joined.append((low, high))
    return joined


def _second_pieces(face_count: int, lines: Sequence[BendLine]) -> tuple[int, ...]:
    """The bends that close a ring: both their faces are joined by the bends before them."""
    group = list(range(face_count))

    def find(face: int) -> int:
        while group[face] != face:
            face = group[face]
        return face

    twins = []
    for index, line in enumerate(lines):
        first, second = (find(face) for face in line.faces)
        if first == second:
            twins.append(index)
        group[first] = second
    return tuple(twins)


def _face_of(shape: Polygon) -> Face:
    loops: list[Loop] = [
        tuple((float(u), float(v)) for u, v in ring.coords[:-1])
        for ring in (shape.exterior, *shape.interiors)
    ]
    outline, *holes = [loop if signed_area(loop) > 0 else loop[::-1] for loop in loops]
    return Face(outline, tuple(holes))


def spread(allowances_mm: Sequence[float], straights_mm: Sequence[float]) -> tuple[float, ...]:
    """Where the lines of zones in a row lie, measured from the middle of them all.

    >>> spread([2.0, 2.0], [6.0])
    (-4.0, 4.0)
    """
    at_mm, lines = 0.0, []
    for number, allowance_mm in enumerate(allowances_mm):
        lines.append(at_mm + allowance_mm / 2)
        at_mm += allowance_mm
        if number + 1 < len(allowances_mm):
            at_mm += straights_mm[number]
    return tuple(line - at_mm / 2 for line in lines)


def lines_toward(part: FlatPart, zones: Sequence[int], which: int) -> tuple[int, ...]:
    """Of the zones one stroke makes, those nearest to one half: of the first faces or the second."""
    (u0, v0), (x, y) = part.bends[zones[0]].line_mm[0], part.across[zones[0]]
    away = [
        (part.bends[zone].line_mm[0][0] - u0) * x + (part.bends[zone].line_mm[0][1] - v0) * y
        for zone in zones
    ]
    nearest = max(away) if which else min(away)
    return tuple(
        zone for zone, at in zip(zones, away, strict=True) if abs(at - nearest) <= SAME_LINE_MM
    )


def reach_beyond(part: FlatPart, zones: Sequence[int], which: int) -> tuple[float, int]:
    """How far the flat goes beyond one side of a stroke's zones [mm], and how many zones it has."""
    own = lines_toward(part, zones, which)
    lead, out = part.bends[own[0]], part.across[own[0]]
    sign = 1.0 if which else -1.0
    side, bends_count = {lead.faces[which]: 0}, 0
    for bend, near, far in bend_tree(part, lead.faces[which]):
        side[far] = side[near] ^ (bend in own)
        bends_count += side[far] == 0 and bend not in own
    (u0, v0) = lead.line_mm[0]
    reach_mm = max(
        sign * ((u - u0) * out[0] + (v - v0) * out[1])
        for face, where in side.items()
        if where == 0
        for u, v in part.faces[face].outline_mm
    )
    return reach_mm, bends_count
