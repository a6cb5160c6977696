"""Whether thick sheet clears prisms beside it while it swings, and by how much it does not.

Everything happens in the frame of one *half* of the sheet: x outward from the bend line, y up from
the sheet's lower face, z along the bed. While the bend closes to the half angle phi, the half moves
in the machine as

    p' = C + R(phi) (x - b, y - h),   C = (0, c)

so instead the prisms move the other way, once, and every piece of sheet meets them where it is. A
piece touches a prism when no line separates the two convex outlines (separating axis theorem;
S. Gottschalk, M. C. Lin, D. Manocha, "OBBTree", SIGGRAPH 1996, for the test on many pairs). Pieces
are given already eroded, so bare contact is no collision.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from server.geometry.outline import Loop, convex_parts, mirrored, padded, polygons_of

Array = NDArray[np.float64]

EROSION_MM = 0.1
"""Skin taken off the sheet before it is tested: contact and rounding are no collision."""

TOUCH_MM = 1e-9
SEGMENT_MM = 2.0
GRID_MM = 1e-4


def erosion_for(thickness_mm: float) -> float:
    """Skin taken off a sheet: 0.1 mm, less for foil so that something is left."""
    return min(EROSION_MM, thickness_mm / 4)


@dataclass(frozen=True, slots=True, eq=False)
class Swing:
    """Samples of a stroke: where both halves and the upper tools are, one entry each.

    `half_rad` is phi, `centre_mm` c, `rolled_mm` b, `pivot_mm` h of the module's head, `tip_mm` the
    height of the punch tip above the die top.
    """

    half_rad: Array
    centre_mm: Array
    rolled_mm: Array
    pivot_mm: float
    tip_mm: Array


@dataclass(frozen=True, slots=True)
class Prism:
    """A tool's cross-section in the machine; `moves` with the punch tip or stands."""

    name: str
    outline_mm: Loop
    moves: bool


@dataclass(frozen=True, slots=True)
class Hit:
    """One collision: which prism, at which sample of the swing, and which piece."""

    prism: str
    sample: int
    piece: int


class Obstacles:
    """Prisms as one half of the sheet sees them through a swing."""

    def __init__(self, prisms: Sequence[Prism], swing: Swing, *, front: bool) -> None:
        self.names: list[str] = []
        loops: list[Loop] = []
        moves: list[bool] = []
        for prism in prisms:
            for part in convex_parts(Polygon(prism.outline_mm)):
                loops.append(mirrored(part) if front else part)
                moves.append(prism.moves)
                self.names.append(prism.name)
        self.samples = len(swing.half_rad)
        self.parts = len(loops)
        if not loops:
            return
        corners = np.repeat(padded(loops)[None], self.samples, axis=0)
        lift = swing.tip_mm[:, None, None] * np.array(moves, dtype=np.float64)[None, :, None]
        corners[..., 1] += lift - swing.centre_mm[:, None, None]
        cos = np.cos(swing.half_rad)[:, None, None]
        sin = np.sin(swing.half_rad)[:, None, None]
        x, y = corners[..., 0], corners[..., 1]
        seen = np.empty_like(corners)
        seen[..., 0] = x * cos + y * sin + swing.rolled_mm[:, None, None]
        seen[..., 1] = y * cos - x * sin + swing.pivot_mm
        flat = seen.reshape(self.samples * self.parts, -1, 2)
        self.corners: Array = flat
        self.low: Array = flat.min(axis=1)
        self.high: Array = flat.max(axis=1)
        low_x, low_y = map(float, self.low.min(axis=0))
        high_x, high_y = map(float, self.high.max(axis=0))
        self._box = (low_x, low_y, high_x, high_y)
        self.normals: Array = edge_normals(flat)
        low, high = along_normals(self.normals, flat)
        self.normal_low: Array = low
        self.normal_high: Array = high

    @property
    def box_mm(self) -> tuple[float, float, float, float] | None:
        """Least x, y, greatest x, y of all prisms at all samples; None without prisms."""
        return self._box if self.parts else None

    def may_meet(self, box_mm: tuple[float, float, float, float]) -> bool:
        """Whether anything in a box (least x, y, greatest x, y) may be met at all."""
        if not self.parts:
            return False
        low_x, low_y, high_x, high_y = self._box
        return box_mm[0] < high_x and box_mm[2] > low_x and box_mm[1] < high_y and box_mm[3] > low_y

    def near(self, low: Array, high: Array) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Pairs of boxes (count, 2) and (sample x part) numbers that come near each other."""
        near = (
            (low[:, None, 0] < self.high[None, :, 0] - TOUCH_MM)
            & (high[:, None, 0] > self.low[None, :, 0] + TOUCH_MM)
            & (low[:, None, 1] < self.high[None, :, 1] - TOUCH_MM)
            & (high[:, None, 1] > self.low[None, :, 1] + TOUCH_MM)
        )
        which, other = np.nonzero(near)
        return which, other

    def overlap(
        self, sheet: Array, normals: Array | None, other: NDArray[np.intp]
    ) -> NDArray[np.bool_]:
        """Whether outlines overlap a (sample x part) each; see `hits` for the normals."""
        tool_normals = self.normals[other]
        low, high = along_normals(tool_normals, sheet)
        apart = (low >= self.normal_high[:, other] - TOUCH_MM) | (
            high <= self.normal_low[:, other] + TOUCH_MM
        )
        overlapping = np.asarray(~np.any(apart & _is_edge(tool_normals), axis=0), dtype=np.bool_)
        rest = np.nonzero(overlapping)[0]
        if len(rest):
            own = edge_normals(sheet[rest]) if normals is None else normals[rest]
            overlapping[rest] = ~separated_along(own, sheet[rest], self.corners[other[rest]])
        return overlapping

    def hits(
        self, pieces: Array, normals: Array | None = None
    ) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Every overlapping pair, as piece numbers and (sample x part) numbers.

        `pieces` are convex outlines (count, corners, 2), short ones padded with their last corner;
        or, when the normals of their sides are given, the corners in any order.
        """
        if not self.parts or not len(pieces):
            empty = np.empty(0, dtype=np.intp)
            return empty, empty
        which, other = self.near(pieces.min(axis=1), pieces.max(axis=1))
        if not len(which):
            return which, other
        own = None if normals is None else normals[which]
        keep = self.overlap(pieces[which], own, other)
        return which[keep], other[keep]

    def hit_any(self, pieces: Array) -> bool:
        """Whether any piece overlaps any prism at any sample."""
        return bool(len(self.hits(pieces)[0]))

    def first_hit(self, pieces: Array) -> Hit | None:
        """The earliest collision of the swing, None when all is clear."""
        which, other = self.hits(pieces)
        if not len(which):
            return None
        order = np.lexsort((which, other))[0]
        sample, part = divmod(int(other[order]), self.parts)
        return Hit(self.names[part], sample, int(which[order]))

    def shape_of(self, name: str, sample: int) -> BaseGeometry:
        """A whole prism as the half sees it at one sample."""
        parts = [
            Polygon(self.corners[sample * self.parts + part]).convex_hull
            for part, known in enumerate(self.names)
            if known == name
        ]
        return shapely.union_all(parts, grid_size=GRID_MM)


