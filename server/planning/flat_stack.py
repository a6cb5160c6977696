"""How gauging errors add up in a folded flat part.

A bend line lands where the contact of its stroke puts it. A contact follows every bend line between
it and the stroke: when such a line moves by d across itself, what hangs on the bend moves by
(a - R a) d, with a the way across the line and R the fold. So the contact's own error, seen along
the gauge's travel, is a sum of errors of lines, of cut edges and of the formed flange; edges at both
ends of a size share one error of the blank. Angles count as right. First-order propagation of
independent errors (JCGM 100:2008, 5.1.2, from memory); the motion is that of `folding`.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from server.geometry.part import FlatPart
from server.geometry.part_name import named_edges
from server.planning.error_stack import ErrorStack, GaugingErrors, added, stack_of
from server.planning.flat_measure import (
    PARALLEL,
    Between,
    Limit,
    edge_outward,
    faces_of,
    find_limits,
    finished_poses,
    flat_of,
    path_of,
)
from server.planning.gauging import SAME_X_MM
from server.planning.making import Making
from server.planning.order import PlacedStroke
from server.planning.zone_pose import poses_after

EDGE = "edge "
Shares = Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Cut:
    """A cut edge: the name of its error, its way out of the sheet, and the sign that turns this way
    into the one direction in which edges of its axis are said to move.

    So edges at both ends of a size have opposite shares, and moving the whole blank is no error.
    """

    axis_deg: float
    name: str
    way: np.ndarray
    sign_factor: float

    @property
    def error(self) -> str:
        """The name of the edge's error, the axis first."""
        return f"{EDGE}{self.axis_deg:g} {self.name}"


def stacked_between(
    making: Making, order: tuple[PlacedStroke, ...], between: Between, errors: GaugingErrors
) -> ErrorStack:
    """The stack of one size of a flat part bent in an order.

    Raises: ShopError as `find_limits` and `faces_of`.
    """
    lines = line_errors(making, order, errors)
    part = flat_of(making)
    faces = faces_of(making, between)
    if faces is not None:
        poses = finished_poses(making)
        normal = poses[faces[0]][:3, 2]
        return stack_of(_with_blank(_carried(part, lines, poses, *faces, normal), errors))
    first, last = find_limits(making, between)
    shares = added(_at_limit(part, lines, last), _at_limit(part, lines, first), 1.0)
    return stack_of(_with_blank(shares, errors))


def line_errors(
    making: Making, order: tuple[PlacedStroke, ...], errors: GaugingErrors
) -> dict[int, Shares]:
    """Where each of the sheet's bend lines may land, along its `across`, by error.

    Errors of cut edges come as shares without unit, see `Cut`; the others in mm.
    """
    part = flat_of(making)
    lines: dict[int, Shares] = {}
    done = 0
    for placed in order:
        stroke = making.strokes[placed.stroke]
        if stroke.depth_mm is not None:
            zone = stroke.zones[0]
            u, v = part.across[zone]
            outward = (u, v) if placed.rear == 1 else (-u, -v)
            shares = _contact_errors(making, placed, done, lines, np.array([*outward, 0.0]))
            if placed.contact.kind == "flange":
                name = f"contact of stroke {stroke.index}"
                shares = added(shares, {name: errors.flange_contact_mm}, 1.0)
            shares = added(shares, {f"gauge of stroke {stroke.index}": errors.gauge_mm}, 1.0)
            for one in stroke.zones:
                x, y = part.across[one]
                lines[one] = added({}, shares, outward[0] * x + outward[1] * y)
        done |= 1 << stroke.index
    return lines


def _contact_errors(
    making: Making,
    placed: PlacedStroke,
    done: int,
    lines: Mapping[int, Shares],
    outward: np.ndarray,
) -> dict[str, float]:
    """How far the contact of a stroke may be from where it should be, along the gauge's travel."""
    part = flat_of(making)
    root = part.bends[making.strokes[placed.stroke].zones[0]].faces[placed.rear]
    poses = poses_after(making, done, root)
    face = placed.contact.face
    if placed.contact.kind == "flange":  # a standing face: only its way off counts
        normal = poses[face][:3, 2]
        return _carried(part, lines, poses, root, face, normal / float(normal @ outward))
    cut = _edge_touched(making, placed, poses, outward)
    carried = _carried(part, lines, poses, root, face, outward)
    share = cut.sign_factor * float(poses[face][:3, :3] @ cut.way @ outward)
    return added(carried, {cut.error: share}, 1.0)


