"""What can be measured on a folded flat part: from a bend's outside to what lies opposite, and from
one face to another.

A feature has a name of few letters: `b1` a bend, `e2a` a free edge by its name on the pictures, `f3`
a face. A size across one face runs between two features of it that lie opposite each other; a size
between two faces runs from outer face to outer face.
"""

import itertools
import math
import re
from dataclasses import dataclass

import numpy as np

from server.errors import ShopError, say
from server.geometry.outline import Point
from server.geometry.part import FlatPart, bend_tree
from server.geometry.part_name import NamedEdge, named_edges
from server.mechanics.bend_allowance import outside_setback
from server.planning.making import Making
from server.planning.zone_pose import poses_after

Between = tuple[str, str]
FEATURE = re.compile(r"b(\d{1,3})|e(\d{1,3}[a-z]{1,2})|f(\d{1,3})")
PARALLEL = math.sin(math.radians(0.5))
LEAST_COMMON_SHARE = 0.5
MOST_LISTED = 60


@dataclass(frozen=True, slots=True)
class Limit:
    """One end of a size across a face: a stretch of it, and the way out of the face there.

    `bend` is the sheet's bend, None for a free edge.
    """

    name: str
    start_mm: Point
    end_mm: Point
    outward: Point
    bend: int | None = None


def sizes_across(making: Making) -> tuple[Between, ...]:
    """Every bend and what lies opposite it on each of its two faces, in their order."""
    part = flat_of(making)
    found: list[Between] = []
    for face in range(len(part.faces)):
        limits = limits_of(making, face)
        found += [
            (first.name, last.name)
            for first, last in itertools.combinations(limits, 2)
            if first.bend is not None and _opposite(first, last)
        ]
    return tuple(found[:MOST_LISTED])


def limits_of(making: Making, face: int) -> list[Limit]:
    """Bends and named edges around a face; bends of several zones are no limits."""
    part = flat_of(making)
    found = []
    for bend, zones in enumerate(zones_of_bends(making)):
        if len(zones) != 1 or face not in part.bends[zones[0]].faces:
            continue
        line = part.bends[zones[0]]
        u, v = part.across[zones[0]]
        outward = (u, v) if line.faces[0] == face else (-u, -v)
        found.append(Limit(f"b{bend + 1}", *line.line_mm, outward, zones[0]))
    found += [
        Limit(f"e{edge.name}", edge.start_mm, edge.end_mm, edge_outward(edge))
        for edge in named_edges(part)
        if edge.face == face
    ]
    return found


def find_limits(making: Making, between: Between) -> tuple[Limit, Limit]:
    """The two ends of a size across one face.

    Raises: ShopError `no_such_size` for features that are not there, or not opposite on one face.
    """
    for face in range(len(flat_of(making).faces)):
        known = {one.name: one for one in limits_of(making, face)}
        if between[0] in known and between[1] in known:
            first, last = known[between[0]], known[between[1]]
            if _opposite(first, last):
                return first, last
    raise _no_such_size(between)


def faces_of(making: Making, between: Between) -> tuple[int, int] | None:
    """The two faces of a size between faces, None for a size across one face.

    Raises: ShopError `no_such_size`, `not_parallel`.
    """
    found = [FEATURE.fullmatch(name) for name in between]
    if any(one is None for one in found):
        raise _no_such_size(between)
    numbers = [int(one[3]) - 1 for one in found if one is not None and one[3]]
    if not numbers:
        return None
    part = flat_of(making)
    if len(numbers) < 2 or numbers[0] == numbers[1] or not max(numbers) < len(part.faces):
        raise _no_such_size(between)
    normals = [finished_poses(making)[face][:3, 2] for face in numbers]
    if float(np.linalg.norm(np.cross(normals[0], normals[1]))) > PARALLEL:
        raise ShopError(
            "not_parallel",
            say(
                "Faces {first} and {last} are not parallel.",
                first=str(numbers[0] + 1),
                last=str(numbers[1] + 1),
            ),
            remedy="Choose two faces that are parallel in the finished part.",
            where="last",
        )
    return numbers[0], numbers[1]


def size_between(making: Making, between: Between) -> float:
    """The nominal size [mm]: outside to outside, a bend by its mold line or, beyond 90, its tangent.

    Raises: ShopError as `find_limits` and `faces_of`.
    """
    part, faces = flat_of(making), faces_of(making, between)
    if faces is not None:
        poses = finished_poses(making)
        first, last = (
            poses[face][:3, :3] @ _middle(part, face) + poses[face][:3, 3] for face in faces
        )
        return abs(float((last - first) @ poses[faces[0]][:3, 2])) + part.thickness_mm
    first_limit, last_limit = find_limits(making, between)
    u, v = last_limit.outward
    size_mm = (last_limit.start_mm[0] - first_limit.start_mm[0]) * u
    size_mm += (last_limit.start_mm[1] - first_limit.start_mm[1]) * v
    return size_mm + sum(
        _beyond_line(making, one.bend) for one in (first_limit, last_limit) if one.bend is not None
    )


