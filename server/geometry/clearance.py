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
        self.normals: Array = edge_normals(flat)
        along = np.einsum("pek,pvk->pev", self.normals, flat)
        self.normal_low: Array = along.min(axis=2)
        self.normal_high: Array = along.max(axis=2)

    def hits(self, pieces: Array) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Every overlapping pair, as piece numbers and (sample x part) numbers.

        `pieces` are convex outlines (count, corners, 2), short ones padded with their last corner.
        """
        if not self.parts or not len(pieces):
            empty = np.empty(0, dtype=np.intp)
            return empty, empty
        low, high = pieces.min(axis=1), pieces.max(axis=1)
        near = (
            (low[:, None, 0] < self.high[None, :, 0] - TOUCH_MM)
            & (high[:, None, 0] > self.low[None, :, 0] + TOUCH_MM)
            & (low[:, None, 1] < self.high[None, :, 1] - TOUCH_MM)
            & (high[:, None, 1] > self.low[None, :, 1] + TOUCH_MM)
        )
        which, other = np.nonzero(near)
        if not len(which):
            return which, other
        keep = ~self._separated(pieces, which, other)
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

    def _separated(
        self, pieces: Array, which: NDArray[np.intp], other: NDArray[np.intp]
    ) -> NDArray[np.bool_]:
        sheet = pieces[which]
        tool_normals = self.normals[other]
        along = np.einsum("pek,pvk->pev", tool_normals, sheet)
        apart = (
            (along.min(axis=2) >= self.normal_high[other] - TOUCH_MM)
            | (along.max(axis=2) <= self.normal_low[other] + TOUCH_MM)
        ) & (np.abs(tool_normals).sum(axis=2) > 0.5)
        separated: NDArray[np.bool_] = apart.any(axis=1)
        rest = np.nonzero(~separated)[0]
        if len(rest):
            normals = edge_normals(sheet[rest])
            own = np.einsum("pek,pvk->pev", normals, sheet[rest])
            theirs = np.einsum("pek,pvk->pev", normals, self.corners[other[rest]])
            apart = (
                (theirs.min(axis=2) >= own.max(axis=2) - TOUCH_MM)
                | (theirs.max(axis=2) <= own.min(axis=2) + TOUCH_MM)
            ) & (np.abs(normals).sum(axis=2) > 0.5)
            separated[rest] = apart.any(axis=1)
        return separated


def edge_normals(loops: Array) -> Array:
    """Unit outward normals of convex outlines (count, corners, 2); 0 for a padding edge."""
    edges = np.roll(loops, -1, axis=1) - loops
    lengths = np.hypot(edges[..., 0], edges[..., 1])
    safe = np.where(lengths > 1e-12, lengths, 1.0)
    normals = np.stack((edges[..., 1] / safe, -edges[..., 0] / safe), axis=2)
    normals[lengths <= 1e-12] = 0.0
    return normals


def overlapping(first: Array, second: Array) -> NDArray[np.intp]:
    """Pairs (n, 2) of convex outlines of two sets whose insides overlap."""
    if not len(first) or not len(second):
        return np.empty((0, 2), dtype=np.intp)
    near = np.ones((len(first), len(second)), dtype=bool)
    for axis in (0, 1):
        near &= (
            first[:, None, :, axis].min(axis=2) < second[None, :, :, axis].max(axis=2) - TOUCH_MM
        )
        near &= (
            first[:, None, :, axis].max(axis=2) > second[None, :, :, axis].min(axis=2) + TOUCH_MM
        )
    which, other = np.nonzero(near)
    if not len(which):
        return np.empty((0, 2), dtype=np.intp)
    mine, theirs = first[which], second[other]
    separated = np.zeros(len(which), dtype=bool)
    for base, normals in ((mine, edge_normals(mine)), (theirs, edge_normals(theirs))):
        del base
        ours = np.einsum("pek,pvk->pev", normals, mine)
        yours = np.einsum("pek,pvk->pev", normals, theirs)
        apart = (
            (yours.min(axis=2) >= ours.max(axis=2) - TOUCH_MM)
            | (yours.max(axis=2) <= ours.min(axis=2) + TOUCH_MM)
        ) & (np.abs(normals).sum(axis=2) > 0.5)
        separated |= apart.any(axis=1)
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