def _carried(
    part: FlatPart,
    lines: Mapping[int, Shares],
    poses: np.ndarray,
    first: int,
    last: int,
    along: np.ndarray,
) -> dict[str, float]:
    """How far one face moves against another along a direction, by the lines between them."""
    shares: dict[str, float] = {}
    near = first
    for bend in path_of(part, first, last):
        one, other = part.bends[bend].faces
        far = other if one == near else one
        across = np.array([*part.across[bend], 0.0])
        moved = (poses[near][:3, :3] - poses[far][:3, :3]) @ across
        shares = added(shares, lines.get(bend, {}), float(moved @ along))
        near = far
    return shares


def _edge_touched(
    making: Making, placed: PlacedStroke, poses: np.ndarray, outward: np.ndarray
) -> Cut:
    """The edge a stroke is gauged on; one too short to have a name has the face's."""
    part, face = flat_of(making), placed.contact.face
    stroke = making.strokes[placed.stroke]
    line = np.array([*part.bends[stroke.zones[0]].line_mm[0], 0.0])
    turn, shift = poses[face][:3, :3], poses[face][:3, 3]
    both = (0.0, part.thickness_mm)
    for edge in named_edges(part):
        ends = [
            [float((turn @ np.array([*end, w_mm]) + shift - line) @ outward) for w_mm in both]
            for end in (edge.start_mm, edge.end_mm)
        ]
        reaches = [max(one) - placed.contact.at_mm[0] for one in ends]
        if edge.face == face and max(map(abs, reaches)) <= SAME_X_MM + PARALLEL * edge.length_mm:
            cut = _cut(part, f"e{edge.name}")
            if float(turn @ cut.way @ outward) > 0.0:
                return cut
    return _cut_of(f"of face {face + 1}", turn.T @ outward)


def _at_limit(part: FlatPart, lines: Mapping[int, Shares], limit: Limit) -> dict[str, float]:
    """How far one end of a size may be outside its place."""
    if limit.bend is None:
        cut = _cut(part, limit.name)
        return {cut.error: cut.sign_factor}
    u, v = part.across[limit.bend]
    factor = limit.outward[0] * u + limit.outward[1] * v
    return added({}, lines.get(limit.bend, {}), factor)


def _cut(part: FlatPart, name: str) -> Cut:
    """A free edge by its name: edges of one face in one line are cut alike."""
    edges = {f"e{edge.name}": edge for edge in named_edges(part)}
    asked = edges[name]
    (u0, v0), way = asked.start_mm, edge_outward(asked)
    for edge in edges.values():
        (u1, v1), other = edge.start_mm, edge_outward(edge)
        apart_mm = abs((u1 - u0) * way[0] + (v1 - v0) * way[1])
        turned = abs(way[0] - other[0]) + abs(way[1] - other[1])
        if edge.face == asked.face and apart_mm <= SAME_X_MM and turned <= 1e-6:
            return _cut_of(edge.name, np.array([*way, 0.0]))
    return _cut_of(asked.name, np.array([*way, 0.0]))


def _cut_of(name: str, way: np.ndarray) -> Cut:
    turned_deg = round(math.degrees(math.atan2(way[1], way[0])), 1) % 360.0
    return Cut(turned_deg % 180.0, name, way, 1.0 if turned_deg < 180.0 else -1.0)


def _with_blank(shares: Shares, errors: GaugingErrors) -> dict[str, float]:
    """The errors of cut edges as one of the blank: what lies between them, not where they lie."""
    ends: dict[str, list[float]] = {}
    for name, share in shares.items():
        if name.startswith(EDGE):
            ends.setdefault(name.split()[1], []).append(share)
    both = math.fsum(
        max(sum(one for one in cut if one > 0.0), -sum(one for one in cut if one < 0.0))
        for cut in ends.values()
    )
    found = {name: size for name, size in shares.items() if not name.startswith(EDGE)}
    return {**found, "blank": both * errors.blank_mm}
