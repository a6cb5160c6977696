"""Exact rigid motion of faces about rolled arcs.

The sheet lies in w from 0 (side B) to t (side A). A bend rolls its zone about an axis parallel to
the bend line, inside radius r; at a partial angle the rolled arc keeps its radius and is centred on
the bend line, and the rest of the zone stays flat on both sides. With neutral radius
rho = allowance / angle, b = rho x angle now, and the axis at (-b/2, w_c) across the line
(w_c = t + r toward side A, -r toward side B):

    far face = turn about the axis by the angle . shift by -b across the line

so that at the full angle the whole zone is rolled, and at zero the motion is the identity.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from server.geometry.outline import Point
from server.geometry.part import FlatPart, bend_tree

Motion = NDArray[np.float64]
"""A rigid motion as a 4 x 4 matrix."""


@dataclass(frozen=True, slots=True)
class RolledBend:
    """The rolled arc of one bend in the frame of its nearer face.

    `start_mm` is where the arc begins, measured across the bend line (0 on the line); it runs over
    `angle_deg` (signed) about an axis `axis_w_mm` above side B.
    """

    angle_deg: float
    inside_radius_mm: float
    start_mm: float
    arc_mm: float
    axis_w_mm: float


def rolled_bend(
    *,
    angle_deg: float,
    full_angle_deg: float,
    inside_radius_mm: float,
    allowance_mm: float,
    thickness_mm: float,
) -> RolledBend:
    """The rolled arc of a bend closed to an angle.

    Formula: b = allowance x |angle / full angle|; start = -b/2; axis at t + r or -r

    Args:
        angle_deg: signed angle now [deg].
        full_angle_deg: signed angle of the finished bend [deg], not 0.
        inside_radius_mm: inside radius [mm].
        allowance_mm: neutral arc length of the finished bend [mm].
        thickness_mm: sheet thickness [mm].

    Returns: a `RolledBend`.

    References: plane geometry.

    >>> rolled_bend(angle_deg=45.0, full_angle_deg=90.0, inside_radius_mm=2.0, allowance_mm=4.0,
    ...             thickness_mm=2.0)
    RolledBend(angle_deg=45.0, inside_radius_mm=2.0, start_mm=-1.0, arc_mm=2.0, axis_w_mm=4.0)
    """
    arc_mm = allowance_mm * abs(angle_deg / full_angle_deg)
    toward_a = angle_deg >= 0.0
    return RolledBend(
        angle_deg,
        inside_radius_mm,
        -arc_mm / 2,
        arc_mm,
        thickness_mm + inside_radius_mm if toward_a else -inside_radius_mm,
    )


def bend_motion(part: FlatPart, bend_index: int, angle_deg: float, near_face: int) -> Motion:
    """Motion of a bend's farther face seen from its nearer face, both in flat coordinates."""
    bend = part.bends[bend_index]
    sign = 1.0 if bend.faces[0] == near_face else -1.0
    across = part.across[bend_index]
    roll = rolled_bend(
        angle_deg=angle_deg,
        full_angle_deg=bend.bend_angle_deg,
        inside_radius_mm=bend.inside_radius_mm,
        allowance_mm=bend.allowance_mm,
        thickness_mm=part.thickness_mm,
    )
    return roll_motion(
        on_line=bend.line_mm[0], across=(sign * across[0], sign * across[1]), roll=roll
    )


def roll_motion(*, on_line: Point, across: Point, roll: RolledBend) -> Motion:
    """Motion of the sheet beyond a rolled arc; `across` points from near to far."""
    n = np.array([across[0], across[1], 0.0])
    lift = np.array([0.0, 0.0, 1.0])
    angle_rad = math.radians(roll.angle_deg)
    turn = np.eye(3)
    cos, sin = math.cos(angle_rad), math.sin(angle_rad)
    turn += (cos - 1.0) * (np.outer(n, n) + np.outer(lift, lift))
    turn += sin * (np.outer(lift, n) - np.outer(n, lift))
    axis = np.array([on_line[0], on_line[1], 0.0]) + roll.start_mm * n + roll.axis_w_mm * lift
    motion = np.eye(4)
    motion[:3, :3] = turn
    motion[:3, 3] = axis - turn @ (axis + roll.arc_mm * n)
    return motion


