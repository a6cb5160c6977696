"""Patterns drawn in outside dimensions, and the blanks they become.

In an outside pattern every face has its outside size and the bend lines are the mold lines. The
blank is shorter by one deduction across each bend line: each of the two faces gives half of it
where the line runs, and everything beyond moves closer. So the folded part keeps its outside sizes
whatever die it is bent in, and `lengthened` undoes what `shortened` did.
"""

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

import shapely
from shapely.affinity import translate
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from server.errors import ShopError, place, say
from server.geometry.outline import THINNEST_MM, Point, polygons_of, signed_area
from server.geometry.part import BendLine, Face, FlatPart, bend_tree

ON_LINE_MM = 1e-4
SLIVER_MM2 = 1e-4
Span = tuple[float, float]


def shortened(part: FlatPart, deductions_mm: Sequence[float]) -> FlatPart:
    """The blank of an outside pattern: a checked part whose bend lines are its mold lines.

    The result is not checked yet.

    Raises: ShopError `face_swallowed` where the deductions leave nothing of a face.
    """
    return _moved(part, [-deduction for deduction in deductions_mm])[0]


def shortened_with_origins(
    part: FlatPart, deductions_mm: Sequence[float]
) -> tuple[FlatPart, tuple[int, ...]]:
    """As `shortened`, and for each bend of the blank the bend of the pattern it comes from."""
    return _moved(part, [-deduction for deduction in deductions_mm])


def lengthened(part: FlatPart, deductions_mm: Sequence[float]) -> FlatPart:
    """The outside pattern of a blank: every face grows by half a deduction at each bend line."""
    return _moved(part, deductions_mm)[0]


def _moved(part: FlatPart, by_mm: Sequence[float]) -> tuple[FlatPart, tuple[int, ...]]:
    """Every face grown by half of `by_mm` at each of its bend lines, and moved apart by it."""
    shifts: dict[int, Point] = {0: (0.0, 0.0)}
    for number, near, far in bend_tree(part):
        x, y = _outward(part, number, near)
        u, v = shifts[near]
        shifts[far] = (u + x * by_mm[number], v + y * by_mm[number])
    shapes = [_grown(part, face, by_mm, shifts[face]) for face in range(len(part.faces))]
    bends: list[BendLine] = []
    origins: list[int] = []
    for index, bend in enumerate(part.bends):
        near = bend.faces[0]
        x, y = part.across[index]
        u, v = shifts[near]
        by = by_mm[index] / 2
        (u0, v0), (u1, v1) = bend.line_mm
        moved = ((u0 + u + x * by, v0 + v + y * by), (u1 + u + x * by, v1 + v + y * by))
        _give_up(shapes, bend.faces, moved, (x, y), abs(by_mm[index]))
        for low, high in _shared(moved, shapes[near], shapes[bend.faces[1]]):
            bends.append(replace(bend, line_mm=(_at(moved, low), _at(moved, high))))
            origins.append(index)
    faces = tuple(_face_of(shape) for shape in shapes)
    return replace(part, faces=faces, bends=tuple(bends), across=(), twins=()), tuple(origins)


def _give_up(
    shapes: list[Polygon],
    faces: tuple[int, int],
    line: tuple[Point, Point],
    out: Point,
    by_mm: float,
) -> None:
    """A cut-out that slants over a bend line leaves both faces a sliver beyond it: each gives up its
    own. Faces that meet farther from the line are left for the check that names them.
    """
    near, far = faces
    beside = LineString(line).buffer(2 * by_mm)
    common = shapely.union_all(
        [
            piece
            for piece in polygons_of(shapes[near].intersection(shapes[far]))
            if piece.area > SLIVER_MM2 and beside.covers(piece)
        ]
    )
    if common.is_empty:
        return
    for face, sign in ((near, 1.0), (far, -1.0)):
        beyond = _beyond(line, (out[0] * sign, out[1] * sign), 4 * by_mm)
        left = polygons_of(shapes[face].difference(common.intersection(beyond)))
        shapes[face] = max(left, key=lambda piece: piece.area)


