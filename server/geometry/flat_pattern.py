"""A sheet with bend lines drawn on it, split into the faces and bends of a part.

Choices made here, where the trade leaves them open:

* What is cut out of the sheet may lie inside it (a hole) or run over its edge (a notch).
* A line may be drawn past the edge, along it, or across a gap: each stretch of it with sheet on both
  sides is one bend.
  A line that ends within `SNAP_MM` of an edge or of another line is taken to end on it.
* Face 0 is the largest; the others follow as bends lead to them, in the order of the lines.
"""

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry.base import BaseGeometry

from server.errors import Amount, ShopError, place, say
from server.geometry.outline import (
    THINNEST_MM,
    Loop,
    Point,
    checked_outline,
    polygons_of,
    signed_area,
)
from server.geometry.part import MOST_BENDS, Face

SNAP_MM = 0.1
BESIDE_MM = 0.005
MOST_CUTOUTS = 400
Line = tuple[Point, Point]


@dataclass(frozen=True, slots=True)
class PatternBend:
    """One stretch of a drawn line on the sheet, and the two faces it joins."""

    line: int
    line_mm: Line
    faces: tuple[int, int]


@dataclass(frozen=True, slots=True)
class SplitPattern:
    """The faces of a sheet and the bends between them; each bend points at its drawn line."""

    faces: tuple[Face, ...]
    bends: tuple[PatternBend, ...]


def sheet_of(outline_mm: Iterable[Point], cutouts_mm: Sequence[Sequence[Point]]) -> Polygon:
    """The sheet: an outline less what is cut out of it.

    Raises: ShopError for an outline that is none, `too_many_cutouts`, `cutout_misses`,
        `nothing_left`, `sheet_in_pieces`; `where` is `outline_mm` or `cutouts.N`.
    """
    sheet: BaseGeometry = Polygon(
        checked_outline(outline_mm, where="outline_mm", name="the outline")
    )
    if len(cutouts_mm) > MOST_CUTOUTS:
        raise ShopError(
            "too_many_cutouts",
            say("There are {n} cut-outs; at most {most} are taken.", n=str(len(cutouts_mm)),
                most=str(MOST_CUTOUTS)),
            remedy="Leave out holes that say nothing about the bends.",
            where="cutouts",
        )  # fmt: skip
    holes = []
    for number, points in enumerate(cutouts_mm):
        where = f"cutouts.{number}"
        hole = Polygon(checked_outline(points, where=where, name=f"cut-out {number + 1}"))
        if not hole.intersects(sheet):
            raise ShopError(
                "cutout_misses",
                say("Cut-out {n} does not touch the sheet.", n=place(number)),
                remedy="Move it, or leave it out.",
                where=where,
            )
        holes.append(hole)
    left = polygons_of(sheet.difference(shapely.union_all(holes)) if holes else sheet)
    left = [piece for piece in left if not piece.buffer(-THINNEST_MM / 2).is_empty]
    if len(left) != 1:
        raise ShopError(
            "sheet_in_pieces" if left else "nothing_left",
            say("The cut-outs part the sheet into {n} pieces.", n=str(len(left)))
            if left
            else say("The cut-outs leave nothing of the sheet."),
            remedy="A part is one piece: move or shrink a cut-out.",
            where="cutouts",
        )
    return left[0]


def split_pattern(sheet: Polygon, lines_mm: Sequence[Line]) -> SplitPattern:
    """The faces and bends of a sheet with bend lines.

    Raises: ShopError `too_many_bends`, `bend_line_without_length`, `bend_line_off_the_sheet`,
        `bend_line_ends_inside`, `bend_line_parts_nothing`; `where` is `lines.N`.
    """
    if len(lines_mm) >= MOST_BENDS:
        raise too_many_bends(len(lines_mm))
    stretches = [
        (number, stretch)
        for number, line in enumerate(lines_mm)
        for stretch in _on_sheet(sheet, line, number)
    ]
    _need_ends_on_edges(sheet, stretches)
    if not stretches:
        return SplitPattern((_face_of(sheet),), ())
    if len(stretches) >= MOST_BENDS:
        raise too_many_bends(len(stretches))
    cuts = [_lengthened(stretch, SNAP_MM) for _, stretch in stretches]
    noded = shapely.union_all([sheet.boundary, *cuts])
    pieces = [
        piece
        for piece in polygons_of(shapely.polygonize(list(_lines_of(noded))))
        if sheet.contains(piece.representative_point())
    ]
    tree = shapely.STRtree(pieces)
    found: list[tuple[int, Line, int, int]] = []
    for number, stretch in _parted(stretches):
        beside = _faces_beside(stretch, pieces, tree)
        if beside is not None:
            found.append((number, stretch, *beside))
    for number in range(len(lines_mm)):
        if all(bend[0] != number for bend in found):
            raise ShopError(
                "bend_line_parts_nothing",
                say("The same face lies on both sides of bend line {n}.", n=place(number)),
                remedy="Draw it from edge to edge, not along an edge.",
                where=f"lines.{number}",
            )
    return _in_order(pieces, found)


def too_many_bends(count: int) -> ShopError:
    """The trouble with a drawing of more bends than are taken."""
    return ShopError(
        "too_many_bends",
        say(
            "The part has {n} bends; at most {most} are taken.",
            n=str(count),
            most=str(MOST_BENDS - 1),
        ),
        remedy="Split the part.",
        where="lines",
    )


