"""Closed outlines in the plane: checks, convex parts, erosion, and overlap of two shapes.

Points are (x, y) in mm. A checked outline runs counter-clockwise and does not repeat its first
point.
"""

import itertools
import math
from collections.abc import Iterable, Sequence

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from server.errors import Amount, ShopError, say

Point = tuple[float, float]
Loop = tuple[Point, ...]

LARGEST_COORDINATE_MM = 1e5
MOST_POINTS = 5000
SAME_POINT_MM = 1e-6
THINNEST_MM = 0.05
"""A face or tool narrower than this everywhere is taken for a drawing error."""


def signed_area(points: Sequence[Point]) -> float:
    """Area of a closed outline [mm2], positive when it runs counter-clockwise."""
    return 0.5 * math.fsum(
        first[0] * second[1] - second[0] * first[1]
        for first, second in itertools.pairwise((*points, points[0]))
    )


def checked_outline(points: Iterable[Point], *, where: str, name: str) -> Loop:
    """A clean counter-clockwise outline, or the trouble with it.

    Raises: ShopError `too_few_points`, `too_many_points`, `point_too_far`, `outline_crosses_itself`
        or `zero_width`, naming the shape.
    """
    loop: list[Point] = []
    for x, y in points:
        if not (abs(x) <= LARGEST_COORDINATE_MM and abs(y) <= LARGEST_COORDINATE_MM):
            raise ShopError(
                "point_too_far",
                say(
                    "A point of {name} lies beyond {limit}.",
                    name=name,
                    limit=Amount(LARGEST_COORDINATE_MM, "mm"),
                ),
                remedy="Check the unit of the drawing.",
                where=where,
            )
        if not loop or math.dist(loop[-1], (x, y)) > SAME_POINT_MM:
            loop.append((float(x), float(y)))
        if len(loop) > MOST_POINTS:
            raise ShopError(
                "too_many_points",
                say("{name} has more than {most} points.", name=name, most=str(MOST_POINTS)),
                remedy="Draw curves with fewer, longer pieces.",
                where=where,
            )
    while len(loop) > 1 and math.dist(loop[0], loop[-1]) <= SAME_POINT_MM:
        loop.pop()
    if len(loop) < 3:
        raise ShopError(
            "too_few_points",
            say("{name} has fewer than three different points.", name=name),
            remedy="Give a closed outline.",
            where=where,
        )
    shape = Polygon(loop)
    if not shape.is_valid:
        raise ShopError(
            "outline_crosses_itself",
            say("The outline of {name} crosses or touches itself.", name=name),
            remedy="Redraw it so that it encloses one area.",
            where=where,
        )
    if shape.buffer(-THINNEST_MM / 2).is_empty:
        raise ShopError(
            "zero_width",
            say("{name} has no width.", name=name),
            remedy=say("Give it at least {least}.", least=Amount(THINNEST_MM, "mm")),
            where=where,
        )
    return tuple(loop) if signed_area(loop) > 0 else tuple(reversed(loop))


def polygons_of(shape: BaseGeometry) -> list[Polygon]:
    """The areas of a shape, lines and points left out, in a fixed order."""
    if isinstance(shape, Polygon):
        return [] if shape.is_empty else [shape]
    if isinstance(shape, MultiPolygon) or hasattr(shape, "geoms"):
        parts = [part for member in shape.geoms for part in polygons_of(member)]
        return sorted(parts, key=lambda part: part.bounds)
    return []


def convex_parts(shape: BaseGeometry) -> tuple[Loop, ...]:
    """Convex counter-clockwise pieces that cover a shape, few rather than many.

    Triangles of a constrained triangulation are merged over their longest shared edges as long as
    the union stays convex.
    """
    found: list[Loop] = []
    for area in polygons_of(shapely.remove_repeated_points(shape, SAME_POINT_MM)):
        if not area.interiors and area.exterior.is_ring:
            loop = _open_ring(area.exterior.coords)
            if is_convex(loop):
                found.append(loop)
                continue
        triangles = [
            _open_ring(piece.exterior.coords)
            for piece in polygons_of(shapely.constrained_delaunay_triangles(area))
        ]
        found.extend(_merged(triangles))
    return tuple(found)


