"""Many convex solids side by side, so that one call holds all of them against the tools.

Solids of fewer corners, edges or faces repeat what they have: that moves nothing. As a few have many
corners, what is asked of pairs is asked of those with few corners and of the others apart. Seen
along z a solid is drawn as all its corners with the normals of all its edges; those of the outline
are among them, and the others separate nothing that these do not.
"""

from collections.abc import Collection, Iterator, Sequence
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from server.geometry.clearance import Obstacles, edge_normals, normals_along
from server.geometry.solid import Solid, Span

Array = NDArray[np.float64]
Indexes = NDArray[np.intp]
Faces = tuple[tuple[int, ...], ...]

FEW_CORNERS = 8
UPRIGHT = 1e-9
INSIDE_MM = 1e-9
SAME_END_MM = 1e-9


class SolidStack:
    """Convex solids by number: corners (count, most corners, 3)."""

    def __init__(self, solids: Sequence[Solid]) -> None:
        self.count = len(solids)
        most = max((len(solid.corners) for solid in solids), default=0)
        self.corners: Array = np.empty((self.count, most, 3))
        for number, solid in enumerate(solids):
            own = len(solid.corners)
            self.corners[number, :own] = solid.corners
            self.corners[number, own:] = solid.corners[-1]
        self._shapes = [solid.faces for solid in solids]
        self._small = np.array([len(solid.corners) <= FEW_CORNERS for solid in solids], dtype=bool)

    @cached_property
    def low(self) -> Array:
        """Least coordinates of each solid."""
        low: Array = self.corners.min(axis=1)
        return low

    @cached_property
    def high(self) -> Array:
        """Greatest coordinates of each solid."""
        high: Array = self.corners.max(axis=1)
        return high

    @cached_property
    def spans(self) -> list[Span]:
        """The extent of each solid along z."""
        ends = zip(self.low[:, 2].tolist(), self.high[:, 2].tolist(), strict=True)
        return [(low, high) for low, high in ends]

    @cached_property
    def outlines(self) -> Array:
        """The solids seen along z: all corners (count, most corners, 2)."""
        return np.ascontiguousarray(self.corners[..., :2])

    @cached_property
    def normals(self) -> Array:
        """Normals of the edges seen along z (count, most edges, 2); 0 for none."""
        return self.normals_of(self.outlines)

    def normals_of(self, outlines: Array) -> Array:
        """Normals of the edges of outlines that these solids have elsewhere."""
        normals = np.zeros((self.count, self._edges.shape[1], 2))
        for rows, _, edges in self.groups():
            ends = self._edges[rows, :edges]
            start, end = (outlines[rows[:, None], ends[..., which]] for which in (0, 1))
            normals[rows, :edges] = normals_along(end - start)
        return normals

    def groups(self) -> list[tuple[Indexes, int, int]]:
        """Solids of like size by number, with the most corners and edges they have."""
        return list(self._by_size(np.arange(self.count)))

    def overlap(self, which: Indexes, tools: Obstacles, other: Indexes) -> NDArray[np.bool_]:
        """Whether solids overlap a (sample x part) of some tools each, seen along z."""
        found = np.zeros(len(which), dtype=bool)
        for rows, corners, edges in self._by_size(which):
            own = which[rows]
            outlines, normals = self.outlines[own, :corners], self.normals[own, :edges]
            found[rows] = tools.overlap(outlines, normals, other[rows])
        return found

    def spans_over(self, which: Indexes, areas: Array) -> tuple[Array, Array]:
        """Least and greatest z of some solids above a convex area each (count, corners, 2).

        The corners of what they share lie on an edge of the solid or above a corner of the area. An
        end that is the solid's own is given as such; nothing in common is an empty span (inf, -inf).
        """
        low, high = np.empty(len(which)), np.empty(len(which))
        for rows, _, edges in self._by_size(which):
            on_edges = self._along_edges(which[rows], edges, areas[rows])
            above = self._above_corners(which[rows], areas[rows])
            low[rows] = np.minimum(on_edges[0], above[0])
            high[rows] = np.maximum(on_edges[1], above[1])
        own_low, own_high = self.low[which, 2], self.high[which, 2]
        low = np.where(np.abs(low - own_low) <= SAME_END_MM, own_low, low)
        high = np.where(np.abs(high - own_high) <= SAME_END_MM, own_high, high)
        return low, high

    def _by_size(self, which: Indexes) -> Iterator[tuple[Indexes, int, int]]:
        """Where the small solids are among some, then the others, with their corners and edges."""
        small = self._small[which]
        for chosen, sizes in zip((small, ~small), self._sizes, strict=True):
            rows = np.nonzero(chosen)[0]
            if len(rows):
                yield rows, *sizes

    @cached_property
    def _sizes(self) -> tuple[tuple[int, int], tuple[int, int]]:
        """Most corners and edges of the small solids, and of the others."""
        small = {shape for shape, one in zip(self._shapes, self._small, strict=True) if one}
        return _most(small), _most(set(self._shapes) - small)

    def _along_edges(self, which: Indexes, edges: int, areas: Array) -> tuple[Array, Array]:
        """Ends along z of the solids' edges as far as they lie within the areas' sides.

        Rows run (side, edge, solid).
        """
        ends = self._edges[which, :edges]
        x_0, y_0, z_0 = np.ascontiguousarray(self.corners[which[:, None], ends[..., 0]].T)
        x_1, y_1, z_1 = np.ascontiguousarray(self.corners[which[:, None], ends[..., 1]].T)
        nx, ny = np.ascontiguousarray(edge_normals(areas).T)[:, :, None]
        reach = nx * areas[..., 0].T[:, None] + ny * areas[..., 1].T[:, None]
        out_0 = nx * x_0 + ny * y_0 - reach
        out_1 = nx * x_1 + ny * y_1 - reach
        from_out, to_out = out_0 > 0.0, out_1 > 0.0
        share = out_0 / np.where(from_out != to_out, out_0 - out_1, 1.0)
        first = np.where(from_out & ~to_out, share, 0.0).max(axis=0)
        last = np.where(to_out & ~from_out, share, 1.0).min(axis=0)
        within = ~(from_out & to_out).any(axis=0) & (first <= last)
        begin, end = z_0 + first * (z_1 - z_0), z_0 + last * (z_1 - z_0)
        low = np.where(within, np.minimum(begin, end), np.inf).min(axis=0)
        high = np.where(within, np.maximum(begin, end), -np.inf).max(axis=0)
        return low, high

    def _above_corners(self, which: Indexes, areas: Array) -> tuple[Array, Array]:
        """Ends along z of the lines through the areas' corners as far as they lie in the solids.

        Rows run (face, corner, solid).
        """
        own, back = np.unique(which, return_inverse=True)
        normals, offsets = self._planes(own)
        nx, ny, lean = np.ascontiguousarray(normals[back].T)[:, :, None]
        room = offsets[back].T[:, None] - (nx * areas[..., 0].T + ny * areas[..., 1].T)
        upright = np.abs(lean) <= UPRIGHT
        at = room / np.where(upright, 1.0, lean)
        high = np.where(lean > UPRIGHT, at, np.inf).min(axis=0)
        low = np.where(lean < -UPRIGHT, at, -np.inf).max(axis=0)
        within = (low <= high) & ~(upright & (room < -INSIDE_MM)).any(axis=0)
        return (
            np.where(within, low, np.inf).min(axis=0),
            np.where(within, high, -np.inf).max(axis=0),
        )

    def _planes(self, which: Indexes) -> tuple[Array, Array]:
        """Outward normals (count, faces, 3) and offsets of some solids' faces (Newell's method)."""
        shapes = [self._shapes[number] for number in which.tolist()]
        longest = max(len(ring) for shape in shapes for ring in shape)
        rings = _filled([_padded_faces(shape, longest) for shape in shapes], ((0,) * longest,))
        corners = self.corners[which]
        around = corners[np.arange(len(which))[:, None, None], rings]
        x, y, z = np.moveaxis(around, 3, 0)
        x_1, y_1, z_1 = (np.roll(one, -1, axis=2) for one in (x, y, z))
        crossed = (y * z_1 - z * y_1, z * x_1 - x * z_1, x * y_1 - y * x_1)
        normals = np.stack([one.sum(axis=2) for one in crossed], axis=2)
        length = np.sqrt((normals**2).sum(axis=2))
        normals /= np.where(length > 0.0, length, 1.0)[..., None]
        offsets = (normals * around[:, :, 0]).sum(axis=2)
        inward = (normals * corners.mean(axis=1)[:, None]).sum(axis=2) > offsets
        sign = np.where(inward, -1.0, 1.0)
        return normals * sign[..., None], offsets * sign

    @cached_property
    def _edges(self) -> Indexes:
        """Corner numbers of both ends of every edge (count, most edges, 2)."""
        return _filled([_edges_of(faces) for faces in self._shapes], ((0, 0),))


def _most(shapes: Collection[Faces]) -> tuple[int, int]:
    corners = max((corner + 1 for shape in shapes for ring in shape for corner in ring), default=0)
    return corners, max((len(_edges_of(shape)) for shape in shapes), default=0)


@lru_cache(maxsize=4096)
def _edges_of(faces: Faces) -> tuple[tuple[int, int], ...]:
    """Every edge of a solid once."""
    found = {
        (min(a, b), max(a, b))
        for ring in faces
        for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)
    }
    return tuple(sorted(found))


@lru_cache(maxsize=4096)
def _padded_faces(faces: Faces, longest: int) -> tuple[tuple[int, ...], ...]:
    return tuple((*ring, *((ring[-1],) * (longest - len(ring)))) for ring in faces)


def _filled(
    lists: Sequence[tuple[tuple[int, ...], ...]], filling: tuple[tuple[int, ...]]
) -> Indexes:
    """Lists of number tuples as one array, short ones filled up; most are alike."""
    numbers = {one: number for number, one in enumerate(dict.fromkeys(lists))}
    most = max((len(one) for one in numbers), default=0)
    rows = np.array([one + filling * (most - len(one)) for one in numbers], dtype=np.intp)
    return rows[[numbers[one] for one in lists]]