def bends_between(making: Making, between: Between) -> frozenset[int]:
    """The bends a size hangs on.

    Raises: ShopError as `faces_of`.
    """
    faces = faces_of(making, between)
    if faces is None:
        return frozenset(
            int(found[1]) - 1
            for name in between
            for found in (FEATURE.fullmatch(name),)
            if found is not None and found[1]
        )
    zones = set(path_of(flat_of(making), *faces))
    return frozenset(
        bend for bend, own in enumerate(zones_of_bends(making)) if zones.intersection(own)
    )


def path_of(part: FlatPart, first: int, last: int) -> list[int]:
    """The sheet's bends from one face to another."""
    parent = {far: (bend, near) for bend, near, far in bend_tree(part, first)}
    path: list[int] = []
    while last != first:
        bend, last = parent[last]
        path.append(bend)
    return path[::-1]


def finished_poses(making: Making) -> np.ndarray:
    """Where each face is in the finished part, seen from the first."""
    return poses_after(making, (1 << len(making.strokes)) - 1, 0)


def zones_of_bends(making: Making) -> list[tuple[int, ...]]:
    """The sheet's bends that belong to each bend as drawn."""
    zones: dict[int, set[int]] = {}
    for stroke in making.strokes:
        pairs = (
            zip(stroke.bends, stroke.zones, strict=True)
            if len(stroke.bends) == len(stroke.zones)
            else ((bend, zone) for bend in stroke.bends for zone in stroke.zones)
        )
        for bend, zone in pairs:
            zones.setdefault(bend, set()).add(zone)
    return [tuple(sorted(zones.get(bend, ()))) for bend in range(max(zones, default=-1) + 1)]


def edge_outward(edge: NamedEdge) -> Point:
    """The way out of the sheet at a free edge, as a unit vector."""
    (u0, v0), (u1, v1) = edge.start_mm, edge.end_mm
    return ((v1 - v0) / edge.length_mm, -(u1 - u0) / edge.length_mm)


def flat_of(making: Making) -> FlatPart:
    """The sheet of a flat part."""
    assert isinstance(making.sheet, FlatPart)
    return making.sheet


def _opposite(first: Limit, last: Limit) -> bool:
    """Whether two limits look away from each other, and enough of them lies face to face."""
    (u, v), (x, y) = first.outward, last.outward
    if abs(u * y - v * x) > PARALLEL or u * x + v * y > 0.0:
        return False
    across_mm = (last.start_mm[0] - first.start_mm[0]) * x
    across_mm += (last.start_mm[1] - first.start_mm[1]) * y
    if across_mm <= 0.0:
        return False
    spans = [
        sorted(p[0] * -v + p[1] * u for p in (one.start_mm, one.end_mm)) for one in (first, last)
    ]
    common_mm = min(span[1] for span in spans) - max(span[0] for span in spans)
    return common_mm >= LEAST_COMMON_SHARE * min(high - low for low, high in spans)


def _beyond_line(making: Making, zone: int) -> float:
    """From a bend line on the flat to the outside that is measured to [mm]."""
    _, state = making.zone_states[zone][-1]
    angle_deg = abs(state.angle_deg)
    setback_mm = outside_setback(
        bend_angle_deg=angle_deg,
        inside_radius_mm=state.inside_radius_mm,
        thickness_mm=making.sheet.thickness_mm,
        to_tangent=angle_deg > 90.0,
    )
    return setback_mm - state.arc_mm / 2


def _middle(part: FlatPart, face: int) -> np.ndarray:
    u, v = part.faces[face].outline_mm[0]
    return np.array([u, v, part.thickness_mm / 2])


def _no_such_size(between: Between) -> ShopError:
    return ShopError(
        "no_such_size",
        say(
            "There is nothing to measure from {first} to {last}.", first=between[0], last=between[1]
        ),
        remedy="Choose two faces, or a bend and what lies opposite on its face.",
        where="first",
    )


def in_words(between: Between) -> str:
    """A size by its two ends: `Bend 1 to edge 2a`.

    >>> in_words(("f1", "f3"))
    'Face 1 to face 3, outer faces'
    """
    kinds = {"b": "bend", "e": "edge", "f": "face"}
    first, last = (f"{kinds[name[0]]} {name[1:]}" for name in between)
    outer = ", outer faces" if between[0].startswith("f") else ""
    return f"{first.capitalize()} to {last}{outer}"