def _on_sheet(sheet: Polygon, line: Line, number: int) -> list[Line]:
    """The stretches of a line that lie on the sheet, each from edge to edge."""
    where = f"lines.{number}"
    values = [value for point in line for value in point]
    if not all(math.isfinite(value) for value in values) or math.dist(*line) < THINNEST_MM:
        raise ShopError(
            "bend_line_without_length",
            say("Bend line {n} has no length.", n=place(number)),
            remedy="Give its two ends.",
            where=where,
        )
    stretches: list[Line] = []
    for piece in _lines_of(_lengthened(line, SNAP_MM).intersection(sheet)):
        if piece.length < THINNEST_MM:
            continue
        stretches.append(_ends(piece))
    if not stretches:
        raise ShopError(
            "bend_line_off_the_sheet",
            say("Bend line {n} does not lie on the sheet.", n=place(number)),
            remedy="Move it onto the sheet.",
            where=where,
        )
    return stretches


def _need_ends_on_edges(sheet: Polygon, stretches: Sequence[tuple[int, Line]]) -> None:
    """Every stretch ends on an edge of the sheet or on another line."""
    edge = sheet.boundary
    lines = [LineString(stretch) for _, stretch in stretches]
    tree = shapely.STRtree(lines)
    for index, (number, stretch) in enumerate(stretches):
        for end, other_end in (stretch, stretch[::-1]):
            point = ShapelyPoint(end)
            if edge.distance(point) <= BESIDE_MM:
                continue
            near = tree.query(point, predicate="dwithin", distance=SNAP_MM + BESIDE_MM).tolist()
            if any(other != index for other in near):
                continue
            length = math.dist(end, other_end)
            drawn = _at(end, other_end, min(1.0, SNAP_MM / length))
            raise ShopError(
                "bend_line_ends_inside",
                say(
                    "Bend line {n} ends inside the sheet at {u}, {v}.",
                    n=place(number),
                    u=Amount(drawn[0], "mm"),
                    v=Amount(drawn[1], "mm"),
                ),
                remedy="Lengthen it to the edge, or cut a relief where it ends.",
                where=f"lines.{number}",
            )


def _parted(stretches: Sequence[tuple[int, Line]]) -> Iterable[tuple[int, Line]]:
    """The stretches, each parted where another one meets or crosses it."""
    lines = [_lengthened(stretch, SNAP_MM) for _, stretch in stretches]
    tree = shapely.STRtree(lines)
    for index, (number, (start, end)) in enumerate(stretches):
        length = math.dist(start, end)
        at = [0.0, length]
        for other in tree.query(lines[index], predicate="intersects").tolist():
            if other == index:
                continue
            crossing = lines[index].intersection(lines[other])
            if isinstance(crossing, ShapelyPoint):
                along = math.dist(start, (crossing.x, crossing.y))
                if BESIDE_MM < along < length - BESIDE_MM:
                    at.append(along)
        for low, high in itertools.pairwise(sorted(at)):
            if high - low > BESIDE_MM:
                yield number, (_at(start, end, low / length), _at(start, end, high / length))


def _faces_beside(
    line: Line, pieces: Sequence[Polygon], tree: shapely.STRtree
) -> tuple[int, int] | None:
    (u0, v0), (u1, v1) = line
    length = math.dist(*line)
    normal = (-(v1 - v0) / length, (u1 - u0) / length)
    middle = ((u0 + u1) / 2, (v0 + v1) / 2)
    sides = []
    for sign in (-1.0, 1.0):
        probe = ShapelyPoint(
            middle[0] + sign * BESIDE_MM * normal[0], middle[1] + sign * BESIDE_MM * normal[1]
        )
        inside = [i for i in tree.query(probe).tolist() if pieces[i].covers(probe)]
        if not inside:
            return None
        sides.append(min(inside))
    return None if sides[0] == sides[1] else (sides[0], sides[1])


def _in_order(
    pieces: Sequence[Polygon], found: Sequence[tuple[int, Line, int, int]]
) -> SplitPattern:
    """Faces numbered from the largest as the bends lead to them; others behind."""
    first = max(range(len(pieces)), key=lambda i: (round(pieces[i].area, 6), -i))
    order, waiting = [first], [first]
    while waiting:
        near = waiting.pop(0)
        for _, _, a, b in found:
            far = b if a == near else a if b == near else near
            if far not in order:
                order.append(far)
                waiting.append(far)
    order += [i for i in range(len(pieces)) if i not in order]
    place = {piece: number for number, piece in enumerate(order)}
    return SplitPattern(
        tuple(_face_of(pieces[i]) for i in order),
        tuple(
            PatternBend(number, line, (min(place[a], place[b]), max(place[a], place[b])))
            for number, line, a, b in found
        ),
    )


def _lengthened(line: Line, by_mm: float) -> LineString:
    (u0, v0), (u1, v1) = line
    length = math.dist(*line)
    x, y = (u1 - u0) / length * by_mm, (v1 - v0) / length * by_mm
    return LineString([(u0 - x, v0 - y), (u1 + x, v1 + y)])


def _at(start: Point, end: Point, share: float) -> Point:
    return (start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share)


def _ends(line: LineString) -> Line:
    points = list(line.coords)
    return (
        (float(points[0][0]), float(points[0][1])),
        (float(points[-1][0]), float(points[-1][1])),
    )


def _lines_of(shape: BaseGeometry) -> Iterable[LineString]:
    if isinstance(shape, LineString):
        if not shape.is_empty:
            yield shape
        return
    for member in getattr(shape, "geoms", ()):
        yield from _lines_of(member)


def _face_of(shape: Polygon) -> Face:
    loops: list[Loop] = [
        tuple((float(u), float(v)) for u, v in ring.coords[:-1])
        for ring in (shape.exterior, *shape.interiors)
    ]
    outline, *holes = [loop if signed_area(loop) > 0 else loop[::-1] for loop in loops]
    return Face(outline, tuple(holes))
