"""What faces and edges of a flat part are called on pictures and pages: face 3, edge 3b.

Faces are numbered from 1 in their order. The free edges of a face (those no bend runs along) have
letters, counter-clockwise from the lowest left corner; edges too short to be gauged have none.
"""

import itertools
import math
from dataclasses import dataclass

import shapely
from shapely.geometry import Polygon

from server.geometry.outline import Point
from server.geometry.part import BendLine, FlatPart

LETTERS = "abcdefghijkmnpqrstuvwxyz"
LEAST_NAMED_MM = 5.0
ON_LINE_MM = 0.02
PARALLEL = 1e-4
NEARLY_WIDEST_SHARE = 0.8
Edge = tuple[Point, Point]


@dataclass(frozen=True, slots=True)
class NamedEdge:
    """A free edge of a face: its letter, and its ends counter-clockwise."""

    face: int
    letter: str
    start_mm: Point
    end_mm: Point

    @property
    def name(self) -> str:
        """As it is written: 3b."""
        return f"{self.face + 1}{self.letter}"

    @property
    def length_mm(self) -> float:
        """Length of the edge."""
        return math.dist(self.start_mm, self.end_mm)


def letter_of(index: int) -> str:
    """The letter of an edge by its place: a .. z without l and o, then aa, ab, ...

    >>> letter_of(0), letter_of(23), letter_of(24)
    ('a', 'z', 'aa')
    """
    first, last = divmod(index, len(LETTERS))
    return (LETTERS[first - 1] if first else "") + LETTERS[last]


def named_edges(part: FlatPart) -> tuple[NamedEdge, ...]:
    """The free edges of every face long enough to have a name."""
    found: list[NamedEdge] = []
    for face in range(len(part.faces)):
        if face in part.strips:
            continue
        beside = [bend for bend in part.bends if face in bend.faces]
        free = [
            edge
            for edge in _straight_edges(part.faces[face].outline_mm)
            if math.dist(*edge) >= LEAST_NAMED_MM and not any(_runs_along(edge, b) for b in beside)
        ]
        found += [
            NamedEdge(face, letter_of(place), start, end)
            for place, (start, end) in enumerate(_from_lowest_left(free))
        ]
    return tuple(found)


def label_spot(shape: Polygon) -> tuple[Point, float]:
    """Where a face's number goes, and how wide the face is around it [mm].

    The middle of the face where that is nearly as wide as the widest spot, else the widest spot.
    """
    circle = shapely.maximum_inscribed_circle(shape, tolerance=max(shape.length / 400, 0.05))
    start, end = circle.coords[0], circle.coords[-1]
    widest_mm = math.dist(start, end)
    middle = shape.centroid
    if shape.contains(middle):
        around_mm = float(shape.boundary.distance(middle))
        if around_mm >= NEARLY_WIDEST_SHARE * widest_mm:
            return (float(middle.x), float(middle.y)), around_mm
    return (float(start[0]), float(start[1])), widest_mm


def edge_named(edges: tuple[NamedEdge, ...], face: int, start: Point, end: Point) -> str | None:
    """The name of the edge that a stretch of a face's outline belongs to, None without one."""
    best, most_mm = None, 0.0
    for edge in edges:
        if edge.face != face:
            continue
        common_mm = _common(edge, start, end)
        if common_mm > most_mm + ON_LINE_MM:
            best, most_mm = edge.name, common_mm
    return best


def _straight_edges(loop: tuple[Point, ...]) -> list[Edge]:
    """The edges of an outline, those in one line joined."""
    corners = [
        point
        for index, point in enumerate(loop)
        if _turns(loop[index - 1], point, loop[(index + 1) % len(loop)])
    ]
    return list(itertools.pairwise((*corners, corners[0])))


def _turns(before: Point, at: Point, after: Point) -> bool:
    cross = (at[0] - before[0]) * (after[1] - at[1]) - (at[1] - before[1]) * (after[0] - at[0])
    return abs(cross) > PARALLEL * math.dist(before, at) * math.dist(at, after)


def _from_lowest_left(edges: list[Edge]) -> list[Edge]:
    if not edges:
        return []
    first = min(
        range(len(edges)),
        key=lambda i: (round(edges[i][0][0] + edges[i][0][1], 6), round(edges[i][0][0], 6)),
    )
    return [*edges[first:], *edges[:first]]


def _runs_along(edge: Edge, bend: BendLine) -> bool:
    """Whether most of an edge lies on a bend line."""
    (u0, v0), (x, y) = bend.line_mm[0], bend.along
    if any(abs((u - u0) * y - (v - v0) * x) > ON_LINE_MM for u, v in edge):
        return False
    ends = sorted((u - u0) * x + (v - v0) * y for u, v in edge)
    common = min(ends[1], bend.length_mm) - max(ends[0], 0.0)
    return common > (ends[1] - ends[0]) / 2


def _common(edge: NamedEdge, start: Point, end: Point) -> float:
    """How much of a stretch lies on an edge [mm]."""
    length = edge.length_mm
    x = (edge.end_mm[0] - edge.start_mm[0]) / length
    y = (edge.end_mm[1] - edge.start_mm[1]) / length
    along = []
    for u, v in (start, end):
        du, dv = u - edge.start_mm[0], v - edge.start_mm[1]
        if abs(du * y - dv * x) > ON_LINE_MM:
            return 0.0
        along.append(du * x + dv * y)
    return min(max(along), length) - max(min(along), 0.0)
