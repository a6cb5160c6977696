"""Which edges of a flat part the gauge fingers touch, by the names they have on its flat pattern."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from server.geometry.folding import Motion, moved
from server.geometry.outline import Point
from server.geometry.part import FlatPart
from server.geometry.part_name import NamedEdge, named_edges

AT_GAUGE_MM = 0.6
LEVEL = 1e-6
Spot = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class GaugedEdge:
    """An edge at the gauge and its ends in the brake: right along the bed, to the rear, up."""

    edge: NamedEdge
    start: Spot
    end: Spot


def edges_at_gauge(
    part: FlatPart,
    poses: NDArray[np.float64],
    place: Motion,
    *,
    x_mm: float,
    fingers_right_mm: tuple[float, ...],
) -> tuple[GaugedEdge, ...]:
    """The free edges of level faces at the gauge's X, one for each finger; none at a formed flange.

    `poses` are the faces' own, `place` takes them into the brake; fingers are measured to the right.
    """
    found: list[GaugedEdge] = []
    for edge in named_edges(part):
        motion: Motion = place @ poses[edge.face]
        if abs(abs(float(motion[2, 2])) - 1.0) > LEVEL:
            continue
        start, end = (_put(motion, point, part) for point in (edge.start_mm, edge.end_mm))
        if all(abs(float(spot[1]) - x_mm) <= AT_GAUGE_MM for spot in (start, end)):
            found.append(GaugedEdge(edge, start, end))
    touched: list[GaugedEdge] = []
    for at in fingers_right_mm:
        near = min(found, key=lambda one: _aside(one, at), default=None)
        if near is not None and near not in touched:
            touched.append(near)
    return tuple(touched)


def _aside(one: GaugedEdge, at_mm: float) -> float:
    low, high = sorted((float(one.start[0]), float(one.end[0])))
    return max(low - at_mm, at_mm - high, 0.0)


def _put(motion: Motion, point: Point, part: FlatPart) -> Spot:
    """A point in the middle of the sheet's thickness."""
    spot: Spot = moved(motion, np.array([[point[0], point[1], part.thickness_mm / 2]]))[0]
    return spot