def along_normals(normals: Array, outlines: Array) -> tuple[Array, Array]:
    """Least and greatest of outlines along normals, (edges, count) each.

    The count comes last inside: long rows are what is quick.
    """
    nx, ny = np.ascontiguousarray(normals.T)
    x, y = np.ascontiguousarray(outlines.T)
    along = nx[:, None] * x[None] + ny[:, None] * y[None]
    return along.min(axis=1), along.max(axis=1)


def separated_along(normals: Array, first: Array, second: Array) -> NDArray[np.bool_]:
    """Whether one of the normals of a pair of outlines separates them."""
    low, high = along_normals(normals, first)
    other_low, other_high = along_normals(normals, second)
    apart = (other_low >= high - TOUCH_MM) | (other_high <= low + TOUCH_MM)
    return np.asarray(np.any(apart & _is_edge(normals), axis=0))


def _is_edge(normals: Array) -> NDArray[np.bool_]:
    """Which normals are not those of a padding edge (edges, count)."""
    lengths: Array = np.abs(normals).sum(axis=2).T
    return lengths > 0.5


def edge_normals(loops: Array) -> Array:
    """Unit outward normals of convex outlines (count, corners, 2); 0 for a padding edge."""
    return normals_along(np.roll(loops, -1, axis=1) - loops)


def normals_along(edges: Array) -> Array:
    """Unit normals to the right of edges (count, edges, 2); 0 for an edge without length."""
    lengths = np.hypot(edges[..., 0], edges[..., 1])
    safe = np.where(lengths > 1e-12, lengths, 1.0)
    normals = np.stack((edges[..., 1] / safe, -edges[..., 0] / safe), axis=2)
    normals[lengths <= 1e-12] = 0.0
    return normals


def overlapping(
    first: Array, second: Array, first_normals: Array | None = None
) -> NDArray[np.intp]:
    """Pairs (n, 2) of convex outlines of two sets whose insides overlap.

    With the normals of their sides given, the corners of the first may come in any order.
    """
    if not len(first) or not len(second):
        return np.empty((0, 2), dtype=np.intp)
    low, high = first.min(axis=1), first.max(axis=1)
    other_low, other_high = second.min(axis=1), second.max(axis=1)
    near = (
        (low[:, None] < other_high[None] - TOUCH_MM) & (high[:, None] > other_low[None] + TOUCH_MM)
    ).all(axis=2)
    which, other = np.nonzero(near)
    if not len(which):
        return np.empty((0, 2), dtype=np.intp)
    mine, theirs = first[which], second[other]
    own = edge_normals(mine) if first_normals is None else first_normals[which]
    separated = separated_along(own, mine, theirs) | separated_along(
        edge_normals(theirs), mine, theirs
    )
    return np.stack((which[~separated], other[~separated]), axis=1)


def seen_in_machine(points: Array, swing: Swing, sample: int, *, front: bool) -> Array:
    """Points of a half (..., 2) where they are in the machine at one sample."""
    phi = float(swing.half_rad[sample])
    x = points[..., 0] - swing.rolled_mm[sample]
    y = points[..., 1] - swing.pivot_mm
    out = np.empty_like(points)
    out[..., 0] = x * math.cos(phi) - y * math.sin(phi)
    out[..., 1] = x * math.sin(phi) + y * math.cos(phi) + swing.centre_mm[sample]
    if front:
        out[..., 0] = -out[..., 0]
    return out


def overlap_depth(sheet: Sequence[Loop], tool: BaseGeometry) -> float:
    """How deep sheet and tool reach into each other [mm].

    The greatest distance of a point of the common area from the tool's outline or from the
    sheet's, whichever is greater: a flange end deep inside a punch counts by how deep it is, a tool
    corner in the sheet by how far it pokes in.
    """
    shape = shapely.union_all(
        [Polygon(loop) for loop in sheet if len(loop) >= 3], grid_size=GRID_MM
    )
    deepest = 0.0
    for area in polygons_of(shape.intersection(tool)):
        points = shapely.points(np.array(area.exterior.segmentize(SEGMENT_MM).coords))
        for outline in (tool.boundary, shape.boundary):
            deepest = max(deepest, float(shapely.distance(points, outline).max()))
    return deepest
