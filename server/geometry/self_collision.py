"""Whether a folded part runs through itself."""

from collections.abc import Mapping
from dataclasses import dataclass

from server.geometry.folding import folded_poses
from server.geometry.part import FlatPart, bend_tree
from server.geometry.solid import Solid, solids_overlap
from server.geometry.thick_part import ThickPart


@dataclass(frozen=True, slots=True)
class SelfMeeting:
    """Two faces of a folded part that share space."""

    face_a: int
    face_b: int


def self_collision(
    part: FlatPart, angles_deg: Mapping[int, float], thick: ThickPart | None = None
) -> tuple[SelfMeeting, ...]:
    """Pairs of faces (each with its bend zone) that share space; faces side by side may touch.

    Args:
        part: a checked part.
        angles_deg: signed angle now of each bend; a bend left out is flat.
        thick: the part's solids when they are at hand.

    Returns: the pairs in order of their faces, empty when the part is clear of itself.
    """
    body = ThickPart(part) if thick is None else thick
    poses = folded_poses(part, angles_deg)
    pieces: list[list[Solid]] = [
        list(body.face_solids(face, poses[face])) for face in range(len(part.faces))
    ]
    joined: set[tuple[int, int]] = set()
    for bend, near, far in bend_tree(part):
        joined.add((min(near, far), max(near, far)))
        pieces[far] += body.zone_solids(bend, angles_deg.get(bend, 0.0), near, poses[near])
    boxes = [[[solid.span(axis) for axis in range(3)] for solid in solids] for solids in pieces]
    count = len(pieces)
    return tuple(
        SelfMeeting(a, b)
        for a in range(count)
        for b in range(a + 1, count)
        if (a, b) not in joined
        and any(
            all(one[k][0] < two[k][1] and two[k][0] < one[k][1] for k in range(3))
            and solids_overlap(pieces[a][i], pieces[b][j])
            for i, one in enumerate(boxes[a])
            for j, two in enumerate(boxes[b])
        )
    )
