"""The faces of a part as convex pieces whose edges tell what they are: for pictures in space."""

from collections.abc import Iterator, Sequence

import shapely
from shapely.geometry import Point as ShapelyPoint
from shapely.geometry import Polygon

from server.geometry.outline import Loop, convex_parts
from server.geometry.part import Face, FlatPart, zone_half

CUT = 0
EDGE = 1
ZONE = 2
"""What an edge of a piece is: a cut between two pieces, an edge of the sheet, a bend's beginning."""
ON_EDGE_MM = 1e-4
ON_ZONE_MM = 0.02


def face_pieces(
    part: FlatPart, face: int, regions: Sequence[Face]
) -> Iterator[tuple[Loop, tuple[int, ...]]]:
    """The flat regions of a face as convex pieces, with a mark for the edge after each corner."""
    zones = shapely.union_all(
        [zone_half(part, i, face) for i, bend in enumerate(part.bends) if face in bend.faces]
    )
    for region in regions:
        shape = Polygon(region.outline_mm, region.holes_mm)
        edge = shape.boundary
        for loop in convex_parts(shape):
            marks = []
            for index, (u, v) in enumerate(loop):
                after = loop[(index + 1) % len(loop)]
                middle = ShapelyPoint((u + after[0]) / 2, (v + after[1]) / 2)
                mark = CUT
                if edge.distance(middle) <= ON_EDGE_MM:
                    near = not zones.is_empty and zones.distance(middle) <= ON_ZONE_MM
                    mark = ZONE if near else EDGE
                marks.append(mark)
            yield loop, tuple(marks)
