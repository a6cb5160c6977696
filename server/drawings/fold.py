"""What the turning 3-D view needs: a flat part as convex pieces and bends, and the order of folding.

Edges of a piece are marked: 1 a real edge of the sheet, 2 the line where a bend begins, 0 a cut
between two pieces of one face.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from shapely.geometry import Polygon

from server.geometry.part import Face, FlatPart, bend_tree, flat_regions, stroke_groups
from server.geometry.part_name import label_spot
from server.geometry.part_piece import face_pieces

DIGITS = 3
LEAST_LABEL_MM = 3.0


@dataclass(frozen=True, slots=True)
class FoldStep:
    """One step of a folding order: what it is called, and the angle of each bend after it."""

    name: str
    angles_deg: Mapping[int, float]


def outermost_first(part: FlatPart) -> tuple[FoldStep, ...]:
    """A folding order to look at when none is planned: bends far from the base come first."""
    away = dict.fromkeys(range(len(part.faces)), 0)
    far_of = {}
    for bend, near, far in bend_tree(part, base_face(part)):
        away[far] = away[near] + 1
        far_of[bend] = far
    groups: dict[tuple[int, ...], list[int]] = {}
    for group in stroke_groups(part):
        drawn = tuple(sorted({part.bend_at(zone) for zone in group}))
        groups.setdefault(drawn, []).extend(group)
    ordered = sorted(groups.items(), key=lambda one: (-away[far_of.get(one[1][0], 0)], min(one[1])))
    return tuple(
        FoldStep(
            "bend " + ", ".join(str(bend + 1) for bend in drawn),
            {zone: part.bends[zone].bend_angle_deg for zone in zones},
        )
        for drawn, zones in ordered
    )


def base_face(part: FlatPart) -> int:
    """The face that stays put: the largest."""
    areas = [Polygon(face.outline_mm, face.holes_mm).area for face in part.faces]
    return max(range(len(areas)), key=lambda face: (round(areas[face], 6), -face))


def fold_data(part: FlatPart, steps: Sequence[FoldStep] = (), *, names: bool = True) -> str:
    """The part for the 3-D view, as JSON; bends in the order of its tree."""
    order = bend_tree(part, base_face(part))
    place = {bend: number for number, (bend, _, _) in enumerate(order)}
    parent = {far: near for _, near, far in order}
    bends = [_plain_bend(part, bend, near, far) for bend, near, far in order]
    for bend in part.twins:
        first, second = part.bends[bend].faces
        near, far = (first, second) if parent.get(second) == first else (second, first)
        place[bend] = len(bends)
        bends.append({**_plain_bend(part, bend, near, far), "twin": 1})
    shown = steps or outermost_first(part)
    return json.dumps(
        {
            "t": round(part.thickness_mm, DIGITS),
            "faces": [
                _plain_face(part, face, regions, named=names and face not in part.strips)
                for face, regions in enumerate(flat_regions(part))
            ],
            "bends": bends,
            "steps": [
                {
                    "name": step.name,
                    "folds": [
                        [place[bend], round(angle_deg, DIGITS)]
                        for bend, angle_deg in step.angles_deg.items()
                    ],
                }
                for step in shown
            ],
        },
        separators=(",", ":"),
    )


def _plain_bend(part: FlatPart, bend: int, near: int, far: int) -> dict[str, Any]:
    line = part.bends[bend]
    sign = 1.0 if line.faces[0] == near else -1.0
    return {
        "near": near,
        "far": far,
        "line": [round(value, DIGITS) for point in line.line_mm for value in point],
        "x": [round(sign * value, 9) + 0.0 for value in part.across[bend]],
        "deg": round(line.bend_angle_deg, DIGITS),
        "r": round(line.inside_radius_mm, DIGITS),
        "ba": round(line.allowance_mm, DIGITS),
    }


def _plain_face(
    part: FlatPart, face: int, regions: Sequence[Face], *, named: bool
) -> dict[str, Any]:
    pieces = []
    for loop, marks in face_pieces(part, face, regions):
        piece: list[float] = []
        for (u, v), mark in zip(loop, marks, strict=True):
            piece += [round(u, DIGITS), round(v, DIGITS), mark]
        pieces.append(piece)
    plain: dict[str, Any] = {"n": str(face + 1), "parts": pieces}
    at = _label_place(regions) if named else None
    return plain if at is None else {**plain, "at": at}


def _label_place(regions: Sequence[Face]) -> list[float] | None:
    """Where a face's number goes: the middle of its widest spot, None on a sliver."""
    widest = max(
        (Polygon(region.outline_mm, region.holes_mm) for region in regions),
        key=lambda shape: shape.area,
    )
    (u, v), around_mm = label_spot(widest)
    if around_mm < LEAST_LABEL_MM:
        return None
    return [round(u, DIGITS), round(v, DIGITS)]