def is_convex(loop: Sequence[Point]) -> bool:
    """Whether a counter-clockwise outline has no inward corner."""
    count = len(loop)
    for index in range(count):
        (ax, ay), (bx, by), (cx, cy) = (
            loop[index],
            loop[(index + 1) % count],
            loop[(index + 2) % count],
        )
        turn = (bx - ax) * (cy - by) - (by - ay) * (cx - bx)
        if turn < -1e-9 * (math.dist((ax, ay), (bx, by)) * math.dist((bx, by), (cx, cy))):
            return False
    return True


def convex_hull(points: Iterable[Point]) -> Loop:
    """Smallest convex outline around points, counter-clockwise (Andrew's monotone chain)."""
    ordered = sorted(set(points))
    if len(ordered) < 3:
        return tuple(ordered)

    def half(walk: Iterable[Point]) -> list[Point]:
        chain: list[Point] = []
        for point in walk:
            while len(chain) > 1 and _turn(chain[-2], chain[-1], point) <= 0.0:
                chain.pop()
            chain.append(point)
        return chain[:-1]

    return tuple(half(ordered) + half(reversed(ordered)))


def eroded(shape: BaseGeometry, by_mm: float) -> BaseGeometry:
    """A shape with a skin of the given thickness taken off; corners stay sharp."""
    return shape.buffer(-by_mm, join_style="mitre")


def least_width(shape: BaseGeometry) -> float:
    """How thin a shape is: the shorter side of its smallest surrounding rectangle [mm]."""
    widest = 0.0
    for area in polygons_of(shape):
        corners = _open_ring(shapely.minimum_rotated_rectangle(area).exterior.coords)
        sides = [math.dist(corners[0], corners[1]), math.dist(corners[1], corners[2])]
        widest = max(widest, min(sides))
    return widest


def mirrored(loop: Sequence[Point]) -> Loop:
    """An outline seen from the other side: x reversed, still counter-clockwise."""
    return tuple((-x, y) for x, y in reversed(loop))


def shifted(loop: Sequence[Point], *, x_mm: float = 0.0, y_mm: float = 0.0) -> Loop:
    """An outline moved without turning."""
    return tuple((x + x_mm, y + y_mm) for x, y in loop)


def padded(loops: Sequence[Sequence[Point]]) -> np.ndarray:
    """Outlines as one array (count, most corners, 2); short ones repeat their last corner."""
    most = max((len(loop) for loop in loops), default=1)
    rows = [[*loop, *([loop[-1]] * (most - len(loop)))] for loop in loops]
    return np.array(rows, dtype=np.float64).reshape(len(loops), most, 2)


def _merged(pieces: list[Loop]) -> list[Loop]:
    while True:
        edges: dict[tuple[Point, Point], int] = {}
        for number, loop in enumerate(pieces):
            for index, start in enumerate(loop):
                edges[(start, loop[(index + 1) % len(loop)])] = number
        shared = [
            (-math.dist(*edge), edge, number, edges[edge[::-1]])
            for edge, number in edges.items()
            if edge[::-1] in edges and edge < edge[::-1] and edges[edge[::-1]] != number
        ]
        for _, edge, first, second in sorted(shared):
            joined = _joined(pieces[first], pieces[second], edge)
            if is_convex(joined):
                keep = [loop for i, loop in enumerate(pieces) if i not in (first, second)]
                pieces = [*keep, joined]
                break
        else:
            return [_without_straight_corners(loop) for loop in pieces]


def _joined(first: Loop, second: Loop, edge: tuple[Point, Point]) -> Loop:
    after = first.index(edge[1])
    first_chain = first[after:] + first[:after]  # starts at edge[1], ends at edge[0]
    after = second.index(edge[0])
    second_chain = second[after:] + second[:after]  # starts at edge[0], ends at edge[1]
    return (*first_chain, *second_chain[1:-1])


def _without_straight_corners(loop: Loop) -> Loop:
    """The loop without corners that do not turn, each judged by the corners kept before it."""
    kept: list[Point] = []
    for index, point in enumerate(loop):
        before = kept[-1] if kept else loop[-1]
        if abs(_turn(before, point, loop[(index + 1) % len(loop)])) > 1e-12:
            kept.append(point)
    return tuple(kept) if len(kept) >= 3 else loop


def _open_ring(coords: Iterable[Sequence[float]]) -> Loop:
    loop = tuple((float(point[0]), float(point[1])) for point in coords)[:-1]
    return loop if signed_area(loop) > 0 else tuple(reversed(loop))


def _turn(first: Point, second: Point, third: Point) -> float:
    return (second[0] - first[0]) * (third[1] - first[1]) - (second[1] - first[1]) * (
        third[0] - first[0]
    )