def _beyond(line: tuple[Point, Point], out: Point, wide_mm: float) -> Polygon:
    """The strip along a line, longer by its width, on one side."""
    (u0, v0), (u1, v1) = line
    length = math.dist(*line)
    x, y = (u1 - u0) / length * wide_mm, (v1 - v0) / length * wide_mm
    ends = [(u0 - x, v0 - y), (u1 + x, v1 + y)]
    return Polygon([*ends, *((u + out[0] * wide_mm, v + out[1] * wide_mm) for u, v in ends[::-1])])


def _grown(part: FlatPart, face: int, by_mm: Sequence[float], shift: Point) -> Polygon:
    shape: BaseGeometry = Polygon(part.faces[face].outline_mm, part.faces[face].holes_mm)
    more: list[Polygon] = []
    less: list[Polygon] = []
    for index, bend in enumerate(part.bends):
        if face not in bend.faces or by_mm[index] == 0.0:
            continue
        outward = _outward(part, index, face)
        strip = _strip(bend, outward, 0.0, by_mm[index] / 2)
        (more if by_mm[index] > 0.0 else less).append(strip)
    if more:
        shape = shapely.union_all([shape, *more], grid_size=1e-9)
    if less:
        shape = shape.difference(shapely.union_all(less))
    pieces = [one for one in polygons_of(shape) if not one.buffer(-THINNEST_MM / 2).is_empty]
    if len(pieces) != 1:
        raise ShopError(
            "face_swallowed",
            say("The bends beside face {face} use up all of it.", face=place(face)),
            remedy="Make the face wider or bend with a smaller inside radius.",
            where=f"part.faces.{face}",
        )
    moved = translate(pieces[0], *shift)
    assert isinstance(moved, Polygon)
    return moved


def _shared(line: tuple[Point, Point], first: Polygon, second: Polygon) -> Iterable[Span]:
    """The stretches of a line, as shares of it, along which both faces have an edge."""
    ours, theirs = _edge_spans(line, first), _edge_spans(line, second)
    length = math.dist(*line)
    for (a, b), (c, d) in itertools.product(ours, theirs):
        low, high = max(a, c, 0.0), min(b, d, length)
        if high - low >= THINNEST_MM:
            yield low / length, high / length


def _edge_spans(line: tuple[Point, Point], face: Polygon) -> list[Span]:
    """Where a face's edges run along a line, measured from its start [mm]."""
    (u0, v0), (u1, v1) = line
    length = math.dist(*line)
    x, y = (u1 - u0) / length, (v1 - v0) / length
    spans = []
    for ring in (face.exterior, *face.interiors):
        for start, end in itertools.pairwise(ring.coords):
            if any(
                abs((point[0] - u0) * y - (point[1] - v0) * x) > ON_LINE_MM
                for point in (start, end)
            ):
                continue
            along = sorted((p[0] - u0) * x + (p[1] - v0) * y for p in (start, end))
            spans.append((along[0], along[1]))
    return _merged(spans)


def _merged(spans: Iterable[Span]) -> list[Span]:
    joined: list[Span] = []
    for low, high in sorted(spans):
        if joined and low <= joined[-1][1] + ON_LINE_MM:
            joined[-1] = (joined[-1][0], max(joined[-1][1], high))
        else:
            joined.append((low, high))
    return joined


def _outward(part: FlatPart, bend: int, near: int) -> Point:
    """Unit vector across a bend, away from one of its faces."""
    x, y = part.across[bend]
    return (x, y) if part.bends[bend].faces[0] == near else (-x, -y)


def _strip(bend: BendLine, outward: Point, near_mm: float, far_mm: float) -> Polygon:
    (u0, v0), (u1, v1) = bend.line_mm
    x, y = outward
    return Polygon(
        [
            (u0 + x * near_mm, v0 + y * near_mm),
            (u1 + x * near_mm, v1 + y * near_mm),
            (u1 + x * far_mm, v1 + y * far_mm),
            (u0 + x * far_mm, v0 + y * far_mm),
        ]
    )


def _at(line: tuple[Point, Point], share: float) -> Point:
    (u0, v0), (u1, v1) = line
    return (u0 + (u1 - u0) * share, v0 + (v1 - v0) * share)


def _face_of(shape: Polygon) -> Face:
    loops = [
        tuple((float(u), float(v)) for u, v in ring.coords[:-1])
        for ring in (shape.exterior, *shape.interiors)
    ]
    outline, *holes = [loop if signed_area(loop) > 0 else loop[::-1] for loop in loops]
    return Face(outline, tuple(holes))
