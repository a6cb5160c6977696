"""Where the faces of a flat part are after some strokes, each zone rolled as its last stroke left it."""

import numpy as np

from server.geometry.folding import Motion, RolledBend, roll_motion
from server.geometry.part import FlatPart, bend_tree
from server.planning.bend_way import ZoneState
from server.planning.making import Making
from server.planning.profile_half import state_after


def rolled_zone(state: ZoneState, thickness_mm: float) -> RolledBend:
    """The rolled arc of a zone in some state."""
    return RolledBend(
        state.angle_deg,
        state.inside_radius_mm,
        -state.arc_mm / 2,
        state.arc_mm,
        thickness_mm + state.inside_radius_mm if state.angle_deg > 0 else -state.inside_radius_mm,
    )


def beyond(part: FlatPart, zone: int, state: ZoneState, near: int) -> Motion:
    """Motion of the sheet beyond a zone in some state, seen from the face before it."""
    line, (x, y) = part.bends[zone], part.across[zone]
    sign = 1.0 if line.faces[0] == near else -1.0
    return roll_motion(
        on_line=line.line_mm[0],
        across=(sign * x, sign * y),
        roll=rolled_zone(state, part.thickness_mm),
    )


def poses_after(making: Making, done: int, root: int) -> np.ndarray:
    """Where each face is after some strokes, seen from one of them."""
    part = making.sheet
    assert isinstance(part, FlatPart)
    poses = np.tile(np.eye(4), (len(part.faces), 1, 1))
    for zone, near, far in bend_tree(part, root):
        state = state_after(making, zone, done)
        poses[far] = poses[near] if state is None else poses[near] @ beyond(part, zone, state, near)
    return poses
