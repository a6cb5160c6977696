"""A flat part as plain values and back, so that it can be kept and sent."""

from collections.abc import Mapping
from typing import Any

from server.geometry.part import BendLine, Face, FlatPart


def plain_of_flat_part(part: FlatPart) -> dict[str, Any]:
    """Faces, holes and bends as lists and numbers."""
    return {
        "thickness_mm": part.thickness_mm,
        "faces": [
            {
                "outline_mm": [list(point) for point in face.outline_mm],
                "holes_mm": [[list(point) for point in hole] for hole in face.holes_mm],
            }
            for face in part.faces
        ],
        "bends": [
            {
                "line_mm": [list(point) for point in bend.line_mm],
                "faces": list(bend.faces),
                "bend_angle_deg": bend.bend_angle_deg,
                "inside_radius_mm": bend.inside_radius_mm,
                "allowance_mm": bend.allowance_mm,
            }
            for bend in part.bends
        ],
    }


def flat_part_of(plain: Mapping[str, Any]) -> FlatPart:
    """The flat part that `plain_of_flat_part` wrote; not yet checked."""
    return FlatPart(
        thickness_mm=float(plain["thickness_mm"]),
        faces=tuple(
            Face(
                tuple((float(u), float(v)) for u, v in face["outline_mm"]),
                tuple(tuple((float(u), float(v)) for u, v in hole) for hole in face["holes_mm"]),
            )
            for face in plain["faces"]
        ),
        bends=tuple(
            BendLine(
                line_mm=(
                    (float(bend["line_mm"][0][0]), float(bend["line_mm"][0][1])),
                    (float(bend["line_mm"][1][0]), float(bend["line_mm"][1][1])),
                ),
                faces=(int(bend["faces"][0]), int(bend["faces"][1])),
                bend_angle_deg=float(bend["bend_angle_deg"]),
                inside_radius_mm=float(bend["inside_radius_mm"]),
                allowance_mm=float(bend["allowance_mm"]),
            )
            for bend in plain["bends"]
        ),
    )
