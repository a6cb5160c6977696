"""Convex solids: thick plates and strips of a folded sheet, clipped, projected, and held together.

A solid is its corner points and its faces as corner numbers. Clipping by half spaces keeps all
corners of the rest: new corners appear where edges cross the plane.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from server.geometry.outline import Loop, Point, convex_hull

Array = NDArray[np.float64]
Span = tuple[float, float]
Ring = list[tuple[float, float, float]]

TOUCH_MM = 1e-9
SAME_DIRECTION = 1e-9


@dataclass(frozen=True, slots=True)
class Solid:
    """A convex solid: corners (n, 3), faces as rings of corner numbers."""

    corners: Array
    faces: tuple[tuple[int, ...], ...]

    def moved(self, motion: Array) -> "Solid":
        """The solid after a rigid motion (4 x 4)."""
        return Solid(self.corners @ motion[:3, :3].T + motion[:3, 3], self.faces)

    def span(self, axis: int) -> Span:
        """Least and greatest coordinate along an axis."""
        along = self.corners[:, axis]
        return float(along.min()), float(along.max())

    def shadow(self) -> Loop:
        """The outline seen along z."""
        return convex_hull((round(x, 9), round(y, 9)) for x, y in self.corners[:, :2].tolist())

    def rings(self) -> list[Ring]:
        """The faces as corner points."""
        corners: Ring = [(x, y, z) for x, y, z in self.corners.tolist()]
        return [[corners[i] for i in face] for face in self.faces]


def plate(loop: Sequence[Point], low_mm: float, high_mm: float) -> Solid:
    """A convex outline given thickness between two heights."""
    count = len(loop)
    corners = np.array(
        [(u, v, low_mm) for u, v in loop] + [(u, v, high_mm) for u, v in loop], dtype=np.float64
    )
    sides = tuple((i, (i + 1) % count, (i + 1) % count + count, i + count) for i in range(count))
    return Solid(corners, (tuple(reversed(range(count))), tuple(range(count, 2 * count)), *sides))


def wedge(lower: Array, upper: Array) -> Solid:
    """A strip of a rolled arc: four corners below and four above, each in ring order."""
    return Solid(
        np.concatenate((lower, upper)),
        ((3, 2, 1, 0), (4, 5, 6, 7), (0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7)),
    )


def clipped_rings(
    rings: Iterable[Ring], normal: tuple[float, float, float], offset: float
) -> list[Ring]:
    """Face rings of a solid cut to the side normal . p <= offset (without the new face).

    Plain numbers: for rings of four corners arrays cost more than they save.
    """
    nx, ny, nz = normal
    kept = []
    for ring in rings:
        heights = [nx * x + ny * y + nz * z - offset for x, y, z in ring]
        if max(heights) <= 0.0:
            kept.append(ring)
            continue
        if min(heights) > 0.0:
            continue
        corners = []
        for i, corner in enumerate(ring):
            j = i + 1 if i + 1 < len(ring) else 0
            if heights[i] <= 0.0:
                corners.append(corner)
            if (heights[i] <= 0.0) != (heights[j] <= 0.0):
                share = heights[i] / (heights[i] - heights[j])
                (x0, y0, z0), (x1, y1, z1) = corner, ring[j]
                corners.append(
                    (x0 + share * (x1 - x0), y0 + share * (y1 - y0), z0 + share * (z1 - z0))
                )
        kept.append(corners)
    return kept


def outline_between(solid: Solid, low_mm: float, high_mm: float) -> Loop:
    """The outline in (x, z) of what of a solid lies between two heights, () when nothing does."""
    low, high = solid.span(1)
    if low >= high_mm or high <= low_mm:
        return ()
    rings = clipped_rings(solid.rings(), (0.0, -1.0, 0.0), -low_mm)
    rings = clipped_rings(rings, (0.0, 1.0, 0.0), high_mm)
    return convex_hull((x, z) for ring in rings for x, _, z in ring)


def span_beyond(outline: Loop, x_mm: float) -> Span:
    """The extent along z of a convex outline in (x, z) where it lies beyond an x that it passes."""
    ends = []
    x0, z0 = outline[-1]
    for x1, z1 in outline:
        if (x0 > x_mm) != (x1 > x_mm):
            ends.append(z0 + (x_mm - x0) / (x1 - x0) * (z1 - z0))
        if x1 > x_mm:
            ends.append(z1)
        x0, z0 = x1, z1
    return min(ends), max(ends)


def solids_overlap(first: Solid, second: Solid) -> bool:
    """Whether the insides of two convex solids have a point in common (separating axes)."""
    for axis in range(3):
        low_a, high_a = first.span(axis)
        low_b, high_b = second.span(axis)
        if low_a >= high_b - TOUCH_MM or low_b >= high_a - TOUCH_MM:
            return False
    axes = np.concatenate((_normals(first), _normals(second)))
    if _separates(axes, first, second):
        return False
    cross = np.cross(_directions(first)[:, None], _directions(second)[None]).reshape(-1, 3)
    length = np.linalg.norm(cross, axis=1)
    cross = cross[length > SAME_DIRECTION] / length[length > SAME_DIRECTION][:, None]
    return not _separates(cross, first, second)


def _separates(axes: Array, first: Solid, second: Solid) -> bool:
    if not len(axes):
        return False
    mine, theirs = axes @ first.corners.T, axes @ second.corners.T
    apart = (mine.max(axis=1) <= theirs.min(axis=1) + TOUCH_MM) | (
        theirs.max(axis=1) <= mine.min(axis=1) + TOUCH_MM
    )
    return bool(apart.any())


def _normals(solid: Solid) -> Array:
    found = []
    for face in solid.faces:
        a, b, c = (solid.corners[i] for i in face[:3])
        normal = np.cross(b - a, c - b)
        length = float(np.linalg.norm(normal))
        if length > TOUCH_MM:
            found.append(normal / length)
    return np.array(found).reshape(-1, 3)


def _directions(solid: Solid) -> Array:
    found: list[Array] = []
    for face in solid.faces:
        for i in range(len(face)):
            edge = solid.corners[face[(i + 1) % len(face)]] - solid.corners[face[i]]
            length = float(np.linalg.norm(edge))
            if length < TOUCH_MM:
                continue
            edge = edge / length
            if all(abs(float(edge @ other)) < 1.0 - SAME_DIRECTION for other in found):
                found.append(edge)
    return np.array(found).reshape(-1, 3)