def folded_poses(
    part: FlatPart, angles_deg: Mapping[int, float] | Sequence[float], root: int = 0
) -> NDArray[np.float64]:
    """Where each face is, as motions from flat coordinates into the root face's frame.

    `angles_deg` gives the signed angle now of each bend; a bend left out of a mapping is flat.
    """
    angles = dict(enumerate(angles_deg)) if isinstance(angles_deg, Sequence) else angles_deg
    poses = np.tile(np.eye(4), (len(part.faces), 1, 1))
    for bend_index, near, far in bend_tree(part, root):
        angle_deg = angles.get(bend_index, 0.0)
        if angle_deg == 0.0:
            poses[far] = poses[near]
        else:
            poses[far] = poses[near] @ bend_motion(part, bend_index, angle_deg, near)
    return poses


def inverse_motion(motion: Motion) -> Motion:
    """The motion that undoes a rigid motion."""
    back = np.eye(4)
    back[:3, :3] = motion[:3, :3].T
    back[:3, 3] = -motion[:3, :3].T @ motion[:3, 3]
    return back


def unfolded_poses(
    part: FlatPart,
    poses: NDArray[np.float64],
    angles_deg: Mapping[int, float],
    root: int = 0,
) -> NDArray[np.float64]:
    """The poses after every bend is opened again; all come out as the root's pose.

    Works from the given poses alone: each face is brought back across its bend from wherever its
    neighbour lies, so an error in any pose shows.
    """
    flat = poses.copy()
    for bend_index, near, far in bend_tree(part, root):
        closed = bend_motion(part, bend_index, angles_deg.get(bend_index, 0.0), near)
        between = inverse_motion(poses[near]) @ poses[far]
        flat[far] = flat[near] @ between @ inverse_motion(closed)
    return flat


def moved(motion: Motion, points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Points (n, 3) after a motion."""
    return points @ motion[:3, :3].T + motion[:3, 3]


def lifted(loop: Sequence[Point], w_mm: float) -> NDArray[np.float64]:
    """A flat outline as points (n, 3) at a height above side B."""
    return np.array([(u, v, w_mm) for u, v in loop], dtype=np.float64).reshape(-1, 3)


def arc_strips(
    part: FlatPart, bend_index: int, angle_deg: float, near_face: int, strips: int
) -> tuple[NDArray[np.float64], ...]:
    """The rolled arc of a bend as thick flat strips, in the nearer face's frame.

    Each strip is (2, 4, 3): its four corners near side B, then near side A. The unrolled rest of
    the zone is not part of it.
    """
    bend = part.bends[bend_index]
    sign = 1.0 if bend.faces[0] == near_face else -1.0
    n = np.array([sign * part.across[bend_index][0], sign * part.across[bend_index][1], 0.0])
    lift = np.array([0.0, 0.0, 1.0])
    roll = rolled_bend(
        angle_deg=angle_deg,
        full_angle_deg=bend.bend_angle_deg,
        inside_radius_mm=bend.inside_radius_mm,
        allowance_mm=bend.allowance_mm,
        thickness_mm=part.thickness_mm,
    )
    ends = [np.array([u, v, 0.0]) for u, v in bend.line_mm]
    found = []
    for number in range(strips):
        corners = []
        for w_mm in (0.0, part.thickness_mm):
            arm = w_mm - roll.axis_w_mm
            ring = []
            for share in (number / strips, (number + 1) / strips):
                angle = math.radians(angle_deg * share)
                offset = roll.start_mm - arm * math.sin(angle)
                height = roll.axis_w_mm + arm * math.cos(angle)
                ring.append([end + offset * n + height * lift for end in ends])
            corners.append([ring[0][0], ring[0][1], ring[1][1], ring[1][0]])
        found.append(np.array(corners, dtype=np.float64))
    return tuple(found)
